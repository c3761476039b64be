package engrave_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/music/notation"
	"rollwright/telling/engrave"
)

const gestures = `
voice "shimmer" {
  talea = "6 2 3"
  color = "repeat(C6 fastest) gliss(C5 C7 white) trill(E6 F6 1/2) cluster(C4 G4 white)"
}
`

// engraved draws a part on one endless system whose space is 2 mm.
func engraved(t *testing.T, text string, manner engrave.Manner) *draw.Layer {
	t.Helper()
	part := notation.Of(performed(t, text), 0)
	var l draw.Layer
	engrave.Draw(&l, &engrave.Line{Part: part, Manner: manner, Bars: part.Bars, Labels: true}, engrave.NewLook(2), 0, 0,
		1000, 0)
	return &l
}

// A repeated note has three strokes, through its stem or above its head; others
// have none. C6 is repeated three times in twelve notes.
func TestRepeatedNotesHaveStrokes(t *testing.T) {
	for _, manner := range []engrave.Manner{engrave.Pitches, engrave.Music} {
		l := engraved(t, gestures, manner)
		marks := 0
		for _, m := range l.Marks {
			p, ok := m.(*draw.Path)
			if !ok || len(p.Steps) != 15 { // three times four corners and an end
				continue
			}
			marks++
			b, _ := p.Bounds()
			middle := (b.Min.X + b.Max.X) / 2
			if !slices.ContainsFunc(signs(l, blackHead), func(h *draw.Text) bool {
				return middle > h.At.X-0.2 &&
					middle < h.At.X+2.6
			}) {
				t.Errorf("manner %d: strokes at %g without a head", manner, middle)
			}
		}
		if marks != 3 {
			t.Errorf("manner %d: %d notes have strokes, want 3", manner, marks)
		}
	}
}

// The word of a glissando ends ahead of the next note and its ledger lines, which
// reach 0.4 spaces beyond the head.
func TestGlissandoKeepsClear(t *testing.T) {
	for _, manner := range []engrave.Manner{engrave.Pitches, engrave.Music} {
		l := engraved(t, gestures, manner)
		words := 0
		for _, m := range l.Marks {
			word, ok := m.(*draw.Text)
			if !ok || word.Text != "gliss." {
				continue
			}
			words++
			for _, h := range signs(l, blackHead) {
				if h.At.X > word.At.X+1 && h.At.X-0.8 < word.At.X+word.WidthMM() {
					t.Errorf("manner %d: gliss. ends at %g, a note stands at %g", manner, word.At.X+word.WidthMM(), h.At.X)
				}
			}
		}
		if words != 3 {
			t.Errorf("manner %d: %d glissandi, want 3", manner, words)
		}
	}
}

// The dots of C4 D4 E4 F4 G4 stand in one column behind all heads, each in a space
// of its own: above G4, above E4 and so on down, four for five notes.
func TestDotsOfChord(t *testing.T) {
	l := engraved(t, "voice \"v\" {\n  talea = \"6\"\n  color = \"C4+D4+E4+F4+G4\"\n}\n", engrave.Music)
	dots, seen, behind := signs(l, '\uE1E7'), map[string]bool{}, 0.0
	for _, h := range signs(l, blackHead) {
		behind = max(behind, h.At.X+2*1.18)
	}
	base := signs(l, blackHead)[0].At.Y // C4, on a ledger line
	for _, d := range dots {
		if d.At.X != dots[0].At.X || d.At.X < behind {
			t.Errorf("a dot at %g, the column is at %g, heads end at %g", d.At.X, dots[0].At.X, behind)
		}
		steps := base - d.At.Y // half a space is 1 mm
		if seen[fmt.Sprint(math.Round(steps))] || math.Mod(math.Abs(math.Round(steps)), 2) != 1 {
			t.Errorf("a dot %g half spaces above C4: on a line, or where another stands", steps)
		}
		seen[fmt.Sprint(math.Round(steps))] = true
	}
	if len(dots) != 4 {
		t.Errorf("%d dots", len(dots))
	}
}

