package overhear

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// A stroke is heard at the partials of other keys too: a tone that begins within the
// window spreads beside its own frequency, and the hammer knocks at all of them. What
// a key brings there is heard where it is struck without the other, and is learnt from
// there; without it a dead key that is always struck together with another seems to
// sound.

// brought is what the strokes of one key bring at the partials of another: power in
// decibels, one for each partial; NaN: not heard.
type brought []float64

// pairOf are two keys that are struck together: what the first brings at the second's
// partials is sought.
type pairOf struct{ from, at int }

const (
	togetherSec = 0.12 // strokes that near are heard at once
	mostBrought = 8    // strokes from which it is learnt
)

// learnBrought listens to every key at the partials of those that are struck together
// with it.
func (m *meter) learnBrought() (out [moments]map[pairOf]brought) {
	together := m.together()
	var heard [moments]map[pairOf][][]float64
	for at := range moments {
		heard[at], out[at] = map[pairOf][][]float64{}, map[pairOf]brought{}
	}
	b := newBursts(m)
	for j := range m.list {
		o := &m.list[j]
		if !o.inTake {
			continue
		}
		measured, free := false, m.free(j)
		for _, at := range together[o.key] {
			p := pairOf{o.key, at}
			for k, q := range m.bank[at] {
				if m.crowded(j, q.hz) {
					continue
				}
				if !measured {
					b.measure(o.near)
					measured = true
				}
				for w := range moments {
					if w == later && o.near+laterSec+smoothSec(q.hz)+0.016 >= free {
						continue
					}
					if heard[w][p] == nil {
						heard[w][p] = make([][]float64, len(m.bank[at]))
					}
					if x := &heard[w][p][k]; len(*x) < mostBrought {
						before, after := b.at(q.hz, w)
						*x = append(*x, decibels(max(after-before, before/10)))
					}
				}
			}
		}
	}
	for w := range moments {
		for p, all := range heard[w] {
			out[w][p] = make(brought, len(all))
			for k, x := range all {
				out[w][p][k] = median(x)
			}
		}
	}
	return out
}

// together are for each key the others that are struck at the same time.
func (m *meter) together() [128][]int {
	var seen [128][128]bool
	var out [128][]int
	for i := range m.list {
		s := &m.list[i]
		for j := i + 1; j < len(m.list) && m.list[j].near-s.near < togetherSec; j++ {
			o := &m.list[j]
			if s.key == o.key || !s.inTake || !o.inTake {
				continue
			}
			for _, p := range [2]pairOf{{s.key, o.key}, {o.key, s.key}} {
				if !seen[p.from][p.at] {
					seen[p.from][p.at] = true
					out[p.from] = append(out[p.from], p.at)
				}
			}
		}
	}
	return out
}

// bursts are the spectra just before and just after a stroke, through the three
// windows that smoothSec has.
type bursts struct {
	m       *meter
	fft     *fourier.FFT
	buf     []float64
	coefs   []complex128
	windows [3][]float64
	before  [3][]float64 // power by bin, as strengths has it
	after   [moments][3][]float64
}

// burstSecs are the windows' lengths, the longest first.
var burstSecs = [3]float64{smoothSec(0), smoothSec(500), smoothSec(1000)}

func newBursts(m *meter) *bursts {
	longest := int(burstSecs[0]*m.take.Rate) + 1
	n := 1
	for n < longest {
		n *= 2
	}
	b := &bursts{m: m, fft: fourier.NewFFT(n), buf: make([]float64, n)}
	for w, sec := range burstSecs {
		taps := int(sec * m.take.Rate)
		b.windows[w] = make([]float64, taps)
		for i := range taps {
			b.windows[w][i] = (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(taps))) / float64(taps)
		}
		b.before[w] = make([]float64, n/2+1)
		for at := range moments {
			b.after[at][w] = make([]float64, n/2+1)
		}
	}
	return b
}

// measure takes the spectra around a time, at the places at which look measures.
func (b *bursts) measure(sec float64) {
	for w, length := range burstSecs {
		b.spectrum(w, []float64{sec - length/2 - 0.008, sec - length/2 - 0.002}, b.before[w])
		b.spectrum(w, []float64{sec + length/2 + 0.002, sec + length/2 + 0.010, sec + length/2 + 0.018}, b.after[soon][w])
		b.spectrum(w, []float64{sec + length/2 + laterSec, sec + length/2 + laterSec + 0.016}, b.after[later][w])
	}
}

// spectrum is the mean power through window w around the times.
func (b *bursts) spectrum(w int, times []float64, power []float64) {
	clear(power)
	samples, window := b.m.take.Samples, b.windows[w]
	for _, sec := range times {
		clear(b.buf)
		from := int(math.Round(sec*b.m.take.Rate)) - len(window)/2
		for i, h := range window {
			if j := from + i; j >= 0 && j < len(samples) {
				b.buf[i] = h * float64(samples[j])
			}
		}
		b.coefs = b.fft.Coefficients(b.coefs, b.buf)
		for k, c := range b.coefs {
			power[k] += (real(c)*real(c) + imag(c)*imag(c)) / float64(len(times))
		}
	}
}

// at is the power before a stroke and after it, at a frequency.
func (b *bursts) at(hz float64, moment moment) (before, after float64) {
	w := 0
	for w < len(burstSecs)-1 && burstSecs[w] > smoothSec(hz) {
		w++
	}
	k := min(int(math.Round(hz*float64(len(b.buf))/b.m.take.Rate)), len(b.before[w])-1)
	floor := b.m.floor(hz)
	return max(b.before[w][k], floor*floor), b.after[moment][w][k]
}
