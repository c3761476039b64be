package tempo

import (
	"math"
	"math/big"

	"rollwright/exact"
)

// double is a number as the sum of two float64, the first of them the nearest.
type double struct{ hi, lo float64 }

func newDouble(x *big.Float) double {
	hi, lo := twoFloats(x)
	return double{hi, lo}
}

// corner is an end of a leg in units and seconds.
type corner struct{ unit, sec double }

func newCorner(b bound) corner { return corner{newDouble(b.units), newDouble(b.seconds)} }

// unitsSince is units less the corner's: the first difference is exact or its
// rounding small beside it, the second the rest of the corner.
func (c corner) unitsSince(units float64) float64 { return (units - c.unit.hi) - c.unit.lo }

func (c corner) secondsSince(seconds float64) float64 { return (seconds - c.sec.hi) - c.sec.lo }

// span is the inside of one leg.
//
// The law of a leg read backwards is the law of the same shape between the
// exchanged tempos. So one set of formulas serves from either rim, and each
// place is measured from the rim at which nothing cancels: the nearer one in
// units, but for a large geometric change the fast one, as soon as the tempo is
// twice the slow one.
type span struct {
	start, end rim
	shape      Shape
	length     float64 // units
	turn       float64 // up to this share of the units from the start
	turnSec    float64 // and so many seconds from it, places are measured from the start, then from the end
}

// rim is one end of a span with the change of tempo across the span as seen
// from it: k is the other end's tempo over this one's.
type rim struct {
	corner
	secondsPerUnit float64
	ln, less       float64 // ln k and k - 1, both relatively precise near k = 1; 0 when the tempo is constant
}

func newSpan(l Leg, start, end bound, unit exact.Rat, speed exact.Real) span {
	s := span{shape: l.Shape, turn: 0.5}
	s.start = newRim(start, l.From, l.To, unit, speed)
	s.end = newRim(end, l.To, l.From, unit, speed)
	s.length, _ = new(big.Float).Sub(end.units, start.units).Float64()
	if ln := s.start.ln; l.Shape == Geometric && math.Abs(ln) > 2*math.Ln2 {
		if s.turn = math.Ln2 / math.Abs(ln); ln < 0 {
			s.turn = 1 - s.turn
		}
	}
	s.turnSec = s.time(&s.start, s.turn)
	return s
}

func newRim(at bound, here, there exact.Real, unit exact.Rat, speed exact.Real) rim {
	r := rim{corner: newCorner(at), secondsPerUnit: secondsPerUnit(here, unit, speed).Float64()}
	if k := there.Quo(here); k.Cmp(exact.Real{}) != 0 {
		bits := boundBits + lostBits(k)
		less := k.Float(bits)
		r.ln, _ = exact.Ln(less, 64).Float64()
		r.less, _ = less.Sub(less, number(1, bits)).Float64()
	}
	return r
}

func clamp(x float64) float64 { return min(max(x, 0), 1) }

// near is the rim from which the place is measured, and the share of the units
// of the span between the two.
func (s *span) near(units float64) (r *rim, share float64) {
	if v := s.start.unitsSince(units) / s.length; v <= s.turn {
		return &s.start, clamp(v)
	}
	return &s.end, clamp(-s.end.unitsSince(units) / s.length)
}

func (s *span) seconds(units float64) float64 {
	r, share := s.near(units)
	elapsed := s.time(r, share)
	if r == &s.end {
		elapsed = -elapsed
	}
	return r.sec.hi + (r.sec.lo + elapsed)
}

func (s *span) units(seconds float64) float64 {
	if elapsed := max(s.start.secondsSince(seconds), 0); elapsed <= s.turnSec {
		return s.start.unit.hi + (s.start.unit.lo + s.length*s.share(&s.start, elapsed))
	}
	left := max(-s.end.secondsSince(seconds), 0)
	return s.end.unit.hi + (s.end.unit.lo - s.length*s.share(&s.end, left))
}

// time is the duration of a share v of the units, counted from r. Times are in
// what the whole span would take at the tempo of r:
//
//	Geometric  (1 - k^-v) / ln k
//	PerUnit    ln(1 + (k-1) v) / (k-1)
//	PerSecond  2x / (k+1)
func (s *span) time(r *rim, v float64) float64 {
	whole := s.length * r.secondsPerUnit
	switch {
	case r.less == 0:
		return whole * v
	case s.shape == Geometric:
		return whole * (-math.Expm1(-r.ln*v) / r.ln)
	case s.shape == PerUnit:
		return whole * (math.Log1p(r.less*v) / r.less)
	}
	return whole * (2 * r.shareOfTime(v) / (r.less + 2))
}

// share is the inverse of time.
func (s *span) share(r *rim, time float64) float64 {
	t := time / (s.length * r.secondsPerUnit)
	switch {
	case r.less == 0:
		return clamp(t)
	case s.shape == Geometric:
		return clamp(-math.Log1p(-r.ln*t) / r.ln)
	case s.shape == PerUnit:
		return clamp(math.Expm1(r.less*t) / r.less)
	}
	x := t * (r.less + 2) / 2
	return clamp(x * (2 + r.less*x) / (r.less + 2))
}

// shareOfTime is, for PerSecond, the share x of the time that goes with a share
// v of the units: (k-1) x^2 + 2 x = (k+1) v, solved without cancelling.
func (r *rim) shareOfTime(v float64) float64 {
	c := (r.less + 2) * v
	return c / (1 + math.Sqrt(1+r.less*c))
}

// slope is the seconds that a unit takes at a place.
func (s *span) slope(units float64) float64 {
	r, v := s.near(units)
	switch s.shape {
	case Geometric:
		return r.secondsPerUnit * math.Exp(-r.ln*v)
	case PerUnit:
		return r.secondsPerUnit / (1 + r.less*v)
	}
	return r.secondsPerUnit / (1 + r.less*r.shareOfTime(v))
}
