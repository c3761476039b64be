package notation_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/exact"
	"rollwright/music/notation"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

func performed(t testing.TB, text string) *perform.Performance {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "test.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return perf
}

// Worked by hand: 5/16 is a quarter tied to a sixteenth; 7/16 a quarter with two
// dots; 1/12 an eighth of a triplet; 3/20 = 6/40: in a quintuplet of 4, nominal
// 3/20 * 5/4 = 3/16, a dotted eighth.
func TestSplit(t *testing.T) {
	for _, c := range []struct {
		num, den int64
		want     string
	}{
		{1, 4, "[{2 0 1 1}]"}, {3, 8, "[{2 1 1 1}]"}, {5, 16, "[{2 0 1 1} {4 0 1 1}]"}, {7, 16, "[{2 2 1 1}]"},
		{1, 12, "[{3 0 3 2}]"}, {1, 6, "[{2 0 3 2}]"}, {3, 20, "[{3 1 5 4}]"}, {2, 7, "[{1 0 7 4}]"}, {2, 1, "[{-1 0 1 1}]"}, {1, 256, "[{8 0 1 1}]"},
		{9, 16, "[{1 0 1 1} {4 0 1 1}]"},
	} {
		values, ok := notation.Split(exact.NewRat(c.num, c.den))
		if got := fmt.Sprint(values); !ok || got != c.want {
			t.Errorf("%d/%d: %s %v, want %s", c.num, c.den, got, ok, c.want)
		}
	}
	for _, c := range []exact.Rat{exact.NewRat(1, 512), exact.NewRat(1, 67), exact.NewRat(0, 1), exact.NewRat(-1, 4),
		exact.NewRat(1000, 1)} {
		if values, ok := notation.Split(c); ok {
			t.Errorf("%v has no sensible writing, got %v", c, values)
		}
	}
}

// The values of a length add up to it, each at most as long as the one before.
func TestSplitAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := exact.NewRat(rapid.Int64Range(1, 4000).Draw(t, "num"), rapid.Int64Range(1, 700).Draw(t, "den"))
		values, ok := notation.Split(length)
		if !ok {
			return
		}
		var sum exact.Rat
		for i, v := range values {
			sum, _ = sum.Add(v.Length())
			if i > 0 && v.Length().Cmp(values[i-1].Length()) > 0 {
				t.Fatalf("%v: %v", length, values)
			}
		}
		if sum != length {
			t.Fatalf("%v of %v is %v", values, length, sum)
		}
	})
}

// written are the pitches of a bar as text, grace notes in parentheses, ~ where it goes on.
func written(b *notation.Bar) string {
	name := func(ps []notation.Pitch) string {
		var all []string
		for _, p := range ps {
			sign := map[int]string{-2: "bb", -1: "b", 1: "#", 2: "##"}[p.Alter]
			all = append(all, fmt.Sprintf("%c%s%d", p.Step, sign, p.Octave))
		}
		return strings.Join(all, "+")
	}
	var out []string
	for i := range b.Notes {
		n := &b.Notes[i]
		text := name(n.Pitches)
		if n.Rest() {
			text = "-"
		}
		for k := len(n.Grace) - 1; k >= 0; k-- {
			text = "(" + name(n.Grace[k]) + ")" + text
		}
		if n.Back {
			text = "~" + text
		}
		if n.On {
			text += "~"
		}
		out = append(out, text+":"+n.Length.String())
	}
	return strings.Join(out, " ")
}

// Pitches stand as their composer writes them, moved as the piece language says: Bb a tone
// up is C; about C4 the mirror of E4 (four fifths above C) is Ab3 (four below); F#4 and Gb4
// stay what they are.
func TestSpelling(t *testing.T) {
	for _, c := range []struct{ inside, want string }{
		{`color = "Bb3 F#4 Gb4 Cb5 B##3"`, "Bb3:1/16 F#4:1/16 Gb4:1/16 Cb5:1/16 B##3:1/16"},
		{`color = "Bb3+D4 Eb4"` + "\n  transpose = 2", "C4+E4:1/16 F4:1/16"},
		{`color = "E4 G4"` + "\n  invert = \"C4\"", "Ab3:1/16 F3:1/16"},
		{`color = "E4+G4 G4"` + "\n  invert = \"C4\"", "F3+Ab3:1/16 F3:1/16"},
		{`color = "trill(Eb4 F4 14/s) gliss(C4 G4 white)"`, "Eb4:1/16 C4:1/16"},
		{`color = "trill(Eb4+G4 F4+Ab4 14/s)"`, "Eb4+G4:1/16"},
		{`color = "grace(Ab3 Bb3 C4 40ms) spread(Eb4+G4 20ms)"`, "(Ab3)(Bb3)C4:1/16 Eb4+G4:1/16"},
		{`color = "C4 Eb4"` + "\n  per_color {\n    transpose = 1\n  }\n  extent = \"4 notes\"", "C4:1/16 Eb4:1/16 Db4:1/16 Fb4:1/16"},
	} {
		perf := performed(t, "voice \"v\" {\n  talea = 1\n  "+c.inside+"\n}\n")
		var all []string
		for _, b := range notation.Of(perf, 0).Bars {
			all = append(all, written(&b))
		}
		if got := strings.Join(all, " "); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.inside, got, c.want)
		}
	}
}

