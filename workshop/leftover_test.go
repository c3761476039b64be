package workshop

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/text/source"
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
		"x.svg", "x-left.svg", "x-right.svg", "x-left-bed-2.svg", "x-left-bed-10.svg", "x-left-spool-2.svg",
		"x-spool-1-bed-03.svg",
		"x-middle.svg", "x-left-bed-two.svg", "x-left.svg.old", "xx-left.svg", "x-spool-1.csv", "x-left.csv", "x-page-2.png",
		"x-page-2-bed-1.png", "x.mid",
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

// An earlier talk had a meeting in place of the melody, and sounds as WAV; the
// picture that a person has put there is theirs.
func TestSlideLeftovers(t *testing.T) {
	folder := t.TempDir()
	made := []string{"01-title.png", "01-title.svg", "02-rhythm.flac", "02-rhythm.png", "02-rhythm.svg", "03-melody.flac",
		"03-melody.png", "03-melody.svg", "talk.txt"}
	old := []string{"02-rhythm.wav", "03-meeting-1.png", "03-meeting-1.svg", "03-meeting-1.wav"}
	theirs := []string{"00-hall.png", "01-title.jpg", "notes.svg", "1-title.png"}
	for _, name := range slices.Concat(made, old, theirs) {
		if err := os.WriteFile(filepath.Join(folder, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	var want []string
	for _, name := range old {
		want = append(want, filepath.Join(folder, name))
	}
	if got := SlideLeftovers(folder, made); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
