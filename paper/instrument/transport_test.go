package instrument

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

const inch = 25.4

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func load(t testing.TB, name string) *Instrument {
	t.Helper()
	in, err := Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// TestRollTempo: seven feet a minute at 70, eight at 80 (Music Roll Standards,
// Chicago 1911); in inches a second a fiftieth of it.
func TestRollTempo(t *testing.T) {
	for tempo, want := range map[float64]float64{70: 1.4 * inch, 80: 1.6 * inch, 85: 1.7 * inch, 105: 2.1 * inch} {
		near(t, "speed", Transport{RollTempo: tempo}.SpeedMMPerSec(), want, 1e-9)
	}
	near(t, "80 in mm/s", Transport{RollTempo: 80}.SpeedMMPerSec(), 40.64, 1e-12)
	near(t, "a minute at 70", Transport{RollTempo: 70}.AlongMM(60), 7*12*inch, 1e-9)
}

// TestMeasuredSpool: B. Jelen, Mechanical Music Digest 1995.06.13.02: empty
// circumference 5.25 in, radius grows 0.00289 in a turn; after 52 turns 24.8
// ft are wound, the circumference is 6.2 in and roll tempo 70 is 82.6.
func TestMeasuredSpool(t *testing.T) {
	radius := 5.25 / (2 * math.Pi)
	s := Transport{Spool: true, RollTempo: 70, RadiusMM: radius * inch, ThicknessMM: 0.00289 * inch}
	after := 52 * 5.25 / 1.4 // 52 turns of the empty spool at 1.4 in/s; the turns are constant
	near(t, "turns", s.Turns(after), 52, 1e-9)
	near(t, "feet", s.AlongMM(after)/inch/12, 24.8, 0.05)
	near(t, "feet, as 52 turns of the mean circumference", s.AlongMM(after)/inch/12, 52*math.Pi*(2*radius+52*0.00289)/12,
		1e-9)
	near(t, "circumference", 2*math.Pi*s.RadiusAt(after)/inch, 6.2, 0.01)
	near(t, "roll tempo", s.TempoAt(after), 82.6, 0.05)
}

// TestLargeSpool: diameter 2 in, 0.0027 in a turn, a quarter turn a second for
// 30 minutes (inputs from Mechanical Music Digest 1996.12.17.08; the results
// are arithmetic): 450 turns, diameter 4.43 in, speed times 2.215, 378.76 ft,
// starting at 1.571 in/s.
func TestLargeSpool(t *testing.T) {
	speed := math.Pi / 2 // in/s: a quarter of 2 pi
	s := Transport{Spool: true, RollTempo: speed * 50, RadiusMM: inch, ThicknessMM: 0.0027 * inch}
	near(t, "start", s.SpeedMMPerSec()/inch, 1.571, 0.0005)
	near(t, "turns", s.Turns(1800), 450, 1e-9)
	near(t, "diameter", 2*s.RadiusAt(1800)/inch, 4.43, 1e-9)
	near(t, "speed-up", s.SpeedAt(1800)/s.SpeedAt(0), 2.215, 1e-9)
	near(t, "feet", s.AlongMM(1800)/inch/12, 378.76, 0.005)
}

// TestSpeedUp: by so many per cent after so many feet, from the area of the
// paper wound, D = sqrt(d^2 + 4 L h / pi) (Mechanical Music Digest
// 2019.10.27.06, with derivation), for diameter 2 in and 0.0027 in a turn and
// for circumference 5.25 in and 0.0029.
func TestSpeedUp(t *testing.T) {
	thin := Transport{Spool: true, RollTempo: 80, RadiusMM: inch, ThicknessMM: 0.0027 * inch}
	thick := Transport{Spool: true, RollTempo: 80, RadiusMM: 5.25 / (2 * math.Pi) * inch, ThicknessMM: 0.0029 * inch}
	for _, tt := range []struct {
		s             Transport
		feet, percent float64
	}{
		{thin, 1, 0.514}, {thin, 5, 2.546}, {thin, 10, 5.03}, {thin, 20, 9.83}, {thin, 25, 12.15}, {thin, 30, 14.43}, {thin, 50, 23.11}, {thin, 100, 42.53},
		{thick, 1, 0.790}, {thick, 10, 7.64}, {thick, 25, 18.18}, {thick, 50, 33.9},
	} {
		at := tt.s.Sec(tt.feet * 12 * inch)
		got := 100 * (tt.s.SpeedAt(at)/tt.s.SpeedAt(0) - 1)
		near(t, "per cent", got, tt.percent, 0.06)
		length, d := tt.feet*12*inch, 2*tt.s.RadiusMM
		near(t, "per cent by area", got, 100*(math.Sqrt(d*d+4*length*tt.s.ThicknessMM/math.Pi)/d-1), 1e-8)
	}
}

// TestRecutting: a small roll instrument, core 25.4 mm, full 41.9 mm over 58
// turns of 0.1422 mm in 150 s (Mechanical Music Digest 2002.11.10.01): it
// starts at 30.85 mm/s, and at the end a hole is cut 1.65 times as long.
func TestRecutting(t *testing.T) {
	start := math.Pi * 25.4 * 58 / 150
	s := Transport{Spool: true, RollTempo: start * 60 / 304.8 * 10, RadiusMM: 12.7, ThicknessMM: 0.1422}
	near(t, "start", start, 30.85, 0.005)
	near(t, "full", 2*s.RadiusAt(150), 41.9, 0.01)
	near(t, "ratio", s.SpeedAt(150)/s.SpeedAt(0), 41.9/25.4, 0.001)
	// 1995.06.13.02: 41 turns from 5.25 to 6.00 in
	near(t, "three turns' growth of a roll", (6.00-5.25)/(2*math.Pi)/41, 0.00291, 0.000005)
}

// TestRepetition. The standard's bridge of 0.110 in and a punch of 0.068 in
// allow 9.0 strokes a second at roll tempo 80; 12.8 a second, one punch each
// 1/8 in (D. Wilson, Mechanical Music Digest 1998.05.29.06), leave 1.45 mm.
// With the standard's shortest slot of 0.083 in: 8.29 at 80, and so on; a
// workshop quotes about 9 at 90, 12 at 120, 14 at 140 (1998.03.02.11).
func TestRepetition(t *testing.T) {
	in := load(t, "88-note")
	near(t, "strokes", in.StrokesASecond(in.Die.DiameterMM, in.Paper.BridgeMM), 9.0, 0.05)
	near(t, "paper left", in.Transport.SpeedMMPerSec()/12.8-in.Die.DiameterMM, 1.45, 0.005)
	for tempo, want := range map[float64]float64{70: 7.25, 80: 8.29, 90: 9.33, 100: 10.36, 120: 12.44, 140: 14.51} {
		in.Transport.RollTempo = tempo
		near(t, "strokes", in.StrokesASecond(0.083*inch, 0.110*inch), want, 0.005)
	}
	in = load(t, "88-note")
	// 35 ms and one punch, which is open for 1.7272/40.64 s: 1/0.0775 s.
	// The standard's bridge of 2.794 mm after a punch of 1.7272 mm, at 40.64 mm/s:
	// 40.64/4.5212 = 8.9888 strokes a second.
	clean, hold := in.Repetition()
	near(t, "repetition", clean, 8.98, 1e-9)
	near(t, "hold", hold, 0.040, 1e-9)
	near(t, "fastest", in.FastestStrokes(), 12.90, 1e-9)
	near(t, "fastest in rows", load(t, "88-note-45").FastestStrokes(), 1/(0.0775+25.4/45/40.64), 0.01)
}

// TestOpenDistance: the rule of thumb that a single hole counts as open over
// the port's height and half the hole, 0.045 + 0.068/2 = 0.079 in, is what an
// open share of 0.378 gives (R. Rhodes, Mechanical Music Digest 1997.09.13.05).
func TestOpenDistance(t *testing.T) {
	in := load(t, "88-note")
	near(t, "half uncovered", in.OpenMM(in.Die.DiameterMM), 0.068*inch, 1e-12)
	in.Bar.OpenShare = 0.378
	near(t, "0.378 uncovered", in.OpenMM(in.Die.DiameterMM)/inch, 0.079, 0.0001)
}

// TestThereAndBack: time to paper and paper to time undo each other to a
// nanosecond of paper at 40 mm/s over ten hours, before time 0 too.
func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Transport{
			Spool:       rapid.Bool().Draw(t, "spool"),
			RollTempo:   rapid.Float64Range(20, 200).Draw(t, "tempo"),
			RadiusMM:    rapid.Float64Range(5, 100).Draw(t, "radius"),
			ThicknessMM: rapid.Float64Range(0, 0.5).Draw(t, "thickness"),

			SlowingPerMM: rapid.SampledFrom([]float64{0, 0, 1e-12, 1e-7, 3e-6, 2e-5}).Draw(t, "slowing"),
		}
		sec := rapid.Float64Range(-1, 36000).Draw(t, "sec")
		if back := s.Sec(s.AlongMM(sec)); math.Abs(back-sec) > 1e-9 {
			t.Fatalf("%v comes back as %v", sec, back)
		}
	})
}

// TestLever: a paper that runs at 78.4 while the lever says 80 is two per cent
// slow, at 100 too.
func TestLever(t *testing.T) {
	slow := Transport{RollTempo: 78.4, Lever: 80}
	if got := slow.AtLever(100); math.Abs(got.RollTempo-98) > 1e-12 || got.LeverTempo() != 100 {
		t.Errorf("%+v", got)
	}
	plain := Transport{RollTempo: 80}
	if got := plain.AtLever(100); got.RollTempo != 100 || got.LeverTempo() != 100 || got.Lever != 0 {
		t.Errorf("%+v", got)
	}
}
