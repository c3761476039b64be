package fields_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// loom is read from the texts below.
type loom struct {
	Title            string
	Treadles         bool
	ReedMM, Tension  float64
	Shafts           int
	BeatSec, WarpSec float64
	Pegs             []string // by their labels
}

var table = fields.Table[loom]{
	What:    "a loom",
	Several: "peg",
	Others:  map[string][]string{"": {"reed {", "pace {", "peg {"}, "peg": {"at"}},
	Fields: []fields.Field[loom]{
		fields.At("", "title", fields.Text(func(l *loom) *string { return &l.Title })),
		fields.At("", "lifted", fields.Words(func(l *loom, i int) { l.Treadles = i == 1 }, "by hand", "by foot")),
		fields.At("", "shafts", fields.Whole(2, 40, func(l *loom) *int { return &l.Shafts })),
		fields.At("", "tension", fields.Number(0.5, 2, func(l *loom) *float64 { return &l.Tension })),
		fields.At("reed", "width", fields.OrWord("open", -1, func(l *loom) *float64 { return &l.ReedMM },
			fields.Length(50, 3000, func(l *loom) *float64 { return &l.ReedMM }))),
		fields.At("pace", "beat", fields.Seconds(0.01, 5, func(l *loom) *float64 { return &l.BeatSec })),
		fields.At("pace", "warp", fields.Minutes(1, 600, func(l *loom) *float64 { return &l.WarpSec })),
	},
}

func read(text string) (*loom, fields.Given, error) {
	body, errs := blocks.Parse(&source.File{Name: "my.loom", Text: []byte(text)}, blocks.Options{})
	l, given := &loom{}, fields.Given{}
	wrong := table.Read(body, l, given, func(b *blocks.Block) {
		if b.Type == "peg" {
			l.Pegs = append(l.Pegs, b.Label(0))
		}
	})
	return l, given, blocks.Merge(errs, wrong).Err()
}

// By hand: 23 1/2 in are 23.5 x 25.4 = 596.9 mm; 350 ms are 0.35 s; 1.5 h are
// 5400 s.
func TestRead(t *testing.T) {
	got, given, err := read(`title = "mine"
lifted = "by foot"
shafts = 8
tension = 9/8
reed {
  width = "23 1/2 in"
}
pace {
  beat = "350 ms"
  warp = "1.5 h"
}
peg "left" {
  at = 3
}
peg "right" {
}
`)
	if err != nil {
		t.Fatal(err)
	}
	want := &loom{Title: "mine", Treadles: true, Shafts: 8, Tension: 1.125, ReedMM: 596.9, BeatSec: 0.35, WarpSec: 5400,
		Pegs: []string{"left", "right"}}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	for name, there := range map[string]bool{".shafts": true, "reed.width": true, "peg.at": false, "pace.rest": false} {
		if (given[name] != nil) != there {
			t.Errorf("%s is given: %v", name, given[name] != nil)
		}
	}
	if l, _, err := read("reed {\n  width = \"open\"\n}\n"); err != nil || l.ReedMM != -1 {
		t.Errorf("%+v, %v", l, err)
	}
}

