package instrument

import (
	"math"
	"strings"
	"testing"

	"rollwright/text/source"
)

// TestSlowingByHand: a motor without build-up at 40 mm/s that loses 1 % a metre:
// ds/dt = v (1 - k s), so t = -ln(1 - k s)/(k v). At 10 m it runs at 36 mm/s, and
// comes there after -ln(0.9)/(1e-5 * 40) = 263.401 s.
func TestSlowingByHand(t *testing.T) {
	s := Transport{RollTempo: 40.0 * 60 / 304.8 * 10, SlowingPerMM: 1e-5}
	near(t, "time", s.Sec(10_000), 263.40129, 1e-5)
	near(t, "speed there", s.SpeedAt(s.Sec(10_000)), 36, 1e-9)
	near(t, "back", s.AlongMM(263.40129), 10_000, 1e-3)
	near(t, "faster before 0", s.SpeedAt(s.Sec(-1000)), 40.4, 1e-9)
}

// TestSlowingByIntegration adds up ds/v(s) in small steps, by Simpson's rule,
// and holds the closed form against it; turns likewise by ds/(2 pi r(s)).
func TestSlowingByIntegration(t *testing.T) {
	for _, s := range []Transport{
		{RollTempo: 80, Spool: true, RadiusMM: 21.22, ThicknessMM: 0.0734, SlowingPerMM: 3.3e-6},
		{RollTempo: 100, Spool: true, RadiusMM: 15, ThicknessMM: 0.2, SlowingPerMM: 2e-5},
		{RollTempo: 80, Spool: true, RadiusMM: 21.22, SlowingPerMM: 2e-5},
		{RollTempo: 60, SlowingPerMM: 1e-9},
	} {
		const end, steps = 30_000.0, 3000
		width := end / steps
		slow := func(at float64) float64 { // 1/v
			return 1 / (s.SpeedMMPerSec() * math.Sqrt(1+s.growth()*at) * (1 - s.SlowingPerMM*at))
		}
		turn := func(at float64) float64 { return 1 / (2 * math.Pi * s.RadiusMM * math.Sqrt(1+s.growth()*at)) }
		sec, turns := 0.0, 0.0
		for i := range steps {
			a := float64(i) * width
			sec += width / 6 * (slow(a) + 4*slow(a+width/2) + slow(a+width))
			turns += width / 6 * (turn(a) + 4*turn(a+width/2) + turn(a+width))
		}
		near(t, "time", s.Sec(end), sec, 1e-6)
		if s.Spool {
			near(t, "turns", s.Turns(sec), turns, 1e-6)
			near(t, "radius", s.RadiusAt(sec), s.RadiusMM+s.ThicknessMM*turns, 1e-6)
		}
	}
}

// TestSlowingGoesOver: with ever less slowing the transport becomes the one
// without; and far along, where the motor has lost most, the paper still moves.
func TestSlowingGoesOver(t *testing.T) {
	plain := Transport{RollTempo: 80, Spool: true, RadiusMM: 21.22, ThicknessMM: 0.0734}
	slow := plain
	slow.SlowingPerMM = 1e-14
	for _, mm := range []float64{-500, 1, 12_000, 60_000} {
		near(t, "time", slow.Sec(mm), plain.Sec(mm), 1e-6)
	}
	slow.SlowingPerMM = 2e-5
	before := slow.Sec(40_000 - 1e-6)
	near(t, "no jump", slow.Sec(40_000+1e-6), before, 1e-6)
	if slow.Sec(1e6) < slow.Sec(9e5) || slow.SpeedAt(slow.Sec(1e6)) <= 0 {
		t.Error("the paper stands still")
	}
}

// TestSlowingInAFile: per cent a metre, 0 to 2.
func TestSlowingInAFile(t *testing.T) {
	read := func(text string) (*Instrument, error) {
		return Read(&source.File{Name: "my.instrument", Text: []byte("like = \"88-note\"\ntransport {\n  " + text + "\n}\n")},
			"")
	}
	in, err := read("slowing = 0.33")
	if err != nil || math.Abs(in.Transport.SlowingPerMM-3.3e-6) > 1e-18 {
		t.Errorf("%v, %v", in, err)
	}
	if _, err := read("slowing = 4"); err == nil || !strings.Contains(err.Error(), "it runs from 0 to 2") {
		t.Error(err)
	}
}
