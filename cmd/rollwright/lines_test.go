package main

import "testing"

// The words of a line are the keys of the screen, and what those keys send.
func TestLineCommand(t *testing.T) {
	for line, want := range map[string][2]string{
		"": {"next"}, " ": {"next"}, "n": {"next"}, "NEXT": {"next"}, "space": {"next"}, "page down": {"next"}, "→": {"next"},
		"\x1b[C": {"next"}, "\x1b[6~": {"next"},
		"b": {"back"}, "Backspace": {"back"}, "page up": {"back"}, "\x1b[D": {"back"},
		"s": {"slip"}, "s  Bb3 @ 3 ": {"slip", "Bb3 @ 3"}, "slip 32": {"slip", "32"}, "closed 1": {"closed", "1"},
		"u": {"undo"}, "g": {"go"}, "l": {"list"}, "p": {"pause"}, "q": {"leave"}, "?": {"help"},
		"\x1b[C\x1b[C": {"", "\x1b[C\x1b[C"}, "n n": {"", "n n"}, "q now": {"", "q now"}, "C4": {"", "C4"},
		"\x1b": {"", "\x1b"},
	} {
		if command, rest := lineCommand(line); command != want[0] || rest != want[1] {
			t.Errorf("%q: %q with %q, want %q", line, command, rest, want)
		}
	}
}
