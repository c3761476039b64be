package main

import (
	"fmt"
	"strings"
	"testing"
)

// The control characters are those of ISO/IEC 6429: C0, DEL and C1, the last of which
// are U+0080 to U+009F in Unicode.
func TestHarmless(t *testing.T) {
	for text, want := range map[string]string{
		"a\tb\nÄ漢\u00a0¿": "a\tb\nÄ漢\u00a0¿",
		"\x1b[31mred\x07": "\uFFFD[31mred\uFFFD",
		"over\rwritten":   "over\uFFFDwritten",
		"\x7f\x00":        "\uFFFD\uFFFD",
		"\u009b31m\u0085": "¿31m¿",
	} {
		for _, size := range []int{1, 2, len(text)} { // a write may end within a character
			var out strings.Builder
			h := &harmless{w: &out}
			for rest := text; rest != ""; {
				n := min(size, len(rest))
				if got, err := fmt.Fprint(h, rest[:n]); got != n || err != nil {
					t.Fatalf("%d bytes of %q written, %v", got, rest[:n], err)
				}
				rest = rest[n:]
			}
			if out.String() != want {
				t.Errorf("%q in pieces of %d comes out as %q, want %q", text, size, out.String(), want)
			}
		}
	}
}

// Whatever a command says of names that it was given, it says harmlessly.
func TestNamesAreHarmless(t *testing.T) {
	t.Chdir(t.TempDir())
	const bad = "\x1b[31m\u009bno"
	for _, args := range [][]string{
		{"new", bad + ".piece"}, {"check", bad}, {"write", bad + ".piece", "x.mid"}, {"write", bad + ".piece", bad + ".mid"},
		{"write", bad + ".piece", "x." + bad}, {bad}, {"check", "--" + bad}, {"hear", bad + ".piece", "--voice", bad},
		{"read", bad + ".png"}, {"proof", bad, bad}, {"overhear", bad + ".piece", bad + ".wav"}, {"machines", bad},
		{"calibrate", "read", bad}, {"show", bad + ".piece", bad}, {"punch", bad + ".piece", "--bench", bad},
	} {
		_, said, _ := ran(t, args...)
		if said == "" {
			t.Errorf("%q says nothing", args)
		}
		if i := strings.IndexFunc(said, func(r rune) bool {
			return r < ' ' && r != '\n' && r != '\t' || r >= 0x7f && r < 0xa0
		}); i >= 0 {
			t.Errorf("%q: a control character in %q", args, said)
		}
	}
}
