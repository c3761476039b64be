package loudness

import (
	"math"

	"gonum.org/v1/gonum/blas/blas32"
)

// True peak: the signal at four times its rate, as Annex 2 asks, by an
// interpolator of our own: a sinc under a Kaiser window, 12 samples wide, as long
// as the one the annex prints. Four times is what limits it: a sine of a quarter
// of the sample rate is read up to 0.17 dB low, one of 0.4 up to 0.43 dB.
const (
	tapCount  = 12
	phases    = 4
	kaiserTap = 3.3
)

// taps are the weights of the phases between samples, phase 0 being the samples.
var taps = func() (t [phases][tapCount]float64) {
	for ph := 1; ph < phases; ph++ {
		sum := 0.0
		for i := range tapCount {
			x := float64(i-tapCount/2) + float64(ph)/phases
			u := x / (tapCount / 2)
			w := math.Sin(math.Pi*x) / (math.Pi * x) * Kaiser(kaiserTap, u)
			t[ph][i] = w
			sum += w
		}
		for i := range tapCount {
			t[ph][i] /= sum
		}
	}
	return t
}()

// Kaiser is the window of J. F. Kaiser (ISCAS 1974) at a place of -1 to 1, where it is least; in
// the middle it is 1. The greater beta, the narrower it is.
func Kaiser(beta, u float64) float64 { return bessel0(beta*math.Sqrt(max(0, 1-u*u))) / bessel0(beta) }

// bessel0 is the modified Bessel function I0, by its series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1; term > 1e-17*sum; k++ {
		term *= (x / 2 / float64(k)) * (x / 2 / float64(k))
		sum += term
	}
	return sum
}

// reach is how far above the samples about it a point between them can lie: the
// largest sum of magnitudes of the weights of a phase.
var reach = func() float32 {
	most := 0.0
	for _, phase := range taps {
		sum := 0.0
		for _, w := range phase {
			sum += math.Abs(w)
		}
		most = max(most, sum)
	}
	return float32(most * 1.0001)
}()

// An Analysis is what Analyse found, slice by slice.
type Analysis struct {
	rate, frames int
	energy       []float32 // sum of the squares of the weighted signal, all channels
	peak         []float32 // highest magnitude; between samples found half the interpolator late
}

// Analyse measures the loudness of a run of frames that follows others, and the
// peaks of its samples. Of what came before it looks at the last tenth of a second at
// most, so runs can be analysed in any order and at the same time. A run is whole
// slices, but for the last. A channel may be nil.
func Analyse(rate int, before, now [2][]float32) Analysis {
	n := len(now[0])
	size := SliceFrames(rate)
	a := Analysis{rate, n, make([]float32, (n+size-1)/size), make([]float32, (n+size-1)/size)}
	var prev [2][]float32
	for ch := range now {
		if now[ch] == nil {
			continue
		}
		prev[ch] = before[ch][max(0, len(before[ch])-runUp(rate)):]
		if len(before[ch]) == 0 {
			prev[ch] = make([]float32, len(before[0][max(0, len(before[0])-runUp(rate)):]))
		}
	}
	if silent(prev[0]) && silent(prev[1]) && silent(now[0]) && silent(now[1]) {
		return a
	}
	weigh(rate, prev, now, a.energy)
	for _, x := range now {
		raise(a.peak, x, size)
	}
	return a
}

// AnalysePeaks is Analyse of the peaks alone, for a run whose loudness is known. Appended to
// a Record it adds no energy.
func AnalysePeaks(rate int, now [2][]float32) Analysis {
	size := SliceFrames(rate)
	a := Analysis{rate: rate, frames: len(now[0]), peak: make([]float32, (len(now[0])+size-1)/size)}
	for _, x := range now {
		raise(a.peak, x, size)
	}
	return a
}

// Highest is the highest magnitude that was found, 1 at full scale.
func (a *Analysis) Highest() float32 {
	high := float32(0)
	for _, p := range a.peak {
		high = max(high, p)
	}
	return high
}

// Between raises the peaks to those between samples, wherever these may be above
// low. before and now are what Analyse was told. Peaks are found six frames late:
// append as many zeros at the end of all.
func (a *Analysis) Between(before, now [2][]float32, low float32) {
	for ch, x := range now {
		between(before[ch], x, SliceFrames(a.rate), low, a.peak)
	}
}

func silent(x []float32) bool {
	for _, v := range x {
		if v != 0 {
			return false
		}
	}
	return true
}

// between raises the peak of each slice to the highest magnitude between the
// samples, six frames late, where that may be above low. It works some slices
// at a time, tap by tap.
func between(prev, now []float32, size int, low float32, peak []float32) {
	block := 8 * size
	y := make([]float32, block)
	edge := make([]float32, tapCount+block)
	for at := 0; at < len(now); at += block {
		n := min(block, len(now)-at)
		x := now[max(0, at-tapCount) : at+n] // tapCount frames, then the block
		if at == 0 {
			x = edge[:tapCount+n]
			copy(x[tapCount-min(tapCount, len(prev)):], prev[max(0, len(prev)-tapCount):])
			copy(x[tapCount:], now[:n])
		}
		to := peak[at/size:]
		most := Highest(x[:tapCount]) // and that of the samples of the block itself:
		for _, p := range to[:(n+size-1)/size] {
			most = max(most, p)
		}
		if most*reach < low {
			continue
		}
		for ph := 1; ph < phases; ph++ {
			clear(y[:n])
			for i, w := range taps[ph] {
				blas32.Axpy(float32(w), vector(x[tapCount-i:][:n]), vector(y[:n]))
			}
			raise(to, y[:n], size)
		}
	}
}

// Highest is the highest magnitude in x, 0 if there is none. Magnitudes are compared by their bits: without
// a sign these are in order. Four at a time, for each comparison waits for the one
// before.
func Highest(x []float32) float32 {
	var a, b, c, d uint32
	for ; len(x) >= 4; x = x[4:] {
		a = max(a, math.Float32bits(x[0])&^(1<<31))
		b = max(b, math.Float32bits(x[1])&^(1<<31))
		c = max(c, math.Float32bits(x[2])&^(1<<31))
		d = max(d, math.Float32bits(x[3])&^(1<<31))
	}
	for _, v := range x {
		a = max(a, math.Float32bits(v)&^(1<<31))
	}
	return math.Float32frombits(max(a, b, c, d))
}

// raise lifts the peak of each slice to the highest magnitude in x.
func raise(peak, x []float32, size int) {
	for slice := 0; len(x) > 0; slice++ {
		n := min(size, len(x))
		peak[slice] = max(peak[slice], Highest(x[:n]))
		x = x[n:]
	}
}

func vector(x []float32) blas32.Vector { return blas32.Vector{N: len(x), Inc: 1, Data: x} }
