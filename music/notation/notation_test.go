package notation_test

import (
	"fmt"
	"math"
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

// Spelled by hand: D major has F# and C#, B flat major Bb and Eb; the key never
// changes.
func TestSpelling(t *testing.T) {
	for _, c := range []struct {
		name string
		keys []int
		want string
	}{
		{"D major", []int{62, 64, 66, 67, 69, 71, 73}, "D4 E4 F#4 G4 A4 B4 C#5"},
		{"B flat major", []int{58, 60, 62, 63, 65, 67, 69}, "Bb3 C4 D4 Eb4 F4 G4 A4"},
		{"white keys", []int{21, 60, 59, 108}, "A0 C4 B3 C8"},
	} {
		heard := map[int]int{}
		for _, k := range c.keys {
			heard[k]++
		}
		s := notation.SpellingOf(heard)
		got := ""
		for i, k := range c.keys {
			p := s.Pitch(k)
			if p.Key() != k {
				t.Errorf("%s: %v is key %d, not %d", c.name, p, p.Key(), k)
			}
			if i > 0 {
				got += " "
			}
			got += fmt.Sprintf("%c%s%d", p.Step, map[int]string{-1: "b", 0: "", 1: "#"}[p.Alter], p.Octave)
		}
		if got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
	for s := notation.Spelling(-6); s <= -1; s++ {
		for k := range 128 {
			if p := s.Pitch(k); p.Key() != k || p.Alter < -1 || p.Alter > 1 {
				t.Fatalf("spelling %d of key %d: %v", s, k, p)
			}
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
