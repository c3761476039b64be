package shelf_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"rollwright/text/shelf"
)

var looms = &shelf.Shelf{
	Kind: "loom", Extension: ".loom", MostBytes: 20,
	Builtin: fstest.MapFS{
		"builtin/table.loom": {Data: []byte("title = \"table loom\"\n")},
		"builtin/floor.loom": {Data: []byte("title = \"floor loom\"\n")},
	},
	Listed: []shelf.Listed{{Name: "table", Title: "table loom"}, {Name: "floor", Title: "floor loom"}},
}

func TestFind(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{"my.loom": "shafts = 8\n", "table": "a name, no path\n",
		"long.loom": strings.Repeat("#", 21)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	tests := []struct{ name, dir, file, text, further string }{
		{"table", dir, "table.loom", "title = \"table loom\"\n", ""},
		{"my.loom", dir, filepath.Join(dir, "my.loom"), "shafts = 8\n", dir},
		{filepath.Join(dir, "my.loom"), "/nowhere", filepath.Join(dir, "my.loom"), "shafts = 8\n", dir},
		{"./table", dir, filepath.Join(dir, "table"), "a name, no path\n", dir},
	}
	for _, tt := range tests {
		f, further, err := looms.Find(tt.name, tt.dir, nil)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if f.Name != tt.file || string(f.Text) != tt.text || further != tt.further {
			t.Errorf("%s: %s, %q, from %q", tt.name, f.Name, f.Text, further)
		}
	}
	for name, want := range map[string]string{
		"tabel":     `loom: there is no "tabel"; did you mean table?`,
		"jacquard":  `loom: there is no "jacquard"; built in are table, floor`,
		"a\x1bb":    "loom: there is no \"a\uFFFDb\"; built in are table, floor",
		"long.loom": "loom: " + filepath.Join(dir, "long.loom") + " is longer than 20 bytes",
	} {
		if _, _, err := looms.Find(name, dir, nil); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	if _, _, err := looms.Find("none.loom", dir, nil); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
}

// Who opens files in another way decides what may be read.
func TestFindThroughOpen(t *testing.T) {
	closed := errors.New("outside of the folder")
	if _, _, err := looms.Find("../my.loom", "/work", func(string) ([]byte, error) { return nil, closed }); !errors.Is(err,
		closed) {
		t.Error(err)
	}
}

func Example() {
	for _, l := range looms.List() {
		text, err := looms.Source(l.Name)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: %s", l.Name, text)
	}
	// Output:
	// table: title = "table loom"
	// floor: title = "floor loom"
}
