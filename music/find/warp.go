package find

import "math"

// warp is a law of tempo: it takes seconds since a voice's first note to seconds
// at the tempo of that note, so that what was played at a moving tempo becomes
// even. It has one parameter, the logarithm of the tempo at span over that at 0.
//
// The laws are those of a tempo path (package tempo), turned round: with u units
// gone the tempo is
//
//	geometric   T0 k^(u/U), so u ~ -ln(1 - t/A) with A = span/(1 - 1/ratio)
//	per-unit    T0 (1 + b u), so u ~ exp(t/C) - 1 with C = span/ln(ratio)
//	per-second  T0 (1 + c t), so u ~ t + c t t/2 with c = (ratio - 1)/span
type warp struct {
	shape Shape
	theta float64 // ln(ratio)
	span  float64 // seconds
}

// even reports that the tempo does not move.
func (w warp) even() bool { return w.shape == Constant || math.Abs(w.theta) < 1e-9 }

// scale is A, C or c of the laws.
func (w warp) scale() float64 {
	switch w.shape {
	case Geometric:
		return w.span / -math.Expm1(-w.theta)
	case PerUnit:
		return w.span / w.theta
	}
	return math.Expm1(w.theta) / w.span
}

// forward is the even time of a time, and how fast the one runs against the
// other there, which is the tempo over that at 0.
func (w warp) forward(t float64) (even, rate float64) {
	if w.even() {
		return t, 1
	}
	s := w.scale()
	switch w.shape {
	case Geometric:
		rest := math.Max(1-t/s, 1e-12)
		return -s * math.Log(rest), 1 / rest
	case PerUnit:
		return s * math.Expm1(t/s), math.Exp(t / s)
	}
	return t + s*t*t/2, math.Max(1+s*t, 1e-12)
}

// back is the time of an even time; NaN where the tempo never gets there.
func (w warp) back(even float64) float64 {
	if w.even() {
		return even
	}
	s := w.scale()
	switch w.shape {
	case Geometric:
		return -s * math.Expm1(-even/s)
	case PerUnit:
		return s * math.Log1p(even/s)
	}
	return 2 * even / (1 + math.Sqrt(1+2*s*even))
}

// least finds the lowest value of f between low and high near the best of so
// many evenly spaced points, by golden section (J. Kiefer, Sequential minimax
// search for a maximum, Proc. Amer. Math. Soc. 4, 1953).
func least(f func(float64) float64, low, high float64, points int) (x, value float64) {
	step := (high - low) / float64(points-1)
	best := math.Inf(1)
	for i := range points {
		at := low + float64(i)*step
		if v := f(at); v < best {
			best, x = v, at
		}
	}
	const golden = 0.6180339887498949
	a, b := math.Max(low, x-step), math.Min(high, x+step)
	c, d := b-golden*(b-a), a+golden*(b-a)
	fc, fd := f(c), f(d)
	for range 60 {
		if fc <= fd {
			b, d, fd = d, c, fc
			c = b - golden*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + golden*(b-a)
			fd = f(d)
		}
		if b-a < 1e-12*(1+math.Abs(a)) {
			break
		}
	}
	if fc < best {
		best, x = fc, c
	}
	if fd < best {
		best, x = fd, d
	}
	return x, best
}
