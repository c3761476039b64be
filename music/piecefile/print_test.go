package piecefile

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// samePiece compares pieces but for the places in their texts. Spelling counts,
// except where there was none.
var samePiece = cmp.Options{
	cmp.Comparer(func(a, b exact.Real) bool { return a.Equal(b) == exact.Yes }),
	cmp.Comparer(func(a, b exact.Rat) bool { return a == b }),
	cmpopts.IgnoreTypes(piece.Places{}, piece.Written{}, source.Pos{}, &source.File{}),
	cmpopts.EquateEmpty(),
	cmpopts.IgnoreFields(piece.Pitch{}, "Spelled", "Offset"), // functions and places do not come back
	cmpopts.IgnoreFields(piece.Section{}, "Like"),            // nor do copies of sections
}

// printed is a piece printed and read again.
func printed(t testing.TB, name string, p *piece.Piece) (*piece.Piece, string) {
	t.Helper()
	text, err := Print(p)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	again, err := Parse(&source.File{Name: name, Text: text})
	if err != nil {
		t.Fatalf("%s, printed:\n%s\n%v", name, text, err)
	}
	return again, string(text)
}

// What is read, printed and read again is the same piece, and what it prints then is
// the same text, for the examples and every valid file of the tests.
func TestPrintAndParse(t *testing.T) {
	for _, pattern := range []string{"../../examples/*.piece", "testdata/valid/*.piece"} {
		for _, path := range corpus(t, pattern) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			p, err := Parse(&source.File{Name: path, Text: text})
			if err != nil {
				t.Fatal(err)
			}
			name := filepath.Base(path)
			again, first := printed(t, name, p)
			if diff := cmp.Diff(p, again, samePiece); diff != "" {
				t.Errorf("%s is another piece (-read +printed):\n%s\n%s", name, diff, first)
			}
			if _, second := printed(t, name, again); first != second {
				t.Errorf("%s prints differently the second time:\n%s", name, cmp.Diff(first, second))
			}
			sameEvents(t, name, p, again)
		}
	}
}

// sameEvents compares what two pieces play, to the last bit.
func sameEvents(t testing.TB, name string, p, again *piece.Piece) {
	t.Helper()
	want, err := perform.New(p, perform.Options{})
	if err != nil {
		return // the language allows it, the performance does not
	}
	got, err := perform.New(again, perform.Options{})
	if err != nil {
		t.Errorf("%s: printed, it cannot be performed: %v", name, err)
		return
	}
	a, b := slices.Collect(want.Events()), slices.Collect(got.Events())
	if !slices.Equal(a, b) {
		t.Errorf("%s: %d events, printed %d, or others", name, len(a), len(b))
	}
}

func TestPrintLayout(t *testing.T) {
	text, err := os.ReadFile("../../examples/two-shuttles.piece")
	if err != nil {
		t.Fatal(err)
	}
	p, err := Parse(&source.File{Name: "x.piece", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	_, got := printed(t, "two-shuttles", p)
	got, _, _ = strings.Cut(got, "\nshow {")
	const want = `title    = "Two Shuttles"
composer = "Hollinbeck Mill"
tempo    = 60

tune "thread" {
  talea = "3 1 2 2 1 (1) 3 2 1 4 (2) 2 1 1"
  color = "D4 A4 G4 C5 B4 E4 D5 A4 E5 G4 B4 C5 A4"
}

canon "shuttles" {
  subject = "thread"
  meet    = "note 105"
  speeds  = "1 : sqrt(2)"

  voice "slow" {
    transpose = -12
  }
  voice "quick" {
    transpose = 7
  }
}

voice "weight" {
  meet {
    with   = "slow"
    theirs = "note 156"
  }
  talea = 12
  color = "A1+E2+B2"
}
`
	if got != want {
		t.Errorf("got:\n%s", got)
	}
}

// Whatever a program puts into the cycles of a voice comes back, also where lines
// have to be broken, repetitions shortened, gestures moved within a function.
func TestPrintProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &piece.Piece{Pianos: []piece.Piano{{}}, Unit: piece.DefaultUnit, Tempo: exact.Frac(120, 1)}
		for i := range rapid.IntRange(1, 3).Draw(t, "voices") {
			p.Voices = append(p.Voices, drawVoice(t, fmt.Sprintf("v %d", i)))
		}
		text, err := Print(p)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse(&source.File{Name: "x.piece", Text: text})
		if err != nil {
			t.Fatalf("%s\n%v", text, err)
		}
		ignore := cmp.Options{samePiece, cmpopts.IgnoreFields(piece.Pitch{}, "Letters"),
			cmpopts.IgnoreFields(piece.Piano{}, "Instrument", "Hammers")}
		if diff := cmp.Diff(p, again, ignore); diff != "" {
			t.Fatalf("another piece (-made +read):\n%s\n%s", diff, text)
		}
		for line := range strings.SplitSeq(string(text), "\n") {
			function := strings.Contains(line, "invert(") || strings.Contains(line, "transpose(")
			if len(line) > 100 && !function {
				t.Fatalf("a line of %d columns: %s", len(line), line)
			}
		}
	})
}