// TestMessages compares whole messages, each of a text of one line or one block.
func TestMessages(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{`titel = "mine"`, "my.loom:1:1: there is no \"titel\" in a loom\n    titel = \"mine\"\n    ^^^^^\n  did you mean title?"},
		{`title = 7`, "my.loom:1:9: text in quotes is wanted here\n    title = 7\n            ^\n  write: \"7\""},
		{`lifted = "by steam"`, "my.loom:1:10: lifted cannot be \"by steam\"\n    lifted = \"by steam\"\n             ^^^^^^^^^^\n  write \"by hand\" or \"by foot\""},
		{`lifted = 3`, "my.loom:1:10: text in quotes is wanted here\n    lifted = 3\n             ^\n  write \"by hand\" or \"by foot\""},
		{`shafts = 41`, "my.loom:1:10: shafts is out of range\n    shafts = 41\n             ^^\n  it runs from 2 to 40"},
		{`shafts = 8 pieces`, "my.loom:1:10: a number alone is wanted here, and more follows\n    shafts = 8 pieces\n             ^^^^^^^^\n  write: shafts = 8"},
		{`tension = 9 kg`, "my.loom:1:11: a number alone is wanted here, and more follows\n    tension = 9 kg\n              ^^^^\n  write a number alone"},
		{"reed {\n  width = 40\n}", "my.loom:2:11: width is out of range\n      width = 40\n              ^^\n  it runs from 50 to 3000 mm"},
		{"reed {\n  width = \"3 ells\"\n}", "my.loom:2:11: a length is wanted here\n      width = \"3 ells\"\n              ^^^^^^^^\n  write millimetres, 1.8, or a length with its unit: \"1.8 mm\", \"1/8 in\""},
		{"reed {\n  width = \"3,5 cm\"\n}", "my.loom:2:11: decimals are written with a point: 3.5 cm\n      width = \"3,5 cm\"\n              ^^^^^^^^"},
		{"pace {\n  warp = \"1,5 h\"\n}", "my.loom:2:10: decimals are written with a point: 1.5 h\n      warp = \"1,5 h\"\n             ^^^^^^^"},
		{"reed {\n  width = 3 ells\n}", "my.loom:2:11: a length is wanted here\n      width = 3 ells\n              ^^^^^^\n  write millimetres, 1.8, or a length with its unit: \"1.8 mm\", \"1/8 in\""},
		{"reed {\n  width = 60 cm\n}", "my.loom:2:11: a value of several words stands in quotes\n      width = 60 cm\n              ^^^^^\n  write: width = \"60 cm\""},
		{"pace {\n  beat = 0.3\n}", "my.loom:2:10: a time with its unit is wanted here\n      beat = 0.3\n             ^^^\n  write \"40 ms\" or \"0.04 s\""},
		{"pace {\n  warp = \"inf h\"\n}", "my.loom:2:10: a time with its unit is wanted here\n      warp = \"inf h\"\n             ^^^^^^^\n  write \"90 min\" or \"1.5 h\""},
		{"pace {\n  warp = \"30 s\"\n}", "my.loom:2:10: warp is out of range\n      warp = \"30 s\"\n             ^^^^^^\n  it runs from 1 to 600 minutes"},
		{"reed {\n}\nreed {\n}", "my.loom:3:1: a second reed\n    reed {\n    ^^^^\n  write one, with all its attributes"},
		{"peg \"a\" {\n}\npeg \"a\" {\n}", "my.loom:3:1: a second peg a\n    peg \"a\" {\n    ^^^^^^^\n  write one, with all its attributes"},
		{"ried {\n}", "my.loom:1:1: there is no \"ried\" in a loom\n    ried {\n    ^^^^\n  did you mean reed?"},
	} {
		_, _, err := read(tt.text + "\n")
		if err == nil {
			t.Errorf("%s: is taken", tt.text)
		} else if d := cmp.Diff(tt.want, err.Error()); d != "" {
			t.Errorf("%s:\n%s", tt.text, d)
		}
	}
}

// A time is read to within half a unit in the last place of what its figures
// say, whatever its unit: exact.ParseRat is the judge.
func TestTimesAreNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(10, 5000).Draw(t, "ms")
		l, _, err := read("pace {\n  beat = \"" + fields.Figure(float64(n)) + " ms\"\n}\n")
		if err != nil {
			t.Fatal(err)
		}
		if want := exact.NewRat(int64(n), 1000).Float64(); l.BeatSec != want {
			t.Fatalf("%d ms are %v s, want %v", n, l.BeatSec, want)
		}
	})
}

// FuzzRead: whatever is taken lies in its range, and whatever is refused has a
// place.
func FuzzRead(f *testing.F) {
	for _, text := range []string{"shafts = 8\n", "pace {\n  beat = \"350 ms\"\n}\n", "reed {\n  width = 3 ells\n}\n",
		"peg \"a\" {\n}\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, given, err := read(text)
		if err != nil {
			var errs source.Errors
			if !errors.As(err, &errs) || len(errs) == 0 || strings.TrimSpace(errs[0].Problem) == "" {
				t.Fatalf("refused without a word: %v", err)
			}
			return
		}
		in := func(name string, x, low, high float64) {
			if given[name] != nil && (math.IsNaN(x) || x < low || x > high) {
				t.Fatalf("%s is %v", name, x)
			}
		}
		in(".shafts", float64(l.Shafts), 2, 40)
		in(".tension", l.Tension, 0.5, 2)
		in("reed.width", l.ReedMM, -1, 3000)
		in("pace.beat", l.BeatSec, 0.01, 5)
		in("pace.warp", l.WarpSec, 60, 36_000)
	})
}

// Only a comma between the digits of one number is a decimal comma.
func TestPointed(t *testing.T) {
	for text, want := range map[string]string{
		"2,5": "2.5", "-0,3mm": "-0.3mm", "24,6 - 1:04,2": "24.6 - 1:04.2", "133,4 mm": "133.4 mm",
		"24, 25": "", "24,25,26": "", "1,000.5": "", "a,b": "", ",5": "", "": "", "7 1/2 in": "",
	} {
		got, changed := fields.Pointed(text)
		if changed != (want != "") || changed && got != want || !changed && got != text {
			t.Errorf("%q becomes %q, %v, want %q", text, got, changed, want)
		}
	}
}

// TestDecimalComma: a comma in a number is told of as such, in quotes and
// without, and once.
func TestDecimalComma(t *testing.T) {
	_, _, err := read("tension = 1,5\nreed {\n  width = \"596,9 mm\"\n}\npace {\n  beat = \"0,35 s\"\n}\n")
	want := `my.loom:1:11: decimals are written with a point
    tension = 1,5
              ^^^
  write: tension = 1.5
my.loom:3:11: decimals are written with a point: 596.9 mm
      width = "596,9 mm"
              ^^^^^^^^^^
my.loom:6:10: decimals are written with a point: 0.35 s
      beat = "0,35 s"
             ^^^^^^^^`
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}
