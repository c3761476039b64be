package figure_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/telling/figure"
)

// tides has what figures find hard to lay out: three voices of a canon whose
// speeds have no common measure, far apart on the paper and struck short, and a
// voice of gestures that begins after them.
const tides = `
title = "Tide Tables"
tempo = 96
tune "drift" {
  talea    = "3 2 2 (1) 4 1 1 2 (3) 5 1 2"
  color    = "D3 A3 F3 C4 E4 B3 G4"
  dynamics = "mp f p ff"
  hold     = "0.8 0.5"
}
canon "tides" {
  subject = "drift"
  meet    = "2/3"
  voice "low" {
    transpose = -12
  }
  voice "mid" {
    speed = "sqrt(3)"
  }
  voice "high" {
    speed     = "e/2"
    transpose = 19
  }
}
voice "shimmer" {
  talea = "6 2 3"
  color = "repeat(C6 fastest) gliss(C5 C7 white) trill(E6 F6 1/2) cluster(C4 G4 white)"
  speed = pi
  start = "after low"
}
`

// No text of any figure is printed over another or cut by the edge, in either
// size, of the whole or of a stretch.
func TestTextsApart(t *testing.T) {
	in := input(t, tides)
	for _, k := range figure.Kinds() {
		for _, o := range []figure.Options{{}, {Voice: "shimmer"}, {FromSec: 14, ToSec: 18},
			{FromSec: 15, ToSec: 18, Pair: [2]string{"mid", "high"}}} {
			for _, size := range []figure.Size{figure.Page, figure.Slide} {
				o.Size = size
				f, err := figure.Draw(k.Name, in, o)
				if err != nil {
					continue // lag and meeting of a voice in no canon
				}
				what := fmt.Sprintf("%s %+v", k.Name, o)
				check(t, what, f, o)
				apart(t, what, f)
			}
		}
	}
}

// apart holds upright texts against each other: they may touch, and no more.
func apart(t *testing.T, what string, f *figure.Figure) {
	t.Helper()
	var all []*draw.Text
	for _, m := range texts(f) {
		if m.TurnDeg == 0 && m.Face != typeface.Music && strings.TrimSpace(m.Text) != "" {
			all = append(all, m)
		}
	}
	for i, m := range all {
		b := m.Bounds()
		if b.Min.X < f.Drawing.Frame.Min.X || b.Max.X > f.Drawing.Frame.Max.X {
			t.Errorf("%s: %q is cut: %v of %v", what, m.Text, b, f.Drawing.Frame)
		}
		for _, n := range all[:i] {
			c := n.Bounds()
			if w, h := min(b.Max.X, c.Max.X)-max(b.Min.X, c.Min.X), min(b.Max.Y, c.Max.Y)-max(b.Min.Y, c.Min.Y); w > 0.2 &&
				h > 0.35*min(m.SizeMM, n.SizeMM) {
				t.Errorf("%s: %q lies over %q", what, m.Text, n.Text)
			}
		}
	}
}

