package sheet

import (
	"math"
	"testing"

	"rollwright/draw"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// marksTitled are the paths of a drawing that have a title.
func marksTitled(d *draw.Drawing, title string) []*draw.Path {
	var out []*draw.Path
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			if p, ok := m.(*draw.Path); ok && p.Title == title {
				out = append(out, p)
			}
		}
	}
	return out
}

// A cue 81.28 mm before time 0 makes drawings begin before it. Cues lie across
// both margins and no port; on the long drawing at their place along.
func TestCues(t *testing.T) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	port, _ := in.Bar.Port(60)
	r := &roll.Roll{Instrument: in, EndSec: 30, Slots: []roll.Slot{{LeadMM: 500, TrailMM: 501.7272, FirstMM: 500.8636,
		LastMM: 500.8636, Port: int32(port), Punches: 1}}}
	o := &Options{Cues: []Cue{{-81.28, "start mark"}, {300, "cue 1"}}}
	long, err := Long(r, o)
	if err != nil {
		t.Fatal(err)
	}
	if long.Frame.Min.X > -81.28-cueLead {
		t.Errorf("the drawing begins at %g", long.Frame.Min.X)
	}
	lowest, highest := in.Bar.Ports[0].AcrossMM, in.Bar.Ports[len(in.Bar.Ports)-1].AcrossMM
	for name, x := range map[string]float64{"start mark": -81.28, "cue 1": 300} {
		found := marksTitled(long, name)
		if len(found) != 1 {
			t.Fatalf("%s is drawn %d times", name, len(found))
		}
		for _, s := range found[0].Steps {
			if math.Abs(s.P[0].X-x) > 1e-9 || s.P[0].Y > lowest && s.P[0].Y < highest {
				t.Errorf("%s goes through %v", name, s.P[0])
			}
		}
	}
	tiles, err := Tiles(r, o)
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	for _, d := range tiles {
		for _, c := range o.Cues {
			count[c.Name] += len(marksTitled(d, c.Name))
		}
	}
	if count["start mark"] < 1 || count["cue 1"] < 1 || count["cue 1"] > 2 { // twice in an overlap
		t.Errorf("cues on the tiles: %v", count)
	}
}
