package typeface

import (
	"math"
	"testing"
)

// The signs stand where the font's own SMuFL metadata puts them (glyphBBoxes
// and glyphAdvanceWidths of metadata.json, version 1.392, in staff spaces of
// 250 thousandths).
func TestMusicSigns(t *testing.T) {
	for _, c := range []struct {
		name           string
		sign           rune
		advance        float64
		x0, y0, x1, y1 float64
	}{
		{"noteheadBlack", 0xE0A4, 1.18, 0, -0.5, 1.18, 0.5},
		{"noteheadHalf", 0xE0A3, 1.18, 0, -0.5, 1.18, 0.5},
		{"noteheadWhole", 0xE0A2, 1.688, 0, -0.5, 1.688, 0.5},
		{"gClef", 0xE050, 2.684, 0, -2.632, 2.684, 4.392},
		{"fClef", 0xE062, 2.736, -0.02, -2.54, 2.736, 1.048},
		{"accidentalSharp", 0xE262, 0.996, 0, -1.392, 0.996, 1.4},
		{"flag8thUp", 0xE240, 1.056, 0, -3.2408, 1.056, 0.0352},
		{"flag8thDown", 0xE241, 1.224, 0, -0.0576, 1.224, 3.2329},
	} {
		g := Music.Glyph(c.sign)
		if g == 0 {
			t.Errorf("%s: no glyph", c.name)
			continue
		}
		if got := float64(Music.Advance(g)) / 250; math.Abs(got-c.advance) > 0.003 {
			t.Errorf("%s: advance %g staff spaces, want %g", c.name, got, c.advance)
		}
		// Control points of curves may lie a little outside the outline.
		x0, y0, x1, y1 := bounds(Music.Outline(g))
		for _, b := range [][2]float64{{x0 / 250, c.x0}, {y0 / 250, c.y0}, {x1 / 250, c.x1}, {y1 / 250, c.y1}} {
			if math.Abs(b[0]-b[1]) > 0.12 {
				t.Errorf("%s: bounds %g %g %g %g, want %g %g %g %g", c.name, x0/250, y0/250, x1/250, y1/250, c.x0, c.y0, c.x1, c.y1)
				break
			}
		}
	}
}

// Signs of music pass where text is cleaned; other private characters do not.
func TestMusicSignsAreKept(t *testing.T) {
	if got := Clean("\uE0A4\uF8FF"); got != "\uE0A4\uFFFD" {
		t.Errorf("Clean gives %q", got)
	}
	if Sans.Glyph(0xE0A4) != 0 || len(Music.Set("\uE0A4")) != 1 || Music.Set("\uE0A4")[0] == 0 {
		t.Error("the notehead is in the wrong face")
	}
}
