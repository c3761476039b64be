package sound

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// rendered is a note as it rings undamped, strings and body, so many segments.
func rendered(t testing.TB, key int, h Hammers, dry float64, level, segments int) []float64 {
	t.Helper()
	tb := timbre{hammers: h, dry: dry, rate: testRate}
	c := courseOf(t, key)
	sp := tb.spectrumOf(c, tb.ringingOf(c), level)
	runs := []wanted{{sp: sp, want: extent{segments: segments}, of: 1 << 20}}
	filled(runs)
	var x []float64
	for _, seg := range runs[0].out {
		for _, v := range seg {
			x = append(x, float64(v))
		}
	}
	body := make([]float32, bodyFrames)
	newBodyMaker(tb).of(body, sp)
	for i, v := range body[:min(bodyFrames, len(x))] {
		x[i] += float64(v)
	}
	return x
}

// filled gives runs memory and fills them.
func filled(runs []wanted) {
	for i := range runs {
		for range runs[i].want.segments - runs[i].have.segments {
			runs[i].out = append(runs[i].out, make([]float32, segmentFrames))
		}
		for range runs[i].want.low - runs[i].have.low {
			runs[i].low = append(runs[i].low, make([]float32, lowFrames))
		}
	}
	fill(runs, testRate)
}

// windowed is x under a Hann window, twice as long with silence.
func windowed(x []float64) []float64 {
	y := make([]float64, 2*len(x))
	for i, v := range x {
		y[i] = v * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x))))
	}
	return y
}

// lineNear finds the strongest line of a spectrum within 30 cents of hz, between
// bins by a parabola through the logarithms.
func lineNear(power []float64, binHz, hz float64) float64 {
	from, to := int(hz*0.983/binHz), int(hz*1.017/binHz)+1
	best := from
	for i := from; i <= to; i++ {
		if power[i] > power[best] {
			best = i
		}
	}
	a, b, c := math.Log(power[best-1]), math.Log(power[best]), math.Log(power[best+1])
	return (float64(best) + (a-c)/(2*(a-2*b+c))) * binHz
}

func powerOf(x []float64) []float64 {
	f := fourier.NewFFT(len(x))
	var p []float64
	for _, z := range f.Coefficients(nil, x) {
		p = append(p, real(z)*real(z)+imag(z)*imag(z)+1e-30)
	}
	return p
}

// The first partial of every key, found in the sound, is within half a cent of
// equal temperament (ISO 16).
func TestFundamentalsInTheSound(t *testing.T) {
	for key := LowestKey; key <= HighestKey; key++ {
		frames := 1 << 17 // 2.7 s
		if key > 80 {
			frames = 1 << 15
		}
		y := windowed(rendered(t, key, Felt, 0, 64, frames/segmentFrames+1)[2048:][:frames])
		hz := lineNear(powerOf(y), testRate/float64(len(y)), courseOf(t, key).FirstHz)
		if off := cents(hz, courseOf(t, key).FirstHz); math.Abs(off) > 1.4 {
			t.Errorf("key %d: %.3f Hz, %.2f cents off", key, hz, off)
		}
	}
}

// Partials 1 to 10 are where the formula of a stiff string has them, n f0 sqrt(1 +
// B n^2) (H. Fletcher, JASA 36 (1964) 203), within what lies between the strings of a unison.
func TestPartialsInTheSound(t *testing.T) {
	for _, key := range []int{24, 36, 48, 60, 72, 84, 96} {
		for h := Felt; h <= Tacks; h++ {
			c := courseOf(t, key)
			y := windowed(rendered(t, key, h, 0, 96, 17)[2048:][:1<<16])
			p := powerOf(y)
			for n := 1; n <= 10 && c.PartialHz(n) < 18000; n++ {
				if math.Abs(math.Sin(float64(n)*math.Pi*c.Strike)) < 0.1 {
					continue // struck where this partial has a node
				}
				hz := lineNear(p, testRate/float64(len(y)), c.PartialHz(n))
				if off := cents(hz, c.PartialHz(n)); math.Abs(off) > 1.5 {
					t.Errorf("key %d, %v, partial %d: %.2f Hz, %.2f cents off", key, h, n, hz, off)
				}
			}
		}
	}
}

// centroid is the mean frequency, weighted with power.
func centroid(x []float64) float64 {
	y := windowed(append(make([]float64, len(x)), x...)) // the window's middle is the beginning
	sum, weight := 0.0, 0.0
	for i, p := range powerOf(y) {
		sum += p * float64(i) * testRate / float64(len(y))
		weight += p
	}
	return sum / weight
}

