package engrave_test

import (
	"bytes"
	"fmt"
	"image"
	stdpng "image/png"
	"math"
	"slices"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/png"
	"rollwright/draw/typeface"
	"rollwright/exact"
	"rollwright/music/notation"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/telling/engrave"
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

// signs are the music signs of a layer.
func signs(l *draw.Layer, sign rune) []*draw.Text {
	var out []*draw.Text
	for _, m := range l.Marks {
		if t, ok := m.(*draw.Text); ok && t.Face == typeface.Music && t.Text == string(sign) {
			out = append(out, t)
		}
	}
	return out
}

const blackHead, sharp, flat, natural = '\uE0A4', '\uE262', '\uE260', '\uE261'

// The treble staff's lines are E4 G4 B4 D5 F5, the bass staff's G2 B2 D3 F3 A3
// (textbooks of notation); middle C is a step below the treble staff's D4.
func TestHeights(t *testing.T) {
	for _, c := range []struct {
		color   string
		heights []float64 // in spaces above the lowest line
	}{
		{"E4 G4 B4 D5 F5 C4 A5", []float64{0, 1, 2, 3, 4, -1, 5}},
		{"G2 B2 D3 F3 A3 C4 E2", []float64{0, 1, 2, 3, 4, 5, -1}},
	} {
		part := notation.Of(performed(t, fmt.Sprintf("voice \"v\" {\n  talea = 4\n  color = %q\n}\n", c.color)), 0)
		var l draw.Layer
		engrave.Draw(&l, &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars}, engrave.NewLook(2), 0, 0, 1000, 0)
		lowest := math.Inf(-1) // the lowest staff line: the longest horizontal lines
		for _, m := range l.Marks {
			if p, ok := m.(*draw.Path); ok && len(p.Steps) == 10 && p.Stroke.WidthMM > 0 {
				for _, s := range p.Steps {
					lowest = max(lowest, s.P[0].Y)
				}
			}
		}
		heads := signs(&l, blackHead)
		if len(heads) != len(c.heights) {
			t.Fatalf("%s: %d heads", c.color, len(heads))
		}
		for i, h := range heads {
			if got := (lowest - h.At.Y) / 2; math.Abs(got-c.heights[i]) > 1e-9 {
				t.Errorf("%s: note %d stands %g spaces above the lowest line, want %g", c.color, i+1, got, c.heights[i])
			}
		}
	}
}

// Painted, a black head is dark at its centre, and the line that it stands on
// passes it at the height that the drawing says.
func TestPixels(t *testing.T) {
	part := notation.Of(performed(t, "voice \"v\" {\n  talea = 4\n  color = \"G4 C4\"\n}\n"), 0)
	d := &draw.Drawing{Frame: draw.Box(-2, -2, 60, 40)}
	engrave.Draw(d.Layer("music", ""), &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars},
		engrave.NewLook(2), 0, 0, 50, 0)
	pix := painted(t, d, 20)
	for _, h := range signs(d.Layer("music", ""), blackHead) {
		if dark := pix(h.At.X+1.18, h.At.Y); dark > 0x50 {
			t.Errorf("head at %v: grey %#x in its middle", h.At, dark)
		}
		if light := pix(h.At.X+1.18, h.At.Y-1.6); light < 0xc0 && h.At.Y < 20 {
			t.Errorf("head at %v: grey %#x above it", h.At, light)
		}
	}
	// C4 hangs on a ledger line that reaches 0.4 spaces beyond its head.
	c4 := signs(d.Layer("music", ""), blackHead)[1]
	if dark := pix(c4.At.X-0.6, c4.At.Y); dark > 0xa0 {
		t.Errorf("no ledger line at C4: grey %#x", dark)
	}
	if light := pix(c4.At.X-1.2, c4.At.Y); light < 0xf0 {
		t.Errorf("the ledger line at C4 reaches too far: grey %#x", light)
	}
}

// painted gives the grey of a place in millimetres.
func painted(t *testing.T, d *draw.Drawing, pixelsPerMM float64) func(x, y float64) uint8 {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, d, &png.Options{PixelsPerMM: pixelsPerMM}); err != nil {
		t.Fatal(err)
	}
	img, err := stdpng.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	return func(x, y float64) uint8 {
		p := image.Pt(int((x-d.Frame.Min.X)*pixelsPerMM), int((y-d.Frame.Min.Y)*pixelsPerMM))
		r, g, b, _ := img.At(p.X, p.Y).RGBA()
		return uint8((r + g + b) / 3 >> 8)
	}
}