func drawVoice(t *rapid.T, name string) piece.Voice {
	v := piece.Voice{Name: name, Section: -1, Canon: -1, Unit: exact.NewRat(1, 16),
		Tempo: exact.Frac(1, rapid.Int64Range(1, 7).Draw(t, "tempo"))}
	v.FromLine = rapid.Bool().Draw(t, "line")
	durations := rapid.Custom(func(t *rapid.T) piece.Duration {
		return piece.Duration{Units: exact.NewRat(rapid.Int64Range(1, 9).Draw(t, "num"),
			rapid.Int64Range(1, 4).Draw(t, "den")), Silent: rapid.IntRange(0, 3).Draw(t, "silent") == 0}
	})
	v.Talea = append(rapid.SliceOfN(durations, 0, 60).Draw(t, "talea"), piece.Duration{Units: exact.Int(1)})
	n := 0
	for _, d := range v.Talea {
		if !d.Silent {
			n++
		}
	}
	if !v.FromLine {
		n = rapid.IntRange(1, 60).Draw(t, "pitches")
	}
	v.Color = rapid.SliceOfN(rapid.Custom(drawPitch), n, n).Draw(t, "color")
	v.Dynamics = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) piece.Dynamic {
		d := piece.Dynamic{Level: rapid.IntRange(1, 127).Draw(t, "level"), Over: rapid.IntRange(0, 3).Draw(t, "over")}
		if d.Over > 0 {
			d.To = rapid.IntRange(1, 127).Draw(t, "to")
		}
		return d
	}), 1, 40).Draw(t, "dynamics")
	v.Hold = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) piece.Hold {
		sec := exact.NewRat(rapid.Int64Range(1, 5000).Draw(t, "ms"), rapid.SampledFrom([]int64{1, 7, 1000}).Draw(t, "of"))
		return []piece.Hold{{Kind: piece.HoldSingle}, {Kind: piece.HoldTime, Sec: sec},
			{Share: exact.Frac(sec.Num(), 500)}}[rapid.IntRange(0, 2).Draw(t, "kind")]
	}), 1, 30).Draw(t, "hold")
	v.PerColor = piece.Change{Transpose: rapid.SliceOfN(rapid.IntRange(-9, 9), 0, 3).Draw(t, "moves"),
		StretchEach: exact.Frac(2, 3)}
	if v.RotateColor = rapid.IntRange(-3, 3).Draw(t, "turn"); v.RotateColor == 0 {
		v.PerTalea = piece.Change{Stretch: []exact.Real{exact.MustParse("sqrt(2)")}, Dynamics: []int{80}}
		v.Soft = piece.Spans{List: []piece.Span{{From: exact.Int(1), To: exact.NewRat(7, 3)}}}
	}
	return v
}