// The tune has bars of 12 sixteenths after an upbeat of 4, worked by hand: what goes on over
// a bar line is tied.
func TestBars(t *testing.T) {
	for _, c := range []struct{ name, inside, want string }{
		{"upbeat", `bar = 12
  upbeat = 4
  line = "G3:4 | C4:6 D:2 E:4 | G:4 E C | A3:8 (4) |"`, `0 3/4: G3:1/4
1 3/4: C4:3/8 D4:1/8 E4:1/4
2 3/4: G4:1/4 E4:1/4 C4:1/4
3 3/4: A3:1/2 -:1/4`},
		{"over the bar line", `bar = 4
  line = "C4:3 Eb:7 (2)"`, `1 1/4: C4:3/16 Eb4~:1/16
2 1/4: ~Eb4~:1/4
3 1/4: ~Eb4:1/8 -:1/8`},
		{"a cycle of bars", `bar = "6 4"
  line = "C4:6 D:4 E:6 F:2"`, `1 3/8: C4:3/8
2 1/4: D4:1/4
3 3/8: E4:3/8
4 1/4: F4:1/8`},
		{"in eighths", `unit = "1/8"
  bar = 6
  line = "C4:1 D E F:2 G:1"`, `1 6/8: C4:1/8 D4:1/8 E4:1/8 F4:1/4 G4:1/8`},
		{"counted on what is performed", `bar = 4
  line = "C4:2 D:1 E:1"
  stretch = 2
  backward = true`, `1 1/4: E4:1/8 D4:1/8
2 1/4: C4:1/4`},
		{"no writing in bars", `bar = 4
  line = "C4:2 D"
  stretch = "sqrt(2)"`, `1 talea: C4:1/8 D4:1/8`},
	} {
		p := notation.Of(performed(t, "voice \"v\" {\n  "+c.inside+"\n}\n"), 0)
		var all []string
		for _, b := range p.Bars {
			metre := "talea"
			if b.Given {
				metre = fmt.Sprintf("%d/%d", b.Metre.Count, b.Metre.Value)
			}
			all = append(all, fmt.Sprintf("%d %s: %s", b.Number, metre, written(&b)))
		}
		if got := strings.Join(all, "\n"); got != c.want {
			t.Errorf("%s:\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

// Beams by hand: in three quarters each quarter is a beat, in six eighths three eighths are;
// a rest ends a beam; an upbeat of one quarter and an eighth ends with a beat.
func TestBeams(t *testing.T) {
	for _, c := range []struct{ name, inside, want string }{
		{"quarters", "bar = 12\n  line = \"C4:2 D E:1 F:1 G:2 (2) A:2\"", "0>1 1>0 0>2:2 2>1:2 1>0 - 0>0"},
		{"eighths", "unit = \"1/8\"\n  bar = 6\n  line = \"C4:1 D E F G A\"", "0>1 1>1 1>0 0>1 1>1 1>0"},
		{"upbeat", "bar = 16\n  upbeat = 6\n  line = \"C4:2 D E\"", "0>0 0>1 1>0"},
		{"no bars", "line = \"C4:2 D E\"", "0>0 0>0 0>0"},
	} {
		b := notation.Of(performed(t, "voice \"v\" {\n  "+c.inside+"\n}\n"), 0).Bars[0]
		var all []string
		for i, n := range b.Beams() {
			text := fmt.Sprintf("%d>%d", n[0].Before, n[0].After)
			if b.Notes[i].Rest() {
				text = "-"
			} else if n[0].Own > 1 {
				text += fmt.Sprintf(":%d", n[0].Own)
			}
			all = append(all, text)
		}
		if got := strings.Join(all, " "); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// Middle C stands on the first ledger line below the treble clef and above the
// bass clef; the lines of the treble clef are E4 to F5 (textbooks of notation).
func TestClef(t *testing.T) {
	treble, bass := notation.Clef{Sign: 'G'}, notation.Clef{Sign: 'F'}
	c4 := notation.Pitch{Step: 'C', Octave: 4}
	for _, c := range []struct {
		clef  notation.Clef
		pitch notation.Pitch
		place int
	}{
		{treble, c4, -2}, {bass, c4, 10}, {treble, notation.Pitch{Step: 'E', Octave: 4}, 0}, {treble, notation.Pitch{Step: 'F', Octave: 5}, 8},
		{bass, notation.Pitch{Step: 'G', Octave: 2}, 0}, {bass, notation.Pitch{Step: 'A', Octave: 3}, 8}, {notation.Clef{Sign: 'G', Octaves: 1}, notation.Pitch{Step: 'E', Octave: 5}, 0},
	} {
		if got := c.clef.Place(c.pitch); got != c.place {
			t.Errorf("%v on clef %v: place %d, want %d", c.pitch, c.clef, got, c.place)
		}
	}
	for place, want := range map[int]int{-1: 0, -2: 1, -3: 1, -4: 2, 8: 0, 9: 0, 10: 1, 11: 1, 12: 2} {
		if got := notation.Ledgers(place); got != want {
			t.Errorf("place %d: %d ledger lines, want %d", place, got, want)
		}
	}
}

const twoVoices = `
title = "Test"
tempo = 120
voice "low" {
  talea = "3 2 2 (1) 2 2"
  color = "C2 G2 C3 Bb2"
}
voice "fifths" {
  unit  = "1/12"
  talea = "1 1 1 2 (1)"
  color = "A4 F#5"
  start = "1.5 s"
}
voice "shrinking" {
  talea     = "4 2 2"
  color     = "C5 D5"
  each_note = 0.9
}
voice "path" {
  talea = "4 4 2"
  color = "E3 F3"
  tempo_path {
    leg {
      from = 60
      to   = 120
      over = 20
    }
  }
}
voice "odd" {
  talea = "0.3333 0.7"
  color = "C4"
  stretch = "sqrt(2)"
}
`

// At 120 quarter notes a minute a sixteenth lasts 1/8 s. The talea of low makes
// 12 sixteenths with 5 notes, so 4 taleae hold 20 notes, 5 colores.
func TestOf(t *testing.T) {
	perf := performed(t, twoVoices)
	low := notation.Of(perf, 0)
	if len(low.Bars) != 4 || low.Manner != notation.AsPerformed || low.Bars[0].Length != exact.NewRat(3, 4) {
		t.Fatalf("low: %d bars of %v, manner %d", len(low.Bars), low.Bars[0].Length, low.Manner)
	}
	if tempo, ok := low.OneTempo(); !ok || math.Abs(tempo-120) > 1e-9 {
		t.Errorf("low: tempo %g %v", tempo, ok)
	}
	third := low.Bars[0].Notes[3]
	if !third.Rest() || third.StartSec != 7./8 || fmt.Sprint(third.Values) != "[{4 0 1 1}]" {
		t.Errorf("low, rest: %+v", third)
	}
	fifths := notation.Of(perf, 1)
	if fifths.StartSec != 1.5 || fmt.Sprint(fifths.Bars[0].Notes[0].Values) != "[{3 0 3 2}]" {
		t.Errorf("fifths: %+v", fifths.Bars[0].Notes[0])
	}
	// Three eighths of a triplet fill a quarter; the quarter and the eighth rest
	// after them the next one.
	if got := fmt.Sprint(fifths.Bars[0].Brackets()); got != "[[{true false}] [{false false}] [{false true}] [{true false}] [{false true}]]" {
		t.Errorf("fifths, brackets: %s", got)
	}
	for i, want := range []notation.Manner{notation.AsPerformed, notation.AsPerformed, notation.AsInTalea,
		notation.AsPerformed, notation.Nearest} {
		p := notation.Of(perf, i)
		if p.Manner != want {
			t.Errorf("%s: manner %d, want %d", p.Name, p.Manner, want)
		}
		// Whatever the manner, values at the notes' tempos give the times.
		at := p.StartSec
		for _, b := range p.Bars {
			for k := range b.Notes {
				n := &b.Notes[k]
				if math.Abs(n.StartSec-at) > 1e-9 {
					t.Fatalf("%s: note %d begins at %.12f, its values say %.12f", p.Name, n.Number, n.StartSec, at)
				}
				at += n.Length.Float64() * 240 / n.Tempo()
			}
		}
		if math.Abs(at-p.EndSec) > 1e-9 {
			t.Errorf("%s ends at %.12f, its values say %.12f", p.Name, p.EndSec, at)
		}
	}
}

func ExampleSplit() {
	values, _ := notation.Split(exact.NewRat(5, 16))
	for _, v := range values {
		fmt.Println(v.Length())
	}
	// Output:
	// 1/4
	// 1/16
}