// In a bar an accidental holds for its line: F#4 F#4 F4 F#5, among sharper notes,
// needs a sharp, none,
// a natural, and a sharp again for the other octave; the next bar begins anew.
func TestAccidentals(t *testing.T) {
	part := notation.Of(performed(t, "voice \"v\" {\n  talea = \"8 times 4\"\n  color = \"F#4 F#4 F4 F#5 D4 E4 A4 B4\"\n  extent = \"2 taleae\"\n}\n"), 0)
	var l draw.Layer
	engrave.Draw(&l, &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars}, engrave.NewLook(2), 0, 0, 1000, 0)
	if s, n, f := len(signs(&l, sharp)), len(signs(&l, natural)), len(signs(&l, flat)); s != 4 || n != 2 || f != 0 {
		t.Errorf("%d sharps, %d naturals, %d flats; want 4, 2, 0", s, n, f)
	}
}

// 7/16 is written as a quarter with two dots, 5/16 as a quarter tied to a
// sixteenth, so three heads; the bracket of a triplet carries its 3.
func TestValues(t *testing.T) {
	part := notation.Of(performed(t, "voice \"v\" {\n  talea = \"7 5\"\n  color = \"F4 A4\"\n}\n"), 0)
	var l draw.Layer
	engrave.Draw(&l, &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars}, engrave.NewLook(2), 0, 0, 1000, 0)
	if heads, dots := len(signs(&l, blackHead)), len(signs(&l, '\uE1E7')); heads != 3 || dots != 2 {
		t.Errorf("%d heads, %d dots; want 3, 2", heads, dots)
	}
	triplet := notation.Of(performed(t, "voice \"v\" {\n  unit = \"1/12\"\n  talea = \"1 1 1\"\n  color = \"F4\"\n}\n"), 0)
	var m draw.Layer
	engrave.Draw(&m, &engrave.Line{Part: triplet, Manner: engrave.Rhythm, Bars: triplet.Bars}, engrave.NewLook(2), 0, 0,
		1000, 0)
	if threes := len(signs(&m, '\uE883')); threes != 1 {
		t.Errorf("%d brackets with a 3, want 1", threes)
	}
}

// Systems are no wider than asked for, and a limit of systems leaves a rest.
func TestSystems(t *testing.T) {
	part := notation.Of(performed(t, "voice \"v\" {\n  talea = \"3 1 2 2\"\n  color = \"C4 E4 D5 F4 A4\"\n  extent = \"30 taleae\"\n}\n"), 0)
	line := &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars, Labels: true}
	var all, one draw.Layer
	high, rest := engrave.Draw(&all, line, engrave.NewLook(1.5), 0, 0, 150, 0)
	first, left := engrave.Draw(&one, line, engrave.NewLook(1.5), 0, 0, 150, 1)
	if rest || !left || math.Abs(math.Mod(high/first+1e-9, 1)) > 1e-6 {
		t.Errorf("%g mm with rest %v; one system %g mm with rest %v", high, rest, first, left)
	}
	for _, m := range all.Marks {
		if text, ok := m.(*draw.Text); ok && text.At.X > 150.01 {
			t.Errorf("%q stands at %g", text.Text, text.At.X)
		}
	}
}

const pair = `
title = "Two looms"
tune "t" {
  talea = "4 2 2 3 (1)"
  color = "C4 F#4 D5 A4 Eb5"
}
canon "c" {
  subject = "t"
  meet    = "note 15"
  lasts   = "40 s"
  speeds  = "4 : 5"
  voice "slow" {}
  voice "fast" {
    transpose = -24
  }
}
`

