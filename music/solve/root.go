package solve

import (
	"math"
	"math/big"

	"rollwright/exact"
)

// Function is what one unknown does: the number that has to become 0. It is
// asked for fractions of 64 bits only. False says that it is not defined there.
type Function interface {
	// Near is the number, roughly: to some 12 digits.
	Near(x float64) (float64, bool)
	// At is the number to Prec bits.
	At(x exact.Rat) (*big.Float, bool)
}

// Roots are the numbers that make a function 0.
type Roots struct {
	Found   []*big.Float // ascending; each right to some 2^-100 of itself
	Nearest float64      // where the function comes nearest to 0
	Rest    float64      // what it is there
	Flat    bool         // it is the same everywhere
}

// perDecade is how finely a function is looked at.
const perDecade = 48

// Find looks for the roots of f from low to high, both more than 0, on a
// logarithmic scale: where it changes its sign, and where it comes down to 0
// and turns back. Two roots that are closer than a hundredth of their size are
// told apart only where the function turns between them.
func Find(f Function, low, high float64) Roots {
	n := int(math.Ceil(math.Log10(high/low) * perDecade))
	points := make([]sample, 0, n+1)
	for i := range n + 1 {
		x := low * math.Pow(high/low, float64(i)/float64(n))
		if i == n {
			x = high
		}
		y, ok := f.Near(x)
		points = append(points, sample{x, y, ok && !math.IsNaN(y) && !math.IsInf(y, 0)})
	}
	s := searcher{f: f, out: Roots{Nearest: math.NaN(), Rest: math.Inf(1), Flat: true}}
	s.walk(points)
	return s.out
}

type sample struct {
	x, y float64
	ok   bool
}

type searcher struct {
	f     Function
	out   Roots
	first *sample
}

func (s *searcher) walk(points []sample) {
	for i, p := range points {
		if !p.ok {
			continue
		}
		s.note(p)
		if i == 0 || !points[i-1].ok {
			if p.y == 0 {
				s.root(p, p)
			}
			continue
		}
		before := points[i-1]
		switch {
		case p.y == 0:
			s.root(p, p)
		case before.y != 0 && (before.y < 0) != (p.y < 0):
			s.root(before, p)
		case i > 1 && points[i-2].ok && turns(points[i-2].y, before.y, p.y):
			s.turn(points[i-2], before, p)
		}
	}
}

// note keeps the sample if it is the nearest to 0 so far.
func (s *searcher) note(p sample) {
	if s.first == nil {
		s.first = &p
	}
	if math.Abs(p.y-s.first.y) > 1e-9*(1+math.Abs(p.y)) {
		s.out.Flat = false
	}
	if math.Abs(p.y) < math.Abs(s.out.Rest) {
		s.out.Nearest, s.out.Rest = p.x, p.y
	}
}

// turns reports whether the middle one of three of one sign is nearest to 0.
func turns(a, b, c float64) bool {
	return (a < 0) == (b < 0) && (b < 0) == (c < 0) && math.Abs(b) <= math.Abs(a) && math.Abs(b) < math.Abs(c)
}

// turn looks between a and c, where the function comes nearest to 0 in between,
// for a change of sign: by golden sections.
func (s *searcher) turn(a, b, c sample) {
	const golden = 0.3819660112501051 // (3 - sqrt 5)/2
	for range 60 {
		wide, from := c.x-b.x, b
		if b.x-a.x > wide {
			wide, from = a.x-b.x, b
		}
		x := from.x + golden*wide
		y, ok := s.f.Near(x)
		if !ok || x == from.x {
			return
		}
		p := sample{x, y, true}
		s.note(p)
		if y == 0 || (y < 0) != (a.y < 0) {
			s.root(a, p)
			s.root(p, c)
			return
		}
		switch {
		case math.Abs(y) < math.Abs(b.y) && x > b.x:
			a, b = b, p
		case math.Abs(y) < math.Abs(b.y):
			b, c = p, b
		case x > b.x:
			c = p
		default:
			a = p
		}
	}
}

// root refines a change of sign between two samples, and keeps it when it is no
// jump.
func (s *searcher) root(a, b sample) {
	low, high := nearRat(new(big.Float).SetFloat64(a.x), a.x), nearRat(new(big.Float).SetFloat64(b.x), b.x)
	fLow, ok1 := s.f.At(low)
	fHigh, ok2 := s.f.At(high)
	if !ok1 || !ok2 || fLow.Sign() == fHigh.Sign() && fLow.Sign() != 0 {
		return
	}
	x := refine(s.f, end{low, fLow}, end{high, fHigh})
	if x == nil {
		return
	}
	if n := len(s.out.Found); n > 0 && close(x, s.out.Found[n-1]) {
		return
	}
	s.out.Found = append(s.out.Found, x)
}