// Tacks are brighter than metal, metal than felt, at every key and level; and
// felt and metal are the brighter the louder.
func TestBrightness(t *testing.T) {
	for key := LowestKey; key <= HighestKey; key += 5 {
		last := [3]float64{}
		for _, level := range []int{33, 80, 126} {
			var c [3]float64
			for h := Felt; h <= Tacks; h++ {
				c[h] = centroid(rendered(t, key, h, DefaultDry, level, 4))
			}
			if !(c[Tacks] > c[Metal] && c[Metal] > c[Felt]) {
				t.Errorf("key %d at level %d: centroid of felt %.0f Hz, metal %.0f, tacks %.0f", key, level, c[Felt], c[Metal],
					c[Tacks])
			}
			if c[Felt] <= last[Felt]*0.99 || c[Metal] <= last[Metal]*0.98 {
				t.Errorf("key %d at level %d: centroids %.0f and %.0f Hz, below %.0f and %.0f", key, level, c[Felt], c[Metal],
					last[Felt], last[Metal])
			}
			last = c
		}
	}
}

// t60 is six times the time in which the sound falls by its first 10 dB. Where there
// is an after-sound the beginning is what counts (Five Lectures on the Acoustics of
// the Piano, Royal Swedish Academy of Music 1990).
func t60(x []float64) float64 {
	const window = 1024
	energy := func(from int) float64 {
		sum := 0.0
		for _, v := range x[from : from+window] {
			sum += v * v
		}
		return sum
	}
	first := energy(window)
	for at := window; at+window < len(x); at += 32 {
		if energy(at) < first/10 {
			return 6 * float64(at-window) / testRate
		}
	}
	return math.NaN()
}

// dry = 1 leaves about a sixth of the ring, less of high partials; dry = d 6^-d of it.
func TestDry(t *testing.T) {
	for _, key := range []int{36, 48, 60, 72, 84, 96} {
		wet := t60(rendered(t, key, Felt, 0, 80, 50))
		last := wet
		for _, dry := range []float64{0.25, 0.5, 0.75, 1} {
			got := t60(rendered(t, key, Felt, dry, 80, 50))
			// beats keep their time
			if want := wet * math.Pow(dryRange, -dry); !(got < last) || got > 1.6*want || got < 0.5*want {
				t.Errorf("key %d, dry %.2f: T60 %.2f s, wanted about %.2f", key, dry, got, want)
			}
			last = got
		}
	}
}

// A strip of felt takes the twelfth partial sooner than the first: by half as much again
// at least.
func TestDryTakesHighPartials(t *testing.T) {
	c := courseOf(t, 48)
	rate := func(n int, dry float64) float64 { return -real(c.strands(n, dry)[1].s) }
	if low, high := rate(1, 0.5)/rate(1, 0), rate(12, 0.5)/rate(12, 0); high < 1.3*low {
		t.Errorf("the first partial falls %.2f times as fast, the twelfth %.2f", low, high)
	}
}

// The first decay of C4 is about 8 dB a second, the later one slower (from memory:
// prompt sound 8 dB/s, after-sound 2 dB/s at mid compass; dynamics make no
// difference: T. Cheng, S. Dixon, M. Mauch, ICASSP 2015).
func TestTwoStageDecay(t *testing.T) {
	for _, level := range []int{49, 112} {
		x := rendered(t, 60, Felt, 0, level, 110)
		power := func(sec float64) float64 { // of the first partial
			from := int(sec * testRate)
			p := powerOf(windowed(x[from : from+16384]))
			return 10 * math.Log10(p[int(math.Round(EqualTemperedHz(60)*2*16384/testRate))])
		}
		first, later := power(0.1)-power(1.1), (power(5)-power(8))/3
		if first < 5 || first > 12 || later > first*0.7 {
			t.Errorf("level %d: %.1f dB/s at first, %.1f dB/s later", level, first, later)
		}
	}
}

// ringOn adds Re(c e^(st)), frame by frame.
func ringOn(x []float64, d damped) {
	turn := cmplx.Exp(d.s * complex(1.0/testRate, 0))
	for i, c := 0, d.c; i < len(x); i, c = i+1, c*turn {
		x[i] += real(c)
	}
}

// There is no seam between blow and free ring: for the first 64 frames after the
// blow the strands are what the string does on its own, to 1 % (what is left is
// the strings of the unison drifting apart).
func TestSeam(t *testing.T) {
	tb := timbre{hammers: Felt, dry: 0, rate: testRate}
	for key := LowestKey; key <= HighestKey; key += 4 {
		for h := Felt; h <= Tacks; h++ {
			c := courseOf(t, key)
			b := Strike(c, h, 3, testRate)
			force := tb.ringingOf(c).afterBlow(b, 1)
			strands := make([]float64, 64)
			for _, d := range force {
				ringOn(strands, d)
			}
			peak, worst := 0.0, 0.0
			for i := range strands {
				alone := b.bank.bridgeForce(0)
				for range oversample {
					b.bank.advance(0)
				}
				peak = math.Max(peak, math.Abs(alone))
				worst = math.Max(worst, math.Abs(alone-strands[i]))
			}
			if worst > 0.01*peak {
				t.Errorf("key %d, %v: strands differ by %.3g N from the string's %.3g N", key, h, worst, peak)
			}
		}
	}
}

