package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/draw"
)

// TestTilesCover: whatever the roll and the options, every opening lies whole
// in a tile or on both sides of a seam, neighbours overlap, and tile n begins
// where its text says.
func TestTilesCover(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		o := &Options{
			Paper:       Paper(rapid.IntRange(0, 1).Draw(rt, "paper")),
			OverlapMM:   rapid.Float64Range(6, 50).Draw(rt, "overlap"),
			ScaleAlong:  rapid.Float64Range(0.9, 1.1).Draw(rt, "scale"),
			Names:       rapid.Bool().Draw(rt, "names"),
			ScaleAcross: rapid.Float64Range(0.9, 1.1).Draw(rt, "across"),
		}
		r := scattered(t, "88-note", rapid.IntRange(1, 60).Draw(rt, "n"), rapid.Float64Range(1, 3000).Draw(rt, "length"))
		j, err := newJob(r, o)
		if err != nil {
			rt.Fatal(err)
		}
		p, err := j.plan()
		if err != nil {
			rt.Fatal(err)
		}
		if p.from > -tileLeadIn || p.from+float64(p.count-1)*p.advance+p.body < j.last+tileLeadOut-1e-6 {
			rt.Fatalf("%d tiles from %v do not hold the roll to %v", p.count, p.from, j.last)
		}
		if p.count > 1 && p.from+float64(p.count-2)*p.advance+p.body >= j.last+tileLeadOut+1e-6 {
			rt.Fatalf("the last of %d tiles shows nothing", p.count)
		}
		pages, err := Tiles(r, o)
		if err != nil {
			rt.Fatal(err)
		}
		// Places are compared in steps of 0.01 mm, the next step included.
		seen := map[[2]int]bool{}
		step := func(v float64) int { return int(math.Round(v * 100)) }
		for i, d := range pages[1:] {
			if err := d.Check(); err != nil {
				rt.Fatal(err)
			}
			low := p.from + float64(i)*p.advance
			bottom := p.margin + headMM + p.body*o.ScaleAlong
			for _, s := range holesOf(d) {
				if s.Y2 > bottom+2 || s.Y1 < p.margin+headMM-2 {
					rt.Fatalf("tile %d draws %v, outside itself", i+1, s)
				}
				a, b := low+(bottom-s.Y1)/o.ScaleAlong, low+(bottom-s.Y2)/o.ScaleAlong
				for k := range 9 {
					seen[[2]int{step(a) + k/3 - 1, step(b) + k%3 - 1}] = true
				}
			}
		}
		for _, list := range j.openers {
			for _, s := range list {
				if !seen[[2]int{step(s.from), step(s.to)}] {
					rt.Fatalf("the opening from %v to %v is on no tile", s.from, s.to)
				}
			}
		}
	})
}

// TestNothingCollides: no text, cross or ruler of a tile lies on a hole or on
// another text, however dense the roll.
func TestNothingCollides(t *testing.T) {
	for _, name := range []string{"88-note", "65-note"} {
		for _, paper := range []Paper{A4, Letter} {
			for _, names := range []bool{false, true} {
				r := scattered(t, name, 900, 900)
				for i, d := range tiles(t, r, &Options{Title: strings.Repeat("A long title ", 20), Paper: paper, Names: names}) {
					checkClear(t, fmt.Sprintf("%s, %v, names %v, page %d", name, paper, names, i), d, r.Instrument.Die.DiameterMM)
				}
			}
		}
	}
	for _, names := range []bool{false, true} {
		r := scattered(t, "88-note", 400, 900)
		checkClear(t, "long", longOf(t, r, &Options{Title: strings.Repeat("A long title ", 40), Names: names}),
			r.Instrument.Die.DiameterMM)
	}
}

func checkClear(t *testing.T, what string, d *draw.Drawing, die float64) {
	t.Helper()
	var texts []*draw.Text
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			if text, ok := m.(*draw.Text); ok && text.Text != "" {
				texts = append(texts, text)
			}
		}
	}
	for i, a := range texts {
		box := a.Bounds().Grow(-0.1)
		if f := d.Frame; box.Min.X < f.Min.X+4 || box.Max.X > f.Max.X-4 || box.Min.Y < f.Min.Y+4 || box.Max.Y > f.Max.Y-4 {
			t.Errorf("%s: %q leaves the sheet", what, a.Text)
		}
		for _, b := range texts[:i] {
			if box.Overlaps(b.Bounds().Grow(-0.1)) {
				t.Errorf("%s: %q lies on %q", what, a.Text, b.Text)
			}
		}
		for _, s := range holesOf(d) {
			if clip := d.Layer(HolesLayer, "").Clip; clip != nil && !box.Overlaps(*clip) {
				continue
			}
			if box.Overlaps(draw.Box(s.X1, s.Y1, s.X2, s.Y2).Grow(die / 2)) {
				t.Errorf("%s: %q lies on the hole at %v", what, a.Text, s)
			}
		}
	}
}

// TestRulers: rulers are 100 mm times the scale asked for, on every sheet.
func TestRulers(t *testing.T) {
	r := scattered(t, "88-note", 100, 300)
	for i, d := range tiles(t, r, &Options{ScaleAlong: 1.02, ScaleAcross: 0.99}) {
		var level, upright bool
		for _, m := range d.Layer(MarksLayer, "").Marks {
			p, ok := m.(*draw.Path)
			if !ok || len(p.Steps) != 24 { // a line and 11 ticks
				continue
			}
			a, b := p.Steps[0].P[0], p.Steps[1].P[0]
			level = level || math.Abs(math.Abs(b.X-a.X)-99) < 1e-9
			upright = upright || math.Abs(math.Abs(b.Y-a.Y)-102) < 1e-9
		}
		if !level || !upright {
			t.Errorf("page %d: ruler across %v, along %v", i, level, upright)
		}
	}
}

// TestScale: places are multiplied, holes keep their size. 20.1083 from the
// edge is 122.7667 from the centre, times 1.01 is 123.9943; the place 50 lies
// 80 mm above the tile's first millimetre, -30, times 0.98 is 78.4.
func TestScale(t *testing.T) {
	r := rollOf(t, "88-note", hole{21, 50, 50})
	d := tiles(t, r, &Options{ScaleAlong: 0.98, ScaleAcross: 1.01})[1]
	s := holesOf(d)[0]
	bottom := 5 + 14 + 170*0.98
	if math.Abs(s.X1-(148.5-123.99433)) > 1e-4 || math.Abs(s.Y1-(bottom-78.4)) > 1e-9 {
		t.Errorf("the hole lies at %v", s)
	}
	if w := d.Layer(HolesLayer, "").Marks[0].(*draw.Slots).WidthMM; w != r.Instrument.Die.DiameterMM {
		t.Errorf("the hole is %v wide", w)
	}
}
