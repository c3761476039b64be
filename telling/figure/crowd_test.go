package figure_test

import (
	"math"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/telling/figure"
)

// Two voices of sixteenths that begin together meet 320 times in 40 s, two in each of the
// 160 columns of a drawing, a quarter of a second each: all are drawn, as columns, and none
// as a line. A third voice strikes with the second every five seconds: eight lines.
func TestCrowdedMeetings(t *testing.T) {
	in := input(t, `voice "a" {
  talea  = "1"
  color  = "C4 E4"
  extent = "320 notes"
}
voice "b" {
  talea  = "1"
  color  = "C5 E5"
  extent = "320 notes"
}
voice "c" {
  talea  = "40"
  color  = "C6 E6"
  extent = "8 notes"
}
`)
	f := drawn(t, "lines", in, figure.Options{})
	if !strings.Contains(f.Caption, "columns count them: the highest stands for 2 meetings within 250 ms") ||
		!strings.Contains(f.Caption, "a and b strike together 320 times") {
		t.Errorf("%s", f.Caption)
	}
	columns := path(t, f, "density-1-2")
	if n := len(columns.Steps); n < 160*4 {
		t.Errorf("%d steps for 160 columns", n)
	}
	for _, m := range f.Drawing.Layer("meetings", "").Marks {
		p, ok := m.(*draw.Path)
		if !ok {
			continue
		}
		switch p.ID {
		case "meet-1-2":
			if len(p.Steps) > 0 {
				t.Errorf("%d steps of lines between a and b", len(p.Steps))
			}
		case "meet-2-3":
			if len(p.Steps) != 16 {
				t.Errorf("%d steps of lines between b and c, want 8 lines", len(p.Steps))
			}
		}
	}
}

// Of the two voices that are at one place of their tune at 6 s (unit 24) and at 24 s (unit
// 96), reckoned in package plan's test, both instants are ringed and named.
func TestCrossingsDrawn(t *testing.T) {
	in := input(t, `tune "s" {
  talea  = "3 2 2 1"
  color  = "C4 E4 G4 A4 D4"
  extent = "120 units"
}
canon "k" {
  subject = "s"
  meet    = "unit 24"
  voice "steady" {
    tempo = 60
  }
  voice "swaying" {
    transpose = 12
    tempo_path {
      leg {
        from = 90
        to   = 90
        over = 60
      }
      leg {
        from = 45
        to   = 45
        over = 60
      }
    }
  }
}
`)
	f := drawn(t, "meeting", in, figure.Options{})
	if want := "steady and swaying are at the same place of the tune at 0:24.0."; !strings.Contains(f.Caption, want) {
		t.Errorf("%q lacks %q", f.Caption, want)
	}
	ring := path(t, f, "place-1-2-1")
	at := ring.Steps[0].P[0] // on the ring, whose radius is 1.2 mm
	x := f.Time.FromMM + (24-f.Time.From)/(f.Time.To-f.Time.From)*(f.Time.ToMM-f.Time.FromMM)
	if math.Abs(at.X-x) > 1.21 {
		t.Errorf("the ring is at %g mm, 24 s at %g", at.X, x)
	}
	f = drawn(t, "lag", in, figure.Options{})
	if want := "steady and swaying are at the same place of the tune at 0:24.0."; !strings.Contains(f.Caption, want) {
		t.Errorf("%q lacks %q", f.Caption, want)
	}
}
