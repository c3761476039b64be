package overhear

import (
	"math"
	"testing"

	"rollwright/paper/instrument"
)

func close(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// TestCurve holds the curve against the instrument's own closed form, with
// build-up and slowing, and by hand without: row 4064 mm at 40.64 mm/s is heard
// 100 s after row 0.
func TestCurve(t *testing.T) {
	c := curve{begin: 2, speed: 40.64, endMM: 1}
	close(t, "by hand", c.sec(4064), 102, 1e-9)
	for _, tr := range []instrument.Transport{
		{RollTempo: 80}, {RollTempo: 80, SlowingPerMM: 3.3e-6},
		{RollTempo: 80, Spool: true, RadiusMM: 21.22, ThicknessMM: 0.0734},
		{RollTempo: 100, Spool: true, RadiusMM: 21.22, ThicknessMM: 0.1, SlowingPerMM: 3e-6},
	} {
		c := curveOf(tr, 30_000)
		for _, mm := range []float64{-300, 0, 1, 9000, 30_000} {
			close(t, "against the instrument's", c.sec(mm), tr.Sec(mm), 1e-5)
		}
	}
}

// TestSlowingSlope, by hand: without build-up the time to s is -ln(1 - k s)/(k v),
// k = slowing/end, whose slope by slowing at none is s^2/(2 v end): 10 m of 10 m
// at 40 mm/s come 125 s later for a slowing of 1, 1.25 s for one per cent.
func TestSlowingSlope(t *testing.T) {
	c := curve{speed: 40, endMM: 10_000}
	close(t, "slope", c.slowingSlope(10_000), 125, 1e-4)
}

// TestPartials, by hand: A4 and its first partials at a tuning of 1.01; none below
// 90 Hz of A0, whose fourth is 110 Hz, less what the bass is stretched.
func TestPartials(t *testing.T) {
	a4 := partialsOf(69, 1.01, 11_025)
	close(t, "A4", a4[0].hz, 444.4, 1e-6)
	if a4[1].hz <= 888.8 || a4[1].hz > 892 {
		t.Errorf("second partial of A4 at %v", a4[1].hz)
	}
	a0 := partialsOf(21, 1, 11_025)
	if a0[0].n != 4 || a0[0].hz < 109 || a0[0].hz > 110 || len(a0) != mostPartials {
		t.Errorf("A0 begins with %+v, %d of them", a0[0], len(a0))
	}
	if c8 := partialsOf(108, 1, 11_025); len(c8) != 1 || c8[0].n != 1 {
		t.Errorf("C8: %+v", c8)
	}
	if n := len(partialsOf(127, 1, 11_025)); n != 0 {
		t.Errorf("key 127 has %d partials that a take can hold", n)
	}
}
