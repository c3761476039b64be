package bench_test

import (
	"math"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/paper/instrument"
)

// Two hours of 400 punches each are 800 punches; one more begins a third
// sitting of one hour.
func TestEstimate(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"a\" {\n  talea = \"4\"\n  color = \"C4\"\n  hold = \"single\"\n  extent = \"801 notes\"\n}\n")[0]
	pl := plan(t, r, profile(t, "pace {\n  session = \"60 min\"\n}\n"))
	e := pl.Estimate(bench.Pace{})
	if !e.Assumed || e.Punches != 801 || e.Rows != 801 || e.Pace.Text() != "5 s a stroke and 4 s a row" || e.Sessions != 3 ||
		math.Abs(e.WorkSec-801*9) > 1e-9 {
		t.Errorf("assumed pace: %+v", e)
	}
	if e := pl.Estimate(bench.Pace{StrokeSec: 3, RowSec: 1.5}); e.Assumed || e.Sessions != 2 || e.WorkSec != 801*4.5 {
		t.Errorf("known pace: %+v", e)
	}
	// The last punch, at 20.32*800 + 0.8636 = 16256.8636 mm, is 8128.45 turns on a
	// dial of tenths. The written end, 801 notes of 0.5 s at 40.64 mm/s, is at 16276.32.
	if math.Abs(e.Turns-8128.45) > 1e-9 {
		t.Errorf("%g turns", e.Turns)
	}
	if want := 1200 + r.MusicMM() + 500; math.Abs(e.PaperMM-want) > 1e-9 || e.LeaderMM != 1200 || e.TrailerMM != 500 {
		t.Errorf("paper %+v, want %g in all", e, want)
	}
}

// A measured spool: empty circumference 5.25 in, growth 0.00289 in a turn; after
// 52 turns 24.8 ft are wound and the circumference is 6.2 in (B. Jelen,
// Mechanical Music Digest 1995.06.13.02; 5.25 + 52*2*pi*0.00289 = 6.194 in and
// 52*(5.25 + 6.194)/2/12 = 24.796 ft by arithmetic).
func TestWound(t *testing.T) {
	across, turns := bench.Wound(instrument.Transport{}, 24.796*304.8)
	if math.Abs(turns-52) > 0.02 || math.Abs(across*math.Pi/25.4-6.194) > 0.001 {
		t.Errorf("%g turns, circumference %g in", turns, across*math.Pi/25.4)
	}
	// A spool of 2.00 in, paper of 0.0027 in: 378.76 ft make 4.43 in in 450 turns
	// (inputs Mechanical Music Digest 1996.12.17.08, results by arithmetic).
	across, turns = bench.Wound(instrument.Transport{Spool: true, RadiusMM: 25.4, ThicknessMM: 0.0027 * 25.4},
		378.76*304.8)
	if math.Abs(turns-450) > 0.01 || math.Abs(across/25.4-4.43) > 0.0001 {
		t.Errorf("%g turns, %g in across", turns, across/25.4)
	}
}
