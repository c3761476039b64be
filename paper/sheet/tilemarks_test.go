package sheet

import (
	"math"
	"testing"

	"rollwright/draw"
	"rollwright/paper/instrument"
)

// paths are all lines of a page but the holes.
func paths(d *draw.Drawing) []*draw.Path {
	var out []*draw.Path
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			if p, ok := m.(*draw.Path); ok {
				out = append(out, p)
			}
		}
	}
	return out
}

// crossedBy reports whether a straight stroke of p meets the box; strokes here are
// level or upright.
func crossedBy(p *draw.Path, box draw.Rect) bool {
	for i := 1; i < len(p.Steps); i++ {
		a, b := p.Steps[i-1].P[0], p.Steps[i].P[0]
		if p.Steps[i].Op == draw.LineTo && draw.Box(a.X, a.Y, b.X, b.Y).Grow(0.05).Overlaps(box) {
			return true
		}
	}
	return false
}

// No line runs through what says START and END, and BASS and TREBLE keep 3 mm from
// rulers and ticks, on a roll of one tile and of several.
func TestBannersStandClear(t *testing.T) {
	for _, length := range []float64{40, 100, 900, 1250} {
		for _, paper := range []Paper{A4, Letter} {
			for _, name := range []string{"88-note", "65-note"} {
				said := map[string]bool{}
				for i, d := range tiles(t, scattered(t, name, 60, length), &Options{Paper: paper})[1:] {
					for _, m := range d.Layer(MarksLayer, "").Marks {
						text, ok := m.(*draw.Text)
						if !ok || text.SizeMM < 5 || text.Text == "Untitled" {
							continue
						}
						said[text.Text] = true
						room := 1.0
						if text.Text == "BASS" || text.Text == "TREBLE" {
							room = 3
						}
						for _, p := range paths(d) {
							if crossedBy(p, text.Bounds().Grow(room)) {
								t.Errorf("%s, %v, %g mm, tile %d: a line within %g mm of %s", name, paper, length, i+1, room, text.Text)
							}
						}
					}
				}
				if !said["START"] || !said["END"] || !said["TREBLE"] {
					t.Errorf("%s, %v, %g mm: says %v", name, paper, length, said)
				}
			}
		}
	}
}

// A cross stands where no port passes, if there is such a place: on Letter the
// outermost ports of the 88-note bar lie beneath the first places tried, so without
// the ports of C3 to C4 the crosses go there.
func TestCrossesKeepClearOfPorts(t *testing.T) {
	r := scattered(t, "88-note", 60, 900)
	gapped := *r.Instrument
	gapped.Bar.Ports = nil
	at := map[int32]int32{}
	for i, p := range r.Instrument.Bar.Ports {
		if p.Role != instrument.Note || p.Key < 48 || p.Key > 60 {
			at[int32(i)] = int32(len(gapped.Bar.Ports))
			gapped.Bar.Ports = append(gapped.Bar.Ports, p)
		}
	}
	slots := r.Slots[:0]
	for _, s := range r.Slots {
		if port, ok := at[s.Port]; ok {
			s.Port = port
			slots = append(slots, s)
		}
	}
	r.Instrument, r.Slots = &gapped, slots
	crosses := 0
	for i, d := range tiles(t, r, &Options{Paper: Letter})[1:] {
		for _, p := range paths(d) {
			centre, ok := crossAt(p)
			if !ok {
				continue
			}
			crosses++
			if centre.X > d.Frame.W()/2 {
				continue // C3 to C4 lie left of the middle
			}
			for _, port := range gapped.Bar.Ports {
				if x := d.Frame.W()/2 + port.AcrossMM - gapped.Paper.WidthMM/2; math.Abs(x-centre.X) < 2.5+gapped.Die.DiameterMM/2 {
					t.Errorf("tile %d: a cross at %v in the column of %s", i+1, centre, port.Name())
				}
			}
		}
	}
	if crosses < 8 {
		t.Errorf("%d crosses", crosses)
	}
}

// crossAt is the middle of a cross: two lines of 5 mm and a circle.
func crossAt(p *draw.Path) (draw.Point, bool) {
	if len(p.Steps) < 5 || p.Steps[1].Op != draw.LineTo || p.Steps[3].Op != draw.LineTo || p.Steps[4].Op == draw.LineTo {
		return draw.Point{}, false
	}
	a, b := p.Steps[0].P[0], p.Steps[1].P[0]
	return draw.Point{X: (a.X + b.X) / 2, Y: a.Y}, math.Abs(b.X-a.X-5) < 1e-9 && a.Y == b.Y
}
