package perform_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

var update = flag.Bool("update", false, "write the goldens anew")

// TestErrors compares whole messages with testdata/errors/*.piece, whose text
// is followed by what New says of it.
func TestErrors(t *testing.T) {
	const line = "\n---- errors ----\n"
	files, err := filepath.Glob("testdata/errors/*.piece")
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases (%v)", err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			content, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			text, want, _ := strings.Cut(string(content), line)
			p, err := piecefile.Parse(&source.File{Name: filepath.Base(file), Text: []byte(text)})
			if err != nil {
				t.Fatalf("the text itself is wrong: %v", err)
			}
			_, err = perform.New(p, perform.Options{MaxEvents: 10_000})
			got := fmt.Sprintln(err)
			if *update {
				if err := os.WriteFile(file, []byte(text+line+got), 0o644); err != nil {
					t.Fatal(err)
				}
			} else if got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			if _, ok := err.(source.Errors); !ok {
				t.Errorf("the error is %T", err)
			}
		})
	}
}

// TestHandMadePieces gives New what no text gives: it complains and does not
// panic.
func TestHandMadePieces(t *testing.T) {
	silent, empty, noUnit, piano := voice("a", "(1)", "60"), voice("a", "1", ""), voice("a", "1", "60"),
		voice("a", "1", "60")
	noUnit.Unit, piano.Piano = rat("0"), 3
	fast := voice("a", "1", "60")
	fast.Path = []piece.Leg{{From: real("1000000000000"), HasFrom: true, OverUnits: rat("8")}}
	for want, v := range map[string]piece.Voice{
		"no sounding item": silent, "is empty": empty, "not more than 0": noUnit, "no such piano": piano,
		"leg 1: a tempo": fast,
	} {
		if _, err := perform.New(pieceOf(v), perform.Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want a complaint with %q", err, want)
		}
	}
	if perf, err := perform.New(&piece.Piece{}, perform.Options{}); err != nil || perf.Count != 0 {
		t.Errorf("a piece of no voices: %v", err)
	}
}

// TestCircle is about circles that a hand-made piece may have.
func TestCircle(t *testing.T) {
	a, b := voice("a", "1", "60"), voice("b", "1", "60")
	a.Place = piece.Place{Kind: piece.After, Ref: toVoice(1)}
	b.Place = piece.Place{Kind: piece.MeetWith, Ref: toVoice(0)}
	c := voice("c", "1", "60")
	c.Extent, c.Lasts = seconds("8"), piece.Lasts{Set: true, Sec: rat("10")}
	_, err := perform.New(pieceOf(a, b, c), perform.Options{})
	const want = `round in a circle: where "a" starts depends on where "b" starts, and that depends on where "a" starts
  give one of them without the others
round in a circle: how long "c" goes on depends on the speed of "c", and that depends on how long "c" goes on
  give one of them without the others`
	if err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}
