package workshop

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/source"
)

// Which files beside a new one are called leftovers: parts of the same name, of
// beds, spools, pianos of the piece; never what only begins alike.
func TestLeftovers(t *testing.T) {
	const text = "piano \"left\" {\n  instrument = \"88-note\"\n}\npiano \"right\" {\n  instrument = \"88-note\"\n}\n" +
		"voice \"a\" {\n  piano = \"left\"\n  talea = \"1\"\n  color = \"C4\"\n}\nvoice \"b\" {\n  piano = \"right\"\n  talea = \"1\"\n  color = \"C4\"\n}\n"
	j, err := New(context.Background(), &source.File{Name: "x.piece", Text: []byte(text)}, ".")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, name := range []string{
		"x.svg", "x-left.svg", "x-right.svg", "x-left-bed-2.svg", "x-left-bed-10.svg", "x-left-spool-2.svg", "x-spool-1-bed-03.svg",
		"x-middle.svg", "x-left-bed-two.svg", "x-left.svg.old", "xx-left.svg", "x-spool-1.csv", "x-left.csv", "x-page-2.png", "x-page-2-bed-1.png", "x.mid",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, tt := range []struct {
		path, made string
		o          Options
		want       string
	}{
		{"x.svg", "x-left.svg x-right.svg", Options{}, "x.svg x-left-bed-2.svg x-left-bed-10.svg x-left-spool-2.svg x-spool-1-bed-03.svg"},
		{"x.svg", "x.svg", Options{Piano: "left"}, "x-spool-1-bed-03.svg"},
		{"x.svg", "x-left-spool-2.svg x-right-spool-2.svg", Options{Making: Making{Spool: 2}}, ""},
		{"x.csv", "x.csv", Options{}, "x-spool-1.csv"},
		{"x.png", "x-page-1.png", Options{Explaining: Explaining{Score: true}}, "x-page-2.png"},
		{"x.svg", "x.svg", Options{Explaining: Explaining{Figure: "grid"}}, ""},
		{"x.mid", "x.mid", Options{}, ""},
		{"y.svg", "y.svg", Options{}, ""},
	} {
		var made, got []string
		for _, name := range strings.Fields(tt.made) {
			made = append(made, filepath.Join(dir, name))
		}
		for _, path := range j.Leftovers(filepath.Join(dir, tt.path), made, &tt.o) {
			got = append(got, filepath.Base(path))
		}
		if !slices.Equal(got, strings.Fields(tt.want)) {
			t.Errorf("%s, made %s: %v, want %s", tt.path, tt.made, got, tt.want)
		}
	}
}
