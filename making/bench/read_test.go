package bench_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/making/bench"
	"rollwright/text/source"
)

// Every mistake of a file is told, at its place.
func TestReadMistakes(t *testing.T) {
	text := `titel = "mine"
up = "sideways"
lengths = "in/32"
crank {
  turn  = "1/8 inch"
  parts = 0
}
punch {
  die = 200
}
pace {
  session = "2"
  punches = 300
  stroke = "4 s"
}
pace {
  punches = 0
}
rac {
}
`
	_, err := bench.Read(&source.File{Name: "my.bench", Text: []byte(text)})
	var errs source.Errors
	if !errors.As(err, &errs) {
		t.Fatalf("got %v", err)
	}
	message := errs.Error()
	for _, want := range []string{
		`my.bench:1:1: there is no "titel" in a bench`, "did you mean title?",
		`my.bench:2:6: up cannot be "sideways"`, `write "front" or "back"`,
		`lengths cannot be "in/32"`,
		"my.bench:5:11: a length is wanted here",
		"my.bench:6:11: parts is out of range",
		"die is out of range", "it runs from 0.2 to 20 mm",
		"a time with its unit is wanted here",
		"a second pace", "punches is out of range", "the pace is given twice",
		`there is no "rac" in a bench`, "did you mean rack?",
	} {
		if !strings.Contains(message, want) {
			t.Errorf("nothing says %q in\n%s", want, message)
		}
	}
}

func TestReadLengths(t *testing.T) {
	p := profile(t, `lengths = "in/64"
check = "20 in"
up = "back"
crank {
  turn = "1/8 in"
  parts = 32
  beyond = 2
}
punch {
  die = "5/64 in"
}
rack {
  from = "treble"
  first = 5
  offset = 25.4/4
  spacing = "1/9 in"
}
pace {
  punches = 350
  session = "90 min"
}
`)
	want := &bench.Profile{
		Name: "test.bench", Lengths: bench.Inches64, BackUp: true, CheckMM: 508, DieMM: 5 * 25.4 / 64,
		Crank: bench.Crank{TurnMM: 3.175, Parts: 32, BeyondTurns: 2},
		Rack:  bench.Rack{SpacingMM: 25.4 / 9, OffsetMM: 6.35, First: 5, FromTreble: true},
		Pace:  bench.Pace{StrokeSec: 3600.0 / 350, SessionSec: 5400},
	}
	if *p != *want {
		t.Errorf("got %+v, want %+v", *p, *want)
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "my.bench"), []byte("title = \"mine\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if p, err := bench.Load("my.bench", dir); err != nil || p.Title != "mine" || p.Name != "my.bench" {
		t.Errorf("%+v, %v", p, err)
	}
	if p, err := bench.Load("", ""); err != nil || p.Name != bench.Default() {
		t.Errorf("%+v, %v", p, err)
	}
	if _, err := bench.Load("crank-2m", ""); err == nil || !strings.Contains(err.Error(), "did you mean crank-2mm?") {
		t.Error(err)
	}
	if _, err := bench.Load("none.bench", dir); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
}

// Whatever is read either is a bench that can be worked at, or is refused with
// complaints that have a place.
func FuzzRead(f *testing.F) {
	for _, l := range bench.List() {
		text, err := bench.Source(l.Name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte("crank {\n  turn = \"1/0 in\"\n}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := bench.Read(&source.File{Name: "f.bench", Text: text})
		if err != nil {
			var errs source.Errors
			if !errors.As(err, &errs) || len(errs) == 0 {
				t.Fatalf("an error without a place: %v", err)
			}
			return
		}
		if !(p.Crank.TurnMM > 0) || p.Crank.Parts < 1 || !(p.Pace.StrokeSec > 0) || !(p.Pace.SessionSec > 0) ||
			p.CheckMM < 0 || p.Rack.SpacingMM < 0 {
			t.Fatalf("no bench to work at: %+v", p)
		}
	})
}