// Every sounding event has its head at its time, and at the height of its pitch:
// place 0 of the treble clef is E4, diatonic step 30; of the bass clef G2, 18.
func TestScorePlaces(t *testing.T) {
	perf := performed(t, pair)
	pages, err := engrave.Score(perf, engrave.ScoreOptions{Title: "Two looms", SystemSec: 10})
	if err != nil {
		t.Fatal(err)
	}
	heads, altered := 0, 0
	var xs []float64
	for _, p := range pages {
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		for _, h := range signs(p.Layer("notes", ""), blackHead) {
			heads++
			xs = append(xs, h.At.X)
		}
		altered += len(signs(p.Layer("notes", ""), sharp)) + len(signs(p.Layer("notes", ""), flat))
	}
	// Margin 12, names 22; 210 - 24 - 22 = 164 mm are 10 s.
	var want []float64
	events, accidentals := 0, 0
	for e := range perf.Events() {
		events++
		want = append(want, 34+164*math.Mod(e.StartSec+1e-9, 10)/10)
		if strings.Contains("1 3 6 8 10", fmt.Sprint(e.Key%12)) && e.Key%12 != 0 {
			accidentals++
		}
	}
	if heads != events || altered != accidentals {
		t.Errorf("%d heads with %d accidentals, want %d with %d", heads, altered, events, accidentals)
	}
	slices.Sort(xs)
	slices.Sort(want)
	for i := range min(len(xs), len(want)) {
		if math.Abs(xs[i]-want[i]) > 1e-6 {
			t.Fatalf("head %d of %d from the left stands at %.6f, want %.6f", i+1, len(xs), xs[i], want[i])
		}
	}
}

func TestScoreErrors(t *testing.T) {
	text := ""
	for i := range 60 {
		text += fmt.Sprintf("voice \"v%d\" {\n  talea = 4\n  color = C4\n}\n", i)
	}
	text = strings.ReplaceAll(text, "= C4", `= "C4"`)
	if _, err := engrave.Score(performed(t, text), engrave.ScoreOptions{}); err == nil ||
		!strings.Contains(err.Error(), "choose some with voice") {
		t.Errorf("60 voices: %v", err)
	}
	perf := performed(t, pair)
	if _, err := engrave.Score(perf, engrave.ScoreOptions{SystemSec: 0.001}); err == nil ||
		!strings.Contains(err.Error(), "pages") {
		t.Errorf("systems of a millisecond: %v", err)
	}
	if _, err := engrave.Score(perf, engrave.ScoreOptions{FromSec: 5, ToSec: 5}); err == nil {
		t.Error("an empty stretch is drawn")
	}
}

func BenchmarkScore(b *testing.B) {
	perf := performed(b, "voice \"v\" {\n  talea = \"3 1 2 2\"\n  color = \"C4 E4 D5 F4 A4\"\n  extent = \"3000 notes\"\n}\n")
	for b.Loop() {
		if _, err := engrave.Score(perf, engrave.ScoreOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleDraw() {
	part := &notation.Part{Staves: []notation.Clef{{Sign: 'G'}}}
	values, _ := notation.Split(exact.NewRat(1, 4))
	c4 := notation.Pitch{Step: 'C', Octave: 4}
	bar := notation.Bar{Number: 1, Talea: 1, Notes: []notation.Note{{Number: 1, Values: values,
		Pitches: []notation.Pitch{c4}}}}
	var l draw.Layer
	height, rest := engrave.Draw(&l, &engrave.Line{Part: part, Manner: engrave.Music, Bars: []notation.Bar{bar}},
		engrave.NewLook(1), 0, 0, 100, 0)
	fmt.Printf("%.1f mm high, rest: %v\n", height, rest)
	// Output: 8.1 mm high, rest: false
}

// On one staff every head stands half a space higher for each step of the scale:
// C4 F4 D5 A4 G5 are the steps 28 31 36 33 39 above C0.
func TestScoreHeights(t *testing.T) {
	perf := performed(t, "voice \"v\" {\n  talea = 4\n  color = \"C4 F4 D5 A4 G5\"\n}\n")
	pages, err := engrave.Score(perf, engrave.ScoreOptions{SystemSec: 5})
	if err != nil {
		t.Fatal(err)
	}
	heads := signs(pages[0].Layer("notes", ""), blackHead)
	steps := []float64{28, 31, 36, 33, 39}
	if len(heads) != len(steps) {
		t.Fatalf("%d heads", len(heads))
	}
	for i, h := range heads {
		space := h.SizeMM / 4
		if got, want := heads[0].At.Y-h.At.Y, (steps[i]-28)*space/2; math.Abs(got-want) > 1e-9 {
			t.Errorf("head %d stands %g mm above the first, want %g", i+1, got, want)
		}
	}
	// Painted, the first head is dark where the drawing says.
	pix := painted(t, pages[0], 12)
	for i, h := range heads {
		if dark := pix(h.At.X+h.SizeMM/4*0.6, h.At.Y); dark > 0x60 {
			t.Errorf("head %d: grey %#x", i+1, dark)
		}
	}
}
