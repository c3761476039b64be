package engrave_test

import (
	"math"
	"testing"

	"rollwright/draw"
	"rollwright/music/notation"
	"rollwright/telling/engrave"
)

// Three bars of three quarters after an upbeat: beams in place of flags, one time
// signature, two sharps and two flats as signs of their own, ties over the bar line.
func TestBars(t *testing.T) {
	part := notation.Of(performed(t, `voice "v" {
  bar    = 12
  upbeat = 4
  line   = "G3:2 Ab | Bb:4 C4:1 D Ebb:2 F##:4 | D:14 (2) E:2 F:6 |"
}
`), 0)
	var l draw.Layer
	engrave.Draw(&l, &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars}, engrave.NewLook(2), 0, 0, 1000, 0)
	for _, c := range []struct {
		sign rune
		want int
	}{
		{0xE083, 1}, {0xE084, 1}, // 3 over 4
		{0xE264, 1}, {0xE263, 1}, // two flats, two sharps
		{0xE240, 2}, {0xE242, 0}, // flags: of eighths alone, the end of D and E in bar 3
	} {
		if got := len(signs(&l, c.sign)); got != c.want {
			t.Errorf("sign %x: %d, want %d", c.sign, got, c.want)
		}
	}
}

// Stems under a beam end on one straight line, half a space of black, at least two and a half
// spaces from their heads.
func TestBeam(t *testing.T) {
	const space = 2.0
	for _, line := range []string{"C4:2 G5:2", "C4:2 D:2", "E4:1 C5:1 F4:2", "A4:1 B4:1 A4:1 C6:1"} {
		part := notation.Of(performed(t, "voice \"v\" {\n  bar = 4\n  line = \""+line+"\"\n}\n"), 0)
		d := &draw.Drawing{Frame: draw.Box(-2, -10, 100, 60)}
		l := d.Layer("music", "")
		engrave.Draw(l, &engrave.Line{Part: part, Manner: engrave.Music, Bars: part.Bars}, engrave.NewLook(space), 0, 0,
			90, 0)
		heads := signs(l, blackHead)
		type stem struct{ x, end, head float64 }
		var stems []stem
		for _, m := range l.Marks {
			p, ok := m.(*draw.Path)
			if !ok || len(p.Steps) != 2 || math.Abs(p.Stroke.WidthMM-0.12*space) > 1e-9 {
				continue
			}
			a, b := p.Steps[0].P[0], p.Steps[1].P[0]
			stems = append(stems, stem{a.X, b.Y, 0})
		}
		if len(stems) != len(heads) {
			t.Fatalf("%s: %d stems, %d heads", line, len(stems), len(heads))
		}
		pix := painted(t, d, 20)
		first, last := stems[0], stems[len(stems)-1]
		slope := (last.end - first.end) / (last.x - first.x)
		for i, s := range stems {
			if want := first.end + slope*(s.x-first.x); math.Abs(s.end-want) > 1e-9 {
				t.Errorf("%s: stem %d ends at %g, the beam is at %g", line, i+1, s.end, want)
			}
			if far := math.Abs(heads[i].At.Y - s.end); far < 2.5*space {
				t.Errorf("%s: stem %d is %g spaces long", line, i+1, far/space)
			}
		}
		inward := 1.0
		if first.end > heads[0].At.Y {
			inward = -1
		}
		for _, share := range []float64{0.1, 0.5, 0.9} {
			x := first.x + share*(last.x-first.x)
			y := first.end + slope*(x-first.x)
			if dark := pix(x, y+inward*0.25*space); dark > 0x50 {
				t.Errorf("%s: no beam at %.1f: grey %#x", line, share, dark)
			}
			if light := pix(x, y-inward*0.4*space); light < 0xa0 {
				t.Errorf("%s: something beyond the beam at %.1f: grey %#x", line, share, light)
			}
		}
	}
}
