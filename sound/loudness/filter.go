package loudness

import (
	"math"
	"math/cmplx"
)

// A biquad is y = b0 x + b1 x' + b2 x” - a1 y' - a2 y”.
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// weighting is the two filters of Annex 1, a shelf for the head and a high-pass,
// at a sample rate. At 48 kHz they are the standard's own coefficients; the
// analogue parameters that reproduce them there to 1e-8 are from memory (they
// are widely used) and tested against the standard's.
func weighting(rate int) (shelf, pass biquad) {
	if rate == 48000 {
		return biquad{1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585},
			biquad{1, -2, 1, -1.99004745483398, 0.99007225036621}
	}
	return shelfAt(rate), passAt(rate)
}

func shelfAt(rate int) biquad {
	const (
		hz     = 1681.974450955533
		gainDB = 3.999843853973347
		q      = 0.7071752369554196
	)
	k := math.Tan(math.Pi * hz / float64(rate))
	vh := math.Pow(10, gainDB/20)
	vb := math.Pow(vh, 0.4996667741545416)
	a0 := 1 + k/q + k*k
	return biquad{
		(vh + vb*k/q + k*k) / a0, 2 * (k*k - vh) / a0, (vh - vb*k/q + k*k) / a0,
		2 * (k*k - 1) / a0, (1 - k/q + k*k) / a0}
}

func passAt(rate int) biquad {
	const (
		hz = 38.13547087602444
		q  = 0.5003270373238773
	)
	k := math.Tan(math.Pi * hz / float64(rate))
	a0 := 1 + k/q + k*k
	return biquad{1, -2, 1, 2 * (k*k - 1) / a0, (1 - k/q + k*k) / a0}
}

// Weight is by how much the weighting of Annex 1 raises the power of a sine, at 48 kHz.
func Weight(hz float64) float64 {
	s, p := weighting(48000)
	z := cmplx.Exp(complex(0, -2*math.Pi*hz/48000))
	w := 1.0
	for _, q := range []biquad{s, p} {
		over := complex(q.b0, 0) + complex(q.b1, 0)*z + complex(q.b2, 0)*z*z
		under := 1 + complex(q.a1, 0)*z + complex(q.a2, 0)*z*z
		w *= real(over*cmplx.Conj(over)) / real(under*cmplx.Conj(under))
	}
	return w
}

// A chain is the state of both filters in one channel, transposed direct form. step
// takes for granted that the high-pass is 1, -2, 1 above. Its brackets shorten the
// way from one frame to the next.
type chain struct{ s1, s2, p1, p2 float64 }

func (c *chain) step(s, p *biquad, in float64) float64 {
	y := s.b0*in + c.s1
	c.s1 = (s.b1*in + c.s2) - s.a1*y
	c.s2 = s.b2*in - s.a2*y
	z := y + c.p1
	c.p1 = (c.p2 - 2*y) - p.a1*z
	c.p2 = y - p.a2*z
	return z
}

// weigh runs both filters over one or two channels, beginning at rest before
// prev, and sums the squares of what follows it, slice by slice, into energy. Two
// channels at a time cost hardly more than one: each waits for itself.
func weigh(rate int, prev, now [2][]float32, energy []float32) {
	s, p := weighting(rate)
	size := SliceFrames(rate)
	var l, r chain
	if now[1] == nil {
		for _, v := range prev[0] {
			l.step(&s, &p, float64(v))
		}
		for slice := range energy {
			sum := 0.0
			for _, v := range now[0][slice*size : min((slice+1)*size, len(now[0]))] {
				a := l.step(&s, &p, float64(v))
				sum += a * a
			}
			energy[slice] = float32(sum)
		}
		return
	}
	y := prev[1][:len(prev[0])]
	for i, v := range prev[0] {
		l.step(&s, &p, float64(v))
		r.step(&s, &p, float64(y[i]))
	}
	for slice := range energy {
		from, to := slice*size, min((slice+1)*size, len(now[0]))
		x, y := now[0][from:to], now[1][from:to]
		sum := 0.0
		for i, v := range x {
			a, b := l.step(&s, &p, float64(v)), r.step(&s, &p, float64(y[i]))
			sum += a*a + b*b
		}
		energy[slice] = float32(sum)
	}
}
