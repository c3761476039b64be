package loudness

import (
	"math"
	"testing"
)

// sine is n frames of a sine at hz and a peak in dB above full scale.
func sine(rate, n int, hz, db, phase float64) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/float64(rate)+phase))
	}
	return x
}

func measure(t *testing.T, rate int, left, right []float32) Record {
	t.Helper()
	m, err := NewMeter(rate)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(left); i += 5000 {
		j := min(i+5000, len(left))
		var r []float32
		if right != nil {
			r = right[i:j]
		}
		m.Write(left[i:j], r)
	}
	return m.Record()
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.4f, wanted %.4f +- %.2g", what, got, want, tolerance)
	}
}

// ITU-R BS.1770-5, Annex 1: a 0 dBFS sine of 997 Hz in the left, right or centre
// channel alone reads -3.01 LKFS.
func TestOneChannelAtFullScale(t *testing.T) {
	for _, rate := range []int{48000, 44100} {
		x := sine(rate, 5*rate, 997, 0, 0)
		r := measure(t, rate, x, make([]float32, len(x)))
		near(t, "left", r.Integrated(), -3.01, 0.01)
		r = measure(t, rate, make([]float32, len(x)), x)
		near(t, "right", r.Integrated(), -3.01, 0.01)
		r = measure(t, rate, x, nil)
		near(t, "mono", r.Integrated(), -3.01, 0.01)
	}
}

// EBU Tech 3341, tests 1 to 5 (from memory, tolerance 0.1 LU): stereo sines of 1
// kHz at levels in dBFS, seconds each.
func TestProgrammes(t *testing.T) {
	tests := []struct {
		name  string
		parts [][2]float64 // dBFS, seconds
		want  float64
	}{
		{"1", [][2]float64{{-23, 20}}, -23},
		{"2", [][2]float64{{-33, 20}}, -33},
		{"3", [][2]float64{{-36, 10}, {-23, 60}, {-36, 10}}, -23},
		{"4", [][2]float64{{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}, -23},
		{"5", [][2]float64{{-26, 20}, {-20, 20.1}, {-26, 20}}, -23},
	}
	for _, test := range tests {
		for _, rate := range []int{48000, 44100} {
			var x []float32
			for _, p := range test.parts {
				x = append(x, sine(rate, int(p[1]*float64(rate)), 1000, p[0], 0)...)
			}
			r := measure(t, rate, x, x)
			near(t, test.name, r.Integrated(), test.want, 0.1)
		}
	}
}

// The coefficients made for any rate are, at 48 kHz, those printed in BS.1770
// Annex 1, tables 1 and 2.
func TestCoefficients(t *testing.T) {
	shelf, pass := weighting(48000)
	for _, pair := range [][2]biquad{{shelf, shelfAt(48000)}, {pass, passAt(48000)}} {
		want, got := pair[0], pair[1]
		near(t, "b0", got.b0, want.b0, 1e-8)
		near(t, "b1", got.b1, want.b1, 1e-8)
		near(t, "b2", got.b2, want.b2, 1e-8)
		near(t, "a1", got.a1, want.a1, 1e-8)
		near(t, "a2", got.a2, want.a2, 1e-8)
	}
}

// A sine at a quarter of the sample rate, an eighth of a turn off, is sampled at
// 0.707 of its peak: samples read -3.01 dB, the true peak 0 (EBU Tech 3341, tests
// 15 to 18, from memory, allow +0.2 and -0.4 dB).
func TestTruePeakBetweenSamples(t *testing.T) {
	for _, phase := range []float64{0, math.Pi / 4, math.Pi / 3, 1} {
		for _, share := range []float64{1.0 / 4, 1.0 / 6, 1.0 / 8, 0.4, 0.0123} {
			// Between two of four readings a sample a sine falls to cos(pi*share/4).
			low := -DB(math.Cos(math.Pi * share / 4))
			x := sine(48000, 48000, 48000*share, -6, phase)
			for i := range 2000 { // without the click of a sudden start
				x[i] *= float32(i) / 2000
				x[len(x)-1-i] *= float32(i) / 2000
			}
			r := measure(t, 48000, x, x)
			if got := DB(r.TruePeak()); got > -6+0.15 || got < -6-low-0.1 {
				t.Errorf("%.4f of the rate, phase %.2f: true peak %.3f dBTP, wanted -6, at most %.2f low", share, phase, got, low)
			}
		}
	}
}

// However the frames are cut, the record is the same.
func TestPiecesDoNotMatter(t *testing.T) {
	x := sine(48000, 200001, 441, -3, 0)
	whole := measure(t, 48000, x, nil)
	m, _ := NewMeter(48000)
	for i, n := 0, 1; i < len(x); i, n = i+n, n*3%7919+1 {
		m.Write(x[i:min(i+n, len(x))], nil)
	}
	cut := m.Record()
	if whole.Frames != cut.Frames || whole.TruePeak() != cut.TruePeak() || whole.Integrated() != cut.Integrated() {
		t.Errorf("whole %d %v %v, cut %d %v %v", whole.Frames, whole.TruePeak(), whole.Integrated(), cut.Frames,
			cut.TruePeak(), cut.Integrated())
	}
}

// An impulse at the very end is found too.
func TestLastSample(t *testing.T) {
	x := make([]float32, 48000)
	x[len(x)-1] = 0.5
	r := measure(t, 48000, x, nil)
	near(t, "peak", r.TruePeak(), 0.5, 1e-6)
}

func TestSilence(t *testing.T) {
	r := measure(t, 48000, make([]float32, 96000), nil)
	if got := r.Integrated(); !math.IsInf(got, -1) {
		t.Errorf("silence reads %v", got)
	}
	if got := r.TruePeak(); got != 0 {
		t.Errorf("silence peaks at %v", got)
	}
}

func TestBadRate(t *testing.T) {
	if _, err := NewMeter(0); err == nil {
		t.Error("a rate of 0 was taken")
	}
}

// A minute of stereo at 48 kHz.
func BenchmarkMeter(b *testing.B) {
	x := sine(48000, 60*48000, 997, -3, 0)
	for b.Loop() {
		m, _ := NewMeter(48000)
		m.Write(x, x)
		m.Record()
	}
	b.ReportMetric(60*float64(b.N)/b.Elapsed().Seconds(), "xrealtime")
}

func BenchmarkAnalyse(b *testing.B) {
	x := sine(48000, RunFrames(48000), 997, -3, 0)
	b.SetBytes(int64(len(x)) * 8)
	for b.Loop() {
		before, now := [2][]float32{x[:runUp(48000)], x[:runUp(48000)]}, [2][]float32{x, x}
		a := Analyse(48000, before, now)
		a.Between(before, now, a.Highest()/2)
	}
}
