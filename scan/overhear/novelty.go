package overhear

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"rollwright/sound/take"
)

// frameSec is from one frame of the spectrum to the next.
const frameSec = 0.01

// windowFrames is the length of the window, in samples: 85 to 93 ms at 11 or 12
// thousand a second, whose main lobe is 45 Hz wide.
const windowSamples = 1024

// novelty is how much each key's partials grow, frame by frame: the half-wave
// rectified difference of log spectra over 30 ms (the spectral flux of J. P. Bello
// and others, IEEE Trans. Speech Audio Proc. 13 (2005) 1035; with the logarithm of
// A. Klapuri, ICASSP 1999) summed over the partials of one key in place of all
// frequencies. Scaled to mean 0, standard deviation 1 over the take.
type novelty struct {
	frames int
	of     [128][]float32 // nil for keys that the roll does not have
}

// spectra calls each with the log spectrum of every frame of t: log(1 + |X|/floor),
// floor being the median of that bin, so that steady noise and hum count as
// little as silence. Frame i has its middle at i*frameSec.
type spectra struct {
	take  *take.Take
	fft   *fourier.FFT
	wave  []float64 // window
	buf   []float64
	coefs []complex128
	hop   float64 // samples
}

func newSpectra(t *take.Take) *spectra {
	n := windowSamples
	if t.Rate > 16_000 {
		n *= 2
	}
	s := &spectra{take: t, fft: fourier.NewFFT(n), wave: make([]float64, n), buf: make([]float64, n),
		hop: frameSec * t.Rate}
	for i := range s.wave {
		s.wave[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n))
	}
	return s
}

// frames is how many frames the take has.
func (s *spectra) frames() int { return int(float64(len(s.take.Samples)) / s.hop) }

// at fills mag with the magnitudes of frame i.
func (s *spectra) at(i int, mag []float32) {
	from := int(math.Round(float64(i)*s.hop)) - len(s.wave)/2
	for k := range s.buf {
		s.buf[k] = 0
		if j := from + k; j >= 0 && j < len(s.take.Samples) {
			s.buf[k] = float64(s.take.Samples[j]) * s.wave[k]
		}
	}
	s.coefs = s.fft.Coefficients(s.coefs, s.buf)
	for k := range mag {
		mag[k] = float32(cmplx.Abs(s.coefs[k]))
	}
}

// bins is how many bins there are.
func (s *spectra) bins() int { return len(s.wave)/2 + 1 }

// hz is the frequency of a bin's middle.
func (s *spectra) hz(bin float64) float64 { return bin * s.take.Rate / float64(len(s.wave)) }

// floors is the magnitude of every bin that a share of the take's frames stays
// below, and no less than a share of the loudest, so that digital silence has a
// floor too.
func (s *spectra) floors(share float64) []float32 {
	const looked = 300
	frames := s.frames()
	n := min(looked, frames)
	rows := make([][]float32, s.bins())
	mag := make([]float32, s.bins())
	for i := range n {
		s.at(i*frames/n, mag)
		for k, m := range mag {
			rows[k] = append(rows[k], m)
		}
	}
	floor, most := make([]float32, s.bins()), float32(0)
	for k, row := range rows {
		slices.Sort(row)
		if n > 0 {
			floor[k], most = row[int(share*float64(n))], max(most, row[n-1])
		}
	}
	for k := range floor {
		floor[k] = max(floor[k], most*1e-4, 1e-9)
	}
	return floor
}

// newNovelty listens to the keys that are in use.
func newNovelty(t *take.Take, b *bank, used *[128]bool) *novelty {
	s := newSpectra(t)
	floor := s.floors(0.5)
	n := &novelty{frames: s.frames()}
	var places [128][]int
	for key := range used {
		if !used[key] {
			continue
		}
		n.of[key] = make([]float32, n.frames)
		for _, p := range b[key][:min(noveltyOf, len(b[key]))] {
			places[key] = append(places[key], int(math.Round(p.hz/s.hz(1))))
		}
	}
	const back = 3
	var past [back + 1][]float32
	mag := make([]float32, s.bins())
	for i := range n.frames {
		s.at(i, mag)
		now := past[back]
		copy(past[1:], past[:back])
		if now == nil {
			now = make([]float32, s.bins())
		}
		for k, m := range mag {
			now[k] = float32(math.Log1p(float64(m / floor[k])))
		}
		past[0] = now
		if old := past[back]; old != nil && i >= back {
			n.frame(i-back/2, now, old, &places)
		}
	}
	for key := range n.of {
		standard(n.of[key])
	}
	return n
}

// frame is the growth from old to now, around frame i.
func (n *novelty) frame(i int, now, old []float32, places *[128][]int) {
	for key, at := range places {
		if len(at) == 0 {
			continue
		}
		sum := float32(0)
		for _, k := range at {
			sum += max(0, peak(now, k)-peak(old, k))
		}
		n.of[key][i] = sum / float32(len(at))
	}
}

// peak is the largest of three bins.
func peak(x []float32, k int) float32 {
	return max(x[max(k-1, 0)], x[k], x[min(k+1, len(x)-1)])
}

// standard shifts and scales x to mean 0 and standard deviation 1.
func standard(x []float32) {
	if len(x) == 0 {
		return
	}
	var sum, squares float64
	for _, v := range x {
		sum += float64(v)
		squares += float64(v) * float64(v)
	}
	mean := sum / float64(len(x))
	dev := math.Sqrt(max(squares/float64(len(x))-mean*mean, 0))
	if dev < 1e-9 {
		clear(x)
		return
	}
	for i := range x {
		x[i] = float32((float64(x[i]) - mean) / dev)
	}
}
