package instrument

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A0 of the 88-note roll lies at (285.75 - 87*25.4/9)/2 = 20.1083 mm, its C8 as
// far from the other edge. About the centre, 142.875, paper 0.2 % wider moves
// A0 to 142.875 - 122.7667*1.002 = 19.8628, C8 to 265.8872; about the bass edge
// A0 to 20.1486; about the treble edge A0 to 285.75 - 265.6417*1.002 = 19.5771.
func TestStretchedAcross(t *testing.T) {
	in := load(t, "88-note")
	for _, c := range []struct {
		about  Anchor
		a0, c8 float64
	}{{Centre, 19.86280, 265.88720}, {BassEdge, 20.14855, 266.17295}, {TrebleEdge, 19.57705, 265.60145}} {
		out := in.Stretched(Stretch{Across: 1.002, About: c.about})
		a0, _ := out.Bar.Port(21)
		c8, _ := out.Bar.Port(108)
		if got := out.Bar.Ports[a0].AcrossMM; math.Abs(got-c.a0) > 1e-5 {
			t.Errorf("anchor %d: A0 at %.4f, want %.4f", c.about, got, c.a0)
		}
		if got := out.Bar.Ports[c8].AcrossMM; math.Abs(got-c.c8) > 1e-5 {
			t.Errorf("anchor %d: C8 at %.4f, want %.4f", c.about, got, c.c8)
		}
	}
	if p, _ := in.Bar.Port(21); math.Abs(in.Bar.Ports[p].AcrossMM-20.10833) > 1e-5 {
		t.Error("the instrument itself has changed")
	}
	if in.Stretched(Stretch{Along: 1}) != in {
		t.Error("no stretch makes a copy")
	}
}

// The farthest port is the sustaining one, 11.6417 mm from the bass edge: 131.2333
// from the centre, 274.1083 from the treble edge. 0.25 % of that is 0.3281 and
// 0.6853 mm; from the bass edge the soft pedal's is as far.
func TestMostBeside(t *testing.T) {
	in := load(t, "88-note")
	for about, want := range map[Anchor]float64{Centre: 0.32808, BassEdge: 0.68527, TrebleEdge: 0.68527} {
		for _, across := range []float64{1.0025, 0.9975} {
			if got := (Stretch{Across: across, About: about}).MostBesideMM(in); math.Abs(got-want) > 1e-5 {
				t.Errorf("anchor %d: %.5f mm, want %.5f", about, got, want)
			}
		}
	}
	if got := (Stretch{}).MostBesideMM(in); got != 0 {
		t.Errorf("no stretch: %g mm", got)
	}
}

// Every place along is larger by the factor, on a spool too.
func TestStretchedAlong(t *testing.T) {
	for _, name := range []string{"88-note", "88-note-spool"} {
		in := load(t, name)
		rapid.Check(t, func(t *rapid.T) {
			f := rapid.Float64Range(0.97, 1.03).Draw(t, "factor")
			sec := rapid.Float64Range(-2, 3600).Draw(t, "sec")
			out := in.Stretched(Stretch{Along: f})
			got, want := out.Transport.AlongMM(sec), f*in.Transport.AlongMM(sec)
			if math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
				t.Fatalf("%s: %g mm, want %g", name, got, want)
			}
		})
	}
}