// The paper is as wide as its figure, however many voices lie on it; along it
// the edges of every rim still stand at their times.
func TestPaperFillsItsFigure(t *testing.T) {
	in := input(t, tides)
	rolls, err := in.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range []figure.Options{{FromSec: 14, ToSec: 18}, {FromSec: 14, ToSec: 18, Size: figure.Slide},
		{FromSec: 0.1, ToSec: 29}} {
		f := drawn(t, "paper", in, o)
		b, _ := f.Drawing.Layer("paper", "").Marks[0].(*draw.Path).Bounds()
		if share := b.W() / f.Drawing.Frame.W(); share < 0.8 {
			t.Errorf("%+v: the paper takes %.2f of the width", o, share)
		}
		if o.ToSec == 29 && b.H() < 40 {
			t.Errorf("a long stretch is a band %g mm high", b.H())
		}
		speed := rolls[0].Instrument.Transport.SpeedAt(0)
		shown := 0
		for i := range rolls[0].Slots {
			s := &rolls[0].Slots[i]
			if s.TrailMM < o.FromSec*speed || s.LeadMM > o.ToSec*speed {
				continue
			}
			shown++
			drawn := path(t, f, fmt.Sprintf("slot-%d", shown))
			rim, _ := drawn.Bounds()
			grown := 0.35*scaleOf(o) + drawn.Stroke.WidthMM/2 // a rim is drawn 0.35 mm outside its hole
			lead, trail := f.Time.At(s.LeadMM/speed)-grown, f.Time.At(s.TrailMM/speed)+grown
			if short := rim.H() > trail-lead; !short && (math.Abs(rim.Min.X-lead) > 0.01 || math.Abs(rim.Max.X-trail) > 0.01) {
				t.Fatalf("%+v: rim %d reaches from %g to %g, its hole with that rim from %g to %g", o, shown, rim.Min.X, rim.Max.X,
					lead, trail)
			}
		}
	}
}

// scaleOf is how much larger than a page figure the figure of a size is.
func scaleOf(o figure.Options) float64 {
	if o.Size == figure.Slide {
		return 190.5 * 28 / 720 / 2.8
	}
	return 1
}

// A pattern around a short hole falls to crumbs: its rim is solid, or in black
// has a grey line under it.
func TestShortRimsAreWhole(t *testing.T) {
	in := input(t, tides)
	for _, ink := range []figure.Ink{figure.Hues, figure.BlackInk} {
		f := drawn(t, "paper", in, figure.Options{FromSec: 14, ToSec: 18, Ink: ink})
		patterned, under := 0, 0
		for _, m := range f.Drawing.Layer("rims", "").Marks {
			p := m.(*draw.Path)
			b, _ := p.Bounds()
			switch around := 2*b.W() + 1.2*b.H(); {
			case p.ID == "":
				under++
			case len(p.Stroke.DashMM) > 0 && around < 10:
				patterned++
			}
		}
		if ink == figure.Hues && (patterned > 0 || under > 0) || ink == figure.BlackInk &&
			(patterned == 0 || under < patterned) {
			t.Errorf("ink %d: %d short patterned rims, %d lines under them", ink, patterned, under)
		}
	}
}

// Names on wheels lie between hub and teeth and apart from each other; what is cut
// short for that stands in the key.
func TestWheelsHaveRoomForNames(t *testing.T) {
	in := input(t, tides)
	for _, size := range []figure.Size{figure.Page, figure.Slide} {
		f := drawn(t, "wheels", in, figure.Options{Voice: "shimmer", Size: size})
		if key := text(t, f, "key-1").Text; key != "re C6 = repeated C6 · gl C5 = gliss C5 to C7 · tr E6 = trill E6 F6 · cl C4 = cluster C4 to G4" {
			t.Errorf("key %q", key)
		}
		for w, names := range [][]string{{"re C6", "gl C5", "tr E6", "cl C4"}, {"6", "2", "3"}} {
			wheel := f.Wheels[w]
			for i, want := range names {
				m := text(t, f, fmt.Sprintf("%s-%d", wheel.Layer, i+1))
				if m.Text != want {
					t.Errorf("%s %d is %q, want %q", wheel.Layer, i+1, m.Text, want)
				}
				// A name begins at its rim and runs toward the middle.
				outer := math.Hypot(m.At.X-wheel.Centre.X, m.At.Y-wheel.Centre.Y)
				if inner := outer - m.WidthMM(); inner < wheel.RadiusMM*0.16 || outer > wheel.RadiusMM {
					t.Errorf("size %d, %s %q reaches from %g to %g of %g mm", size, wheel.Layer, m.Text, inner, outer, wheel.RadiusMM)
				}
				if px := m.SizeMM * 720 / 190.5; size == figure.Slide && px < 18 {
					t.Errorf("%q is %.1f pixels high", m.Text, px)
				}
			}
		}
	}
}