// The closed form is the convolution it stands for: the sound by running the
// board's resonances over the string's force sample by sample is the same.
func TestClosedForm(t *testing.T) {
	for _, key := range []int{21, 36, 60, 84, 108} {
		for h := Felt; h <= Tacks; h++ {
			testClosedForm(t, key, h)
		}
	}
}

func testClosedForm(t *testing.T, key int, h Hammers) {
	tb := timbre{hammers: h, dry: 0, rate: testRate}
	c := courseOf(t, key)
	r := tb.ringingOf(c)
	sp := tb.spectrumOf(c, r, 80)
	voiced := sp.peak / tb.struck(c, r, 80).peak
	// Force on the bridge, by hand: the blow's, then its strands.
	b := Strike(c, h, LevelSpeed(80), testRate)
	gain := noteGain * float64(c.Strings)
	force := make([]float64, 4096)
	for i, f := range b.bridge {
		force[i] = f * gain
	}
	for _, d := range r.afterBlow(b, gain) {
		ringOn(force[len(b.bridge):], d)
	}
	heard := make([]float64, len(force))
	r.rest(force, nil, testRate, heard)
	for i := range heard {
		heard[i] *= voiced
	}
	for _, d := range sp.strings[len(r.strands):] { // the waves along the string
		ringOn(heard, d)
	}
	for _, d := range slices.Concat(sp.knock, sp.tick) {
		ringOn(heard, d)
	}
	got := rendered(t, key, h, 0, 80, 2)
	peak, worst := 0.0, 0.0
	for i := softFrames; i < 3500; i++ {
		peak = math.Max(peak, math.Abs(heard[i]))
		worst = math.Max(worst, math.Abs(got[i]-heard[i]))
	}
	// The board is stepped here with forces that are straight between frames, which
	// takes a few percent off the highest partials.
	if worst > 0.04*peak {
		t.Errorf("key %d, %v: worst difference %.3g of a peak of %.3g", key, h, worst, peak)
	}
}

// Segments are the same whatever is asked for beside them.
func TestSegmentsStandAlone(t *testing.T) {
	tb := timbre{hammers: Metal, dry: 0.5, rate: testRate}
	c := courseOf(t, 50)
	r := tb.ringingOf(c)
	a, b := tb.spectrumOf(c, r, 64), tb.spectrumOf(c, r, 112)
	together := []wanted{{sp: a, want: extent{5, 4}, of: 9}, {sp: b, want: extent{3, 5}, of: 9}}
	filled(together)
	alone := []wanted{{sp: a, have: extent{3, 3}, want: extent{5, 4}, of: 9}}
	filled(alone)
	if !slices.Equal(alone[0].low[0], together[0].low[3]) {
		t.Error("low partials of segment 3 alone are not those beside others")
	}
	for seg := range alone[0].out {
		if !slices.Equal(alone[0].out[seg], together[0].out[3+seg]) {
			t.Errorf("segment %d alone is not that beside others", 3+seg)
		}
	}
}

// Every note is of numbers, begins at once, and has no direct current.
func TestNotesAreSound(t *testing.T) {
	for key := LowestKey; key <= HighestKey; key += 2 {
		for h := Felt; h <= Tacks; h++ {
			for _, level := range []int{1, 126} {
				x := rendered(t, key, h, DefaultDry, level, 3)
				peak, mean := 0.0, 0.0
				for _, v := range x {
					peak = math.Max(peak, math.Abs(v))
				}
				for _, v := range windowed(x) {
					mean += v / float64(len(x))
				}
				what := fmt.Sprintf("key %d, %v, level %d", key, h, level)
				if !(peak > 1e-5 && peak < 4) {
					t.Errorf("%s: peak %v", what, peak)
				}
				if math.Abs(mean) > 0.01*peak {
					t.Errorf("%s: mean %.2g of a peak of %.2g", what, mean, peak)
				}
				if math.Abs(x[0]) < 1e-3*peak && math.Abs(x[1]) < 1e-3*peak {
					t.Errorf("%s: begins with %.2g, %.2g of a peak of %.2g", what, x[0], x[1], peak)
				}
			}
		}
	}
}

func BenchmarkNote(b *testing.B) {
	tb := timbre{hammers: Metal, dry: DefaultDry, rate: testRate}
	for _, key := range []int{36, 60, 96} {
		b.Run(nameOfC(key), func(b *testing.B) {
			c := courseOf(b, key)
			for b.Loop() {
				r := tb.ringingOf(c)
				filled([]wanted{{sp: tb.spectrumOf(c, r, 80), want: extent{6, 6}, of: 99}})
			}
		})
	}
}
