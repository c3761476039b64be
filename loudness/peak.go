package loudness

import (
	"math"

	"gonum.org/v1/gonum/blas/blas32"
)

// True peak: the signal at four times its rate, as Annex 2 asks, by an
// interpolator of our own: a sinc under a Kaiser window, 16 samples wide (the
// annex prints one of 12). Four times is what limits it: a sine of a quarter of
// the sample rate is read up to 0.17 dB low, one of 0.4 up to 0.43 dB.
const (
	tapCount  = 16
	phases    = 4
	kaiserTap = 4.0
)

// taps are the weights of the phases between samples, phase 0 being the samples.
var taps = func() (t [phases][tapCount]float64) {
	for ph := 1; ph < phases; ph++ {
		sum := 0.0
		for i := range tapCount {
			x := float64(i-tapCount/2) + float64(ph)/phases
			u := x / (tapCount / 2)
			w := math.Sin(math.Pi*x) / (math.Pi * x) * bessel0(kaiserTap*math.Sqrt(max(0, 1-u*u))) / bessel0(kaiserTap)
			t[ph][i] = w
			sum += w
		}
		for i := range tapCount {
			t[ph][i] /= sum
		}
	}
	return t
}()

// bessel0 is the modified Bessel function I0, by its series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-17*sum; k++ {
		term *= (x / 2 / float64(k)) * (x / 2 / float64(k))
		sum += term
	}
	return sum
}

// An Analysis is what Analyse found, slice by slice.
type Analysis struct {
	frames int
	energy []float32 // sum of the squares of the weighted signal, all channels
	peak   []float32 // highest magnitude, found half the interpolator late
}

// Analyse measures a run of frames that follows others. Of what came before it
// looks at the last 8,192 frames at most, so runs can be analysed in any order
// and at the same time. A run is whole slices, but for the last. A channel may be nil. Peaks are found eight frames late:
// append as many zeros at the end of all.
func Analyse(rate int, before, now [2][]float32) Analysis {
	n := len(now[0])
	slices := (n + SliceFrames(rate) - 1) / SliceFrames(rate)
	a := Analysis{n, make([]float32, slices), make([]float32, slices)}
	skip := 0
	var x [2][]float32
	for ch := range now {
		if now[ch] == nil {
			continue
		}
		prev := before[ch]
		prev = prev[max(0, len(prev)-runUp):]
		skip = len(prev)
		if len(prev) == 0 {
			x[ch] = now[ch]
		} else {
			x[ch] = append(append(make([]float32, 0, len(prev)+n), prev...), now[ch]...)
		}
	}
	if silent(x[0]) && silent(x[1]) {
		return a
	}
	weigh(rate, x[0], x[1], skip, a.energy)
	for _, ch := range x {
		if ch != nil {
			peaks(ch, skip, SliceFrames(rate), a.peak)
		}
	}
	return a
}

func silent(x []float32) bool {
	for _, v := range x {
		if v != 0 {
			return false
		}
	}
	return true
}

// peaks raises the peak of each slice to the highest magnitude of x, at and
// between the samples, eight frames late. It works block by block, tap by tap.
func peaks(x []float32, skip, size int, peak []float32) {
	if skip < tapCount {
		x = append(make([]float32, tapCount, tapCount+len(x)), x...)
		skip += tapCount
	}
	block := 32 * size
	y := make([]float32, block)
	for at := skip; at < len(x); at += block {
		n := min(block, len(x)-at)
		to := peak[(at-skip)/size:]
		raise(to, x[at-tapCount/2:][:n], size)
		for ph := 1; ph < phases; ph++ {
			clear(y[:n])
			for i, w := range taps[ph] {
				blas32.Axpy(float32(w), vector(x[at-i:][:n]), vector(y[:n]))
			}
			raise(to, y[:n], size)
		}
	}
}

// raise compares magnitudes by their bits: without a sign these are in order.
func raise(peak, x []float32, size int) {
	for slice := 0; len(x) > 0; slice++ {
		n := min(size, len(x))
		high := math.Float32bits(peak[slice])
		for _, v := range x[:n] {
			high = max(high, math.Float32bits(v)&^(1<<31))
		}
		peak[slice] = math.Float32frombits(high)
		x = x[n:]
	}
}

func vector(x []float32) blas32.Vector { return blas32.Vector{N: len(x), Inc: 1, Data: x} }
