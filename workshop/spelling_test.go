package workshop

import (
	"fmt"
	"strings"
	"testing"

	"rollwright/music/perform"

	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/text/source"
)

// Ports are called as the piece spells their keys: Eb3 where all notes of that key
// are, with sharps where they do not agree, where there is none, and where voices
// move on.
func TestSpellings(t *testing.T) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ voices, want string }{
		{`voice "a" {
  talea = "1"
  color = "Eb3 C3 Bb3+F#4"
}`, "C3 Eb3 Bb3 F#4"},
		{`voice "a" {
  talea = "1"
  color = "Eb3 Bb3"
}
voice "b" {
  talea = "1"
  color = "Eb3 A#3"
}`, "Eb3"}, // 58 is written in two ways
		{`voice "a" {
  talea     = "1"
  color     = "Eb3 C3"
  transpose = 12
}`, "C4 Eb4"},
		{`voice "a" {
  talea     = "1"
  color     = "Eb3 C3"
  per_color {
    transpose = 2
  }
  extent = "4 notes"
}`, "C3 D3 Eb3 F3"},
	} {
		p, err := piecefile.Parse(&source.File{Name: "a.piece", Text: []byte(c.voices + "\n")})
		if err != nil {
			t.Fatal(err)
		}
		perf, err := perform.New(p, perform.Options{})
		if err != nil {
			t.Fatal(err)
		}
		j := &Job{Piece: p, Performance: perf}
		j.names = j.nameAll
		var got []string
		for i, name := range j.spellings(in) {
			if name != "" {
				got = append(got, name)
				if name[0] == 'B' && in.Bar.Ports[i].Key != 58 {
					t.Errorf("port %d of key %d is called %s", i+1, in.Bar.Ports[i].Key, name)
				}
			}
		}
		if fmt.Sprint(got) != "["+c.want+"]" {
			t.Errorf("%s\nports are called %s, want %s", c.voices, strings.Join(got, " "), c.want)
		}
	}
}
