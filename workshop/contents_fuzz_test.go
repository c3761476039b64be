package workshop

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
)

// Whatever a list of contents holds, no name in it leads out of the folder; what
// is written reads back.
func FuzzContents(f *testing.F) {
	sum := strings.Repeat("0f", 32)
	f.Add([]byte(sum + "  roll.pdf\n" + sum + "  sub/notes.mid\n"))
	f.Add([]byte(sum + "  ../roll.pdf\n"))
	f.Add([]byte("\ufeff" + sum + "  a\r\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		list, err := parseContents(bytes.NewReader(text), "contents.sha256")
		if err != nil {
			return
		}
		for _, c := range list {
			if rel, err := filepath.Rel("folder", filepath.Join("folder", filepath.FromSlash(c.name))); err != nil ||
				!filepath.IsLocal(rel) {
				t.Errorf("%q leads out of the folder", c.name)
			}
		}
		var b bytes.Buffer
		if err := list.write(&b); err != nil {
			t.Fatal(err)
		}
		if len(list) == 0 || strings.HasPrefix(list[0].sum, "\ufeff") {
			return
		}
		again, err := parseContents(&b, "contents.sha256")
		if err != nil || len(again) != len(list) {
			t.Errorf("%v reads back as %v, %v", list, again, err)
		}
	})
}