// A grace note, here F sharp, is a small head ahead of its note, with its own sign; a spread
// chord has a wave ahead of its heads, from its lowest to its highest.
func TestGraceAndSpread(t *testing.T) {
	l := engraved(t, "voice \"v\" {\n  talea = 4\n  color = \"grace(F#5 C5 60ms) spread(C4+E4+G4 30ms)\"\n}\n",
		engrave.Music)
	var small, full []*draw.Text
	for _, h := range signs(l, blackHead) {
		if h.SizeMM < 7.9 {
			small = append(small, h)
		} else {
			full = append(full, h)
		}
	}
	if len(small) != 1 || len(full) != 4 {
		t.Fatalf("%d small heads and %d others, want 1 and 4", len(small), len(full))
	}
	// F5 stands three places above C5: a space and a half, 3 mm.
	if g, n := small[0].At, full[0].At; g.X+1.18*1.2 > n.X || math.Abs(n.Y-g.Y-3) > 1e-9 {
		t.Errorf("the grace note stands at %v, its note at %v", g, n)
	}
	if f := signs(l, sharp); len(f) != 1 || f[0].At.X > small[0].At.X {
		t.Errorf("sharps %v ahead of the grace note", f)
	}
	waves := 0
	for _, m := range l.Marks {
		p, ok := m.(*draw.Path)
		if !ok || p.Fill.A != 0 || len(p.Steps) < 5 || p.Steps[1].Op != draw.CurveTo {
			continue
		}
		waves++
		b, _ := p.Bounds()
		if low, high := full[1].At, full[3].At; b.Max.X > low.X || b.Min.Y > high.Y || b.Max.Y < low.Y {
			t.Errorf("the wave %v does not stand ahead of the heads from %v to %v", b, low, high)
		}
	}
	if waves != 1 {
		t.Errorf("%d waves, want 1", waves)
	}
}

// The signs of a chord stand in columns, from the highest on; one takes three
// spaces, six places: F#4 and E#5 are six places apart and share a column, F#4 and
// D#5 are five and do not. A second column stands a sign and 0.15 spaces, 0.3 mm,
// farther to the left.
func TestAccidentalsOfChord(t *testing.T) {
	for _, c := range []struct {
		chord   string
		columns int
	}{{"F#4+E#5", 1}, {"F#4+D#5", 2}, {"F#4+D#5+C#6", 2}} {
		l := engraved(t, "voice \"v\" {\n  talea = \"4\"\n  color = \""+c.chord+"\"\n}\n", engrave.Music)
		all := signs(l, sharp)
		var at []float64
		for _, s := range all {
			if !slices.Contains(at, s.At.X) {
				at = append(at, s.At.X)
			}
		}
		if len(all) != strings.Count(c.chord, "#") || len(at) != c.columns {
			t.Errorf("%s: %d sharps in columns at %v, want %d", c.chord, len(all), at, c.columns)
			continue
		}
		if c.columns == 2 {
			slices.Sort(at)
			if want := all[0].WidthMM() + 0.3; math.Abs(at[1]-at[0]-want) > 1e-6 {
				t.Errorf("%s: columns %g mm apart, want %g", c.chord, at[1]-at[0], want)
			}
		}
	}
}

// Where a statement of the color begins, a triangle points up under the head of
// its first note, its number beside it on the same line: a quarter of the small
// type's size above the end of the system. The triangle is 1.8 spaces wide, 1.2
// high; the number begins 0.3 spaces behind it.
func TestStatementsOfColor(t *testing.T) {
	part := notation.Of(performed(t, "voice \"v\" {\n  talea = \"4 4\"\n  color = \"C5 D5\"\n  extent = \"4 notes\"\n}\n"), 0)
	var l draw.Layer
	look := engrave.NewLook(2)
	line := &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars, Labels: true}
	end, _ := engrave.Draw(&l, line, look, 0, 0, 1000, 0)
	heads := signs(&l, blackHead)
	for i, id := range []string{"color-1", "color-2"} {
		var number *draw.Text
		var mark draw.Rect
		for _, m := range l.Marks {
			if text, ok := m.(*draw.Text); ok && text.ID == id {
				number = text
			}
			if p, ok := m.(*draw.Path); ok && number == nil {
				if b, ok := p.Bounds(); ok && math.Abs(b.W()-3.6) < 1e-9 && math.Abs(b.H()-2.4) < 1e-9 {
					mark = b
				}
			}
		}
		if number == nil {
			t.Fatalf("no %s", id)
		}
		middle := heads[2*i].At.X + heads[2*i].WidthMM()/2
		if math.Abs((mark.Min.X+mark.Max.X)/2-middle) > 0.05 {
			t.Errorf("%s: the triangle stands at %g, the head at %g", id, (mark.Min.X+mark.Max.X)/2, middle)
		}
		if math.Abs(number.At.Y-mark.Max.Y) > 1e-9 || math.Abs(number.At.X-mark.Max.X-0.6) > 1e-9 {
			t.Errorf("%s stands at %v, the triangle ends at %v", id, number.At, mark.Max)
		}
		if want := end - number.SizeMM*0.25; math.Abs(number.At.Y-want) > 1e-9 {
			t.Errorf("%s stands at %g, want %g", id, number.At.Y, want)
		}
	}
}
