package plan_test

import (
	"bytes"
	"math"
	"os"
	"strings"
	"testing"

	"rollwright/music/plan"
)

// A steady voice comes to unit u after u/4 s. The swaying one, 2 s later, after 2 + u/6 s up
// to unit 60, then after 12 + (u-60)/3: both are at unit 24 at 6 s and at unit 96 at 24 s.
const crossingTwice = `
tune "s" {
  talea  = "3 2 2 1"
  color  = "C4 E4 G4 A4 D4"
  extent = "120 units"
}
voice "steady" {
  like  = "s"
  tempo = 60
}
voice "swaying" {
  like      = "s"
  transpose = 12
  start     = "2 s"
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
`

func TestSamePlaces(t *testing.T) {
	p := planned(t, crossingTwice)
	got := p.Pairs[0].SamePlaces
	if len(got) != 2 || got[0] != (plan.SamePlace{From: 6, To: 6, Unit: 24}) ||
		got[1] != (plan.SamePlace{From: 24, To: 24, Unit: 96}) {
		t.Errorf("%+v", got)
	}
	var out bytes.Buffer
	if err := plan.WriteBrief(&out, p, "", ""); err != nil {
		t.Fatal(err)
	}
	want := "steady and swaying: at one place of the tune at 0:06.0 (unit 24); at 0:24.0 (unit 96)"
	if text := strings.Join(strings.Fields(out.String()), " "); !strings.Contains(text, want) {
		t.Errorf("%s\nlacks %s", out.String(), want)
	}
	// Another tune, or the same one turned round, has no same places.
	for _, change := range []string{"  backward = true\n", "  color = \"C4 E4\"\n", "  rotate_talea = 1\n", "  stretch = 2\n"} {
		text := strings.Replace(crossingTwice, "  start     =", change+"  start     =", 1)
		if got := planned(t, text).Pairs[0].SamePlaces; got != nil {
			t.Errorf("%s: %+v", change, got)
		}
	}
}

// The example runs up from 50 to 200, 40 to 240 and 30 to 300 quarter notes a minute over 330
// units, evenly in ratio from unit to unit, to one end. With a tempo q(u) = q0*k^u the time to
// unit u is 15/(q0*ln k)*(1 - k^-u) s; counted back from the common end, the distance of two
// voices is 0 where their remaining times are equal. Found here by a search of its own, over
// those formulas; and the end is there by construction.
func TestSamePlacesOfExample(t *testing.T) {
	text, err := os.ReadFile("../../examples/running-up.piece")
	if err != nil {
		t.Fatal(err)
	}
	p := planned(t, string(text))
	left := func(from, to, u float64) float64 { // seconds from unit u to 330
		k := math.Log(to/from) / 330
		return 15 / (from * k) * (math.Exp(-k*u) - math.Exp(-k*330))
	}
	for _, pair := range p.Pairs[:3] {
		tempos := map[string][2]float64{"shaft": {50, 200}, "belt": {40, 240}, "spindle": {30, 300}}
		a, b := tempos[pair.A], tempos[pair.B]
		if len(pair.SamePlaces) != 2 || pair.SamePlaces[0].Meet || !pair.SamePlaces[1].Meet {
			if a[0] != 0 && b[0] != 0 {
				t.Errorf("%s and %s: %+v", pair.A, pair.B, pair.SamePlaces)
			}
			continue
		}
		unit, low := 0.0, 0.0
		for u := 0.001; u < 329; u += 0.001 {
			d := left(a[0], a[1], u) - left(b[0], b[1], u)
			if low != 0 && (d < 0) != (low < 0) {
				unit = u
			}
			low = d
		}
		if got := pair.SamePlaces[0]; math.Abs(got.Unit-unit) > 0.002 {
			t.Errorf("%s and %s: at unit %g, the formula says %g", pair.A, pair.B, got.Unit, unit)
		}
		if !strings.Contains(pair.Reason, "the end of each falls at one instant by construction: canon gathering meets there") {
			t.Errorf("%s", pair.Reason)
		}
	}
	if at := p.Pairs[0].SamePlaces[0].From; math.Abs(float64(at)-31.655402) > 1e-5 {
		t.Errorf("shaft and belt cross at %g", at)
	}
}

// Notes that do not meet, and lie a step apart or more, are no near miss; the plan says how
// far that is: of quarters and of eighths at one speed the step of 1/4 s.
func TestNoNearMiss(t *testing.T) {
	p := planned(t, `voice "a" {
  talea  = "4"
  color  = "C4"
  extent = "8 notes"
}
voice "b" {
  talea  = "2"
  color  = "C5"
  extent = "8 notes"
}
`)
	if r := p.Pairs[0].Rest; r == nil || r.Exact != "1/4" || len(p.Pairs[0].NearMisses) != 0 {
		t.Errorf("%+v, %+v", r, p.Pairs[0].NearMisses)
	}
	var out bytes.Buffer
	if err := plan.WriteText(&out, p, plan.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	want := "apart notes that do not meet are 250 ms apart or more, a step of one of the two or over 100 ms: that is rhythm"
	if text := strings.Join(strings.Fields(out.String()), " "); !strings.Contains(text, want) {
		t.Errorf("%s\nlacks %s", out.String(), want)
	}
}

// What a piece puts together is so by construction, where numbers alone do not prove it.
func TestDeclared(t *testing.T) {
	text := strings.Replace(crossingTwice, "  start     = \"2 s\"", `  meet {
    with   = "steady"
    mine   = "note 7"
    theirs = "note 11"
  }`, 1)
	want := "note 7 of swaying falls on note 11 of steady by construction: it is put there"
	if got := planned(t, text).Pairs[0].Reason; !strings.Contains(got, want) {
		t.Errorf("%s lacks %s", got, want)
	}
	later := strings.Replace(text, "note 11\"", "note 11\"\n    later  = \"90 ms\"", 1)
	if got := planned(t, later).Pairs[0].Reason; strings.Contains(got, "by construction") {
		t.Error(got)
	}
}

// A voice of a canon that enters later than the meeting point says is named with it: only the
// others are there. Nothing is advised to make it sound.
func TestLaterInCanon(t *testing.T) {
	p := planned(t, `tune "s" {
  talea  = "3 2 2"
  color  = "C4 D4"
  extent = "20 notes"
}
canon "k" {
  subject = "s"
  meet    = "2/3"
  speeds  = "1 : sqrt(2)"
  voice "a" {
    later = "1/2 s"
  }
  voice "b" {}
}
`)
	if c := p.Canons[0]; len(c.Later) != 1 || c.Later[0] != "a 1/2 s later" || p.Pairs[0].Nearest != "" {
		t.Errorf("%+v, %q", c, p.Pairs[0].Nearest)
	}
	var out bytes.Buffer
	if err := plan.WriteBrief(&out, p, "", ""); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), "; but a 1/2 s later") {
		t.Error(out.String())
	}
}
