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
// exchanged tempos. So each formula can be measured from the end at which it
// adds positive numbers, where nothing cancels, however large the change: from
// the slow end for seconds, from the slow or the fast one for units. K, 1 or
// more, is the fast tempo over the slow one.
type span struct {
	start, end corner
	slowing    bool // the slow end is the end
	shape      Shape
	length     float64 // units
	slow, fast float64 // seconds per unit at the slow and the fast end
	ln, less   float64 // ln K and K - 1, both relatively precise near K = 1; 0 when the tempo is constant
}

func newSpan(l Leg, start, end bound, unit exact.Rat, speed exact.Real) span {
	s := span{start: newCorner(start), end: newCorner(end), shape: l.Shape}
	s.length, _ = new(big.Float).Sub(end.units, start.units).Float64()
	slow, fast := l.From, l.To
	if s.slowing = fast.Cmp(slow) < 0; s.slowing {
		slow, fast = fast, slow
	}
	s.slow = secondsPerUnit(slow, unit, speed).Float64()
	s.fast = secondsPerUnit(fast, unit, speed).Float64()
	if k := fast.Quo(slow); !l.steady() {
		bits := boundBits + lostBits(k)
		s.ln, _ = exact.Ln(k.Float(bits), 64).Float64()
		less := k.Float(bits)
		s.less, _ = less.Sub(less, number(1, bits)).Float64()
	}
	return s
}

// shares are the shares of the units of the span before and after a place, each
// as precise as it can be, limited to 0 to 1.
func (s *span) shares(units float64) (fromStart, fromEnd float64) {
	fromStart = clamp(s.start.unitsSince(units) / s.length)
	fromEnd = clamp(-s.end.unitsSince(units) / s.length)
	return fromStart, fromEnd
}

func clamp(x float64) float64 { return min(max(x, 0), 1) }

func (s *span) seconds(units float64) float64 {
	fromStart, fromEnd := s.shares(units)
	if s.slowing {
		return s.end.sec.hi + (s.end.sec.lo - s.length*s.slow*s.timeFromSlow(fromEnd))
	}
	return s.start.sec.hi + (s.start.sec.lo + s.length*s.slow*s.timeFromSlow(fromStart))
}

// timeFromSlow is the time from the slow end over a share v of the units, in
// what the span would take at the slow tempo.
func (s *span) timeFromSlow(v float64) float64 {
	switch {
	case s.less == 0:
		return v
	case s.shape == Geometric: // (1 - K^-v) / ln K
		return -math.Expm1(-s.ln*v) / s.ln
	case s.shape == PerUnit: // ln(1 + (K-1) v) / (K-1)
		return math.Log1p(s.less*v) / s.less
	}
	return s.shareOfTime(v) * 2 / (s.less + 2)
}

// shareOfTime is x = t/D in (K-1) x^2 + 2 x = (K+1) v, for PerSecond.
func (s *span) shareOfTime(v float64) float64 {
	c := (s.less + 2) * v
	return c / (1 + math.Sqrt(1+s.less*c))
}

func (s *span) units(seconds float64) float64 {
	sinceStart := max(s.start.secondsSince(seconds), 0)
	untilEnd := max(-s.end.secondsSince(seconds), 0)
	fromSlow, fromFast := sinceStart, untilEnd
	if s.slowing {
		fromSlow, fromFast = untilEnd, sinceStart
	}
	measuredFromSlow, v := true, 0.0
	switch {
	case s.less == 0:
		v = fromSlow / (s.length * s.slow)
	case s.shape == Geometric: // from the fast end t = (K^w - 1) / ln K
		measuredFromSlow = false
		v = math.Log1p(s.ln*fromFast/(s.length*s.fast)) / s.ln
	case s.shape == PerUnit:
		v = math.Expm1(s.less*fromSlow/(s.length*s.slow)) / s.less
	default:
		x := fromSlow * (s.less + 2) / (2 * s.length * s.slow)
		v = x * (2 + s.less*x) / (s.less + 2)
	}
	if measuredFromSlow == s.slowing {
		return s.end.unit.hi + (s.end.unit.lo - s.length*clamp(v))
	}
	return s.start.unit.hi + (s.start.unit.lo + s.length*clamp(v))
}

func (s *span) secondsPerUnit(units float64) float64 {
	fromSlow, fromEnd := s.shares(units)
	if s.slowing {
		fromSlow = fromEnd
	}
	switch s.shape {
	case Geometric:
		return s.slow * math.Exp(-s.ln*fromSlow)
	case PerUnit:
		return s.slow / (1 + s.less*fromSlow)
	}
	return s.slow / (1 + s.less*s.shareOfTime(fromSlow))
}
