package main

import (
	"slices"
	"testing"
)

// What keys send: ECMA-48 and the DEC VT series.
func TestPresses(t *testing.T) {
	for text, want := range map[string][]press{
		" ":             {{char: ' '}},
		"nb":            {{char: 'n'}, {char: 'b'}},
		"\r":            {{key: keyEnter}},
		"\x1b[6~\x1b[C": {{key: keyNext}, {key: keyNext}},
		"\x1bOD\x1b[5~": {{key: keyBack}, {key: keyBack}},
		"\x1b":          {{key: keyEscape}},
		"\x1b[15~q":     {{char: 'q'}}, // F5 is nothing here
		"\x1b[1;5Cx":    {{char: 'x'}}, // nor is an arrow with a modifier
		"\x1bx":         nil,           // nor is Alt and a letter
		"\x7f\x03":      {{key: keyErase}, {key: keyLeave}},
		"é\x00":         {{char: 'é'}},
		"\xff":          nil,
		"\x1b[99":       nil,
		"s32 @ 1\r": {{char: 's'}, {char: '3'}, {char: '2'}, {char: ' '}, {char: '@'}, {char: ' '}, {char: '1'},
			{key: keyEnter}},
	} {
		if got := presses([]byte(text)); !slices.Equal(got, want) {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
}

// Whatever a terminal sends, reading it comes to an end and makes no more keys
// than there are bytes.
func FuzzPresses(f *testing.F) {
	f.Add([]byte("\x1b[6~ \x1b\x1b[\x1bO"))
	f.Fuzz(func(t *testing.T, chunk []byte) {
		if got := presses(chunk); len(got) > len(chunk) {
			t.Fatalf("%d keys of %d bytes", len(got), len(chunk))
		}
	})
}