func close(x, y *big.Float) bool {
	d := newFloat().Sub(x, y)
	return d.Sign() == 0 || exponentOf(d) < exponentOf(x)-90
}

// end is one end of an interval in which a function changes its sign.
type end struct {
	x exact.Rat
	y *big.Float
}

// refine closes in on the change of sign between a and b: by secants through the
// two best points so far, and by halves where these do not help. It ends when a
// secant no longer leads away from the best point; the line through the two then
// meets 0 some 2^-90 from the root of a smooth function. It is nil at a jump.
func refine(f Function, a, b end) *big.Float {
	best := [2]end{a, b}
	for i := range mostSteps {
		switch {
		case a.y.Sign() == 0:
			return ratFloat(a.x)
		case b.y.Sign() == 0:
			return ratFloat(b.x)
		case met(a.x, b.x):
			return smooth(a, b)
		}
		guess := secant(best[0], best[1])
		outside := guess.Cmp(ratFloat(a.x)) <= 0 || guess.Cmp(ratFloat(b.x)) >= 0
		x := nearRat(guess, b.x.Float64())
		if !outside && (met(x, best[0].x) || met(x, best[1].x)) {
			if root := smooth(best[0], best[1]); root != nil {
				return root
			}
		}
		if outside || i%4 == 3 {
			guess.Add(ratFloat(a.x), ratFloat(b.x))
			x = nearRat(guess.SetMantExp(guess, -1), b.x.Float64())
		}
		if x.Cmp(a.x) <= 0 || x.Cmp(b.x) >= 0 {
			continue // the next halving leads on
		}
		y, ok := f.At(x)
		if !ok {
			return nil
		}
		p := end{x, y}
		if best = better(best, p); y.Sign() == a.y.Sign() {
			a = p
		} else {
			b = p
		}
	}
	return nil
}

// better are the two of three points that are nearest to 0, the nearest last.
func better(best [2]end, p end) [2]end {
	size := func(e end) *big.Float { return newFloat().Abs(e.y) }
	if size(best[0]).Cmp(size(best[1])) < 0 {
		best[0], best[1] = best[1], best[0]
	}
	switch {
	case size(p).Cmp(size(best[1])) < 0:
		return [2]end{best[1], p}
	case size(p).Cmp(size(best[0])) < 0:
		return [2]end{p, best[1]}
	}
	return best
}

// mostSteps is more than halving alone needs.
const mostSteps = 300

// met reports whether x and y are next to each other, as far as fractions of 64
// bits go.
func met(x, y exact.Rat) bool {
	d := newFloat().Sub(ratFloat(x), ratFloat(y))
	return d.Sign() == 0 || exponentOf(d) < exponentOf(ratFloat(y))-56
}

// smooth is where the line through two near points meets 0; nil where they are
// on the two sides of a jump.
func smooth(p, q end) *big.Float {
	if max(exponentOf(p.y), exponentOf(q.y)) > leastJump {
		return nil
	}
	return secant(p, q)
}

// leastJump is the binary exponent of what a function that does not jump stays
// below, a 2^-56 of an unknown away from its root.
const leastJump = -30

// secant is where the line through both ends meets 0.
func secant(a, b end) *big.Float {
	x, y := ratFloat(a.x), ratFloat(b.x)
	rise := newFloat().Sub(b.y, a.y)
	if rise.Sign() == 0 {
		return x
	}
	step := newFloat().Sub(y, x)
	step.Mul(step, a.y).Quo(step, rise)
	return step.Sub(x, step)
}

func ratFloat(r exact.Rat) *big.Float { return newFloat().SetRat(r.Big()) }

// nearRat is x as a fraction over a power of 2, of some 61 bits for numbers of
// the given scale: rounded to nearest.
func nearRat(x *big.Float, scale float64) exact.Rat {
	_, exp := math.Frexp(scale)
	shift := min(max(61-exp, 0), 62)
	scaled := newFloat().SetMantExp(x, shift)
	scaled.Add(scaled, big.NewFloat(0.5))
	n, _ := scaled.Int64()
	return exact.NewRat(max(n, 1), 1<<shift)
}