func drawPitch(t *rapid.T) piece.Pitch {
	key := func() int { return rapid.IntRange(30, 80).Draw(t, "key") }
	p := piece.Pitch{Keys: []int{key()}}
	if rapid.IntRange(0, 2).Draw(t, "level") == 0 {
		p.Level = rapid.IntRange(1, 127).Draw(t, "own level")
	}
	chord := func() []int { return []int{40, 41 + rapid.IntRange(0, 3).Draw(t, "second"), 60} }
	delay := exact.NewRat(rapid.Int64Range(1, 90).Draw(t, "delay"), 1000)
	switch rapid.IntRange(0, 8).Draw(t, "kind") {
	case 0:
		p.Keys = chord()
	case 1:
		p.Keys, p.Gesture = chord(), &piece.Gesture{Kind: piece.Spread, DelaySec: delay}
	case 2:
		p.Keys, p.Gesture = []int{60, 47, 40}, &piece.Gesture{Kind: piece.Spread, DelaySec: delay}
	case 3:
		p.Keys, p.Gesture = append([]int{key()}, chord()...), &piece.Gesture{Kind: piece.Grace, DelaySec: delay}
	case 4:
		p.Keys, p.Gesture = chord(), &piece.Gesture{Kind: piece.Repeat, Fastest: true}
	case 5:
		p.Keys, p.Gesture = []int{key(), key()}, &piece.Gesture{Kind: piece.Trill,
			EverySec: exact.NewRat(1, rapid.Int64Range(1, 20).Draw(t, "rate"))}
	case 6: // the white keys from C4 to G4, in any place: also where no white keys are
		n := rapid.IntRange(-5, 6).Draw(t, "moved")
		p.Keys, p.Gesture = []int{60 + n, 62 + n, 64 + n, 65 + n, 67 + n}, &piece.Gesture{Kind: piece.Cluster}
	case 7:
		n := rapid.IntRange(-5, 6).Draw(t, "moved")
		p.Keys = []int{71 + n, 69 + n, 67 + n, 65 + n}
		p.Gesture = &piece.Gesture{Kind: piece.Gliss, Ratio: exact.Frac(19, 20)}
	}
	return p
}

func TestPrintRefuses(t *testing.T) {
	voice := func(name string) piece.Voice {
		return piece.Voice{Name: name, Section: -1, Canon: -1, Talea: []piece.Duration{{Units: exact.Int(1)}},
			Color: []piece.Pitch{{Keys: []int{60}}}}
	}
	for _, c := range []struct {
		change func(*piece.Piece)
		want   string
	}{
		{func(p *piece.Piece) { p.Voices[0].Name = " a" }, `piecefile: the voice " a" has a name that is empty or has blanks at its ends`},
		{func(p *piece.Piece) { p.Voices[0].Name = "a\nb" }, `piecefile: the voice "a\nb" has a name that has characters that cannot be seen`},
		{func(p *piece.Piece) { p.Voices[1].Name = "a" }, `piecefile: the voice "a" has a name that is taken`},
		{func(p *piece.Piece) {
			p.Sections = []piece.Section{{Name: "S"}}
			p.Voices[0].Section, p.Voices[2].Section = 0, 0
		}, `piecefile: the voice "c" does not stand with the others of its canon or section`},
		{func(p *piece.Piece) {
			p.Canons = []piece.Canon{{Name: "C", Section: -1, Voices: []int{0, 2}}}
			p.Voices[0].Canon, p.Voices[2].Canon = 0, 0
		}, `piecefile: the voices of the canon "C" do not know of it, or do not stand together`},
		{func(p *piece.Piece) {
			p.Voices[0].Color[0] = piece.Pitch{Keys: []int{60, 63, 64}, Gesture: &piece.Gesture{Kind: piece.Gliss}}
		}, `voice "a": piecefile: gliss(the keys [60 63 64]) are neither the white nor the black nor all keys of a stretch`},
		{func(p *piece.Piece) {
			for i := range int64(200_000) {
				p.Voices[0].Talea = append(p.Voices[0].Talea, piece.Duration{Units: exact.NewRat(i*7919%100_003+1, 100_003)})
			}
		}, "more than the 1,000,000 bytes"},
	} {
		p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{voice("a"), voice("b"), voice("c")}}
		c.change(p)
		_, err := Print(p)
		var large *TooLargeError
		if errors.As(err, &large) && large.Bytes > MaxBytes && strings.HasPrefix(c.want, "more than") {
			continue
		}
		if err == nil || err.Error() != c.want {
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}

func TestShorthand(t *testing.T) {
	for _, c := range []struct{ members, want string }{
		{"3 1 2 2 (1) 3", "3 1 2 2 (1) 3"},
		{"3 3 3 3 3 3", "6 times 3"},
		{"1 1 1 1 1", "1 1 1 1 1"}, // 9 characters, as "5 times 1"
		{"C4 E4 G4 C4 E4 G4 C4 E4 G4", "3 times [C4 E4 G4]"},
		{"2 C4 C4 C4 C4 C4 E4 C4 C4 C4 C4 C4 E4 7", "2 2 times [5 times C4 E4] 7"},
	} {
		if got := strings.Join(shorthand(strings.Fields(c.members)), " "); got != c.want {
			t.Errorf("%s: %s, want %s", c.members, got, c.want)
		}
	}
}
