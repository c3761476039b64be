package exact

import (
	"cmp"
	"math"
	"math/big"
	"slices"
	"strings"
)

// Sum is a sum of rational multiples of Reals, such as 3/2 + 5*sqrt(2). The
// zero value is 0. A Sum is immutable.
//
// It is kept as terms with different reduced roots: powers of primes from 0
// up to 1, whole powers of phi written out as (L + F sqrt 5)/2 with Lucas and
// Fibonacci numbers. Such roots are linearly independent over the fractions,
// so a Sum with a term in it is not 0:
//
//   - roots of primes: A. S. Besicovitch, J. London Math. Soc. 15 (1940) 3-6;
//   - with broken powers of phi among them: L. J. Mordell, Pacific J. Math. 3
//     (1953) 625-630 (from memory), over the field of sqrt 5, which contains
//     no product of such a power with a root but the trivial one;
//   - times different powers of pi, or of e: those are independent over all
//     algebraic numbers, because pi, and e, is transcendental.
//
// Only where powers of pi and of e both differ between terms nothing is
// proved, and the answers are numerical.
type Sum struct {
	terms []Term // ascending roots, no coefficient 0
}

// Term is one term of a Sum, Coef * Root.
type Term struct {
	Coef *big.Rat // not 0
	Root Real     // reduced; 1 for the rational term
}

// SumOf is x as a Sum.
func SumOf(x Real) Sum { return Sum{reducedTerms(big.NewRat(1, 1), x)} }

// SumRat is x as a Sum.
func SumRat(x *big.Rat) Sum {
	if x.Sign() == 0 {
		return Sum{}
	}
	return Sum{[]Term{{new(big.Rat).Set(x), Real{}}}}
}

// Limits of what is written out; a Real beyond them stays one term, and the
// roots are then not known to be independent.
const (
	maxReducedBits = 1 << 16
	maxPhiPower    = 1 << 14
)

// reducedTerms is coef * x as one term, or two when a whole power of phi is in x.
func reducedTerms(coef *big.Rat, x Real) []Term {
	phiWhole, phiFraction := x.exponentOf(basePhi).split()
	if x.log2Sum() > maxReducedBits || phiWhole.CmpAbs(big.NewInt(maxPhiPower)) > 0 {
		return []Term{{coef, x}}
	}
	rational, root := Real{}, Real{}
	for _, f := range x.factors {
		whole, fraction := f.exp.split()
		switch {
		case f.base == basePhi:
			fraction = phiFraction
		case f.base > basePhi:
			fraction = f.exp
		case whole.Sign() != 0:
			rational.factors = append(rational.factors, factorPower{f.base, fromBigRat(new(big.Rat).SetInt(whole))})
		}
		if fraction.sign() != 0 {
			root.factors = append(root.factors, factorPower{f.base, fraction})
		}
	}
	r, ok := rational.Rat()
	if !ok {
		return []Term{{coef, x}}
	}
	coef = r.Mul(r, coef)
	if phiWhole.Sign() == 0 {
		return []Term{{coef, root}}
	}
	lucas, fibonacci := lucasFibonacci(int(phiWhole.Int64()))
	terms := reducedTerms(halve(fibonacci.Mul(fibonacci, coef)), root.Mul(sqrt5))
	terms = append(terms, Term{halve(lucas.Mul(lucas, coef)), root})
	slices.SortFunc(terms, compareRoots)
	return terms
}

// compareRoots orders terms by their roots: 1 first, then by the smallest
// bases and their powers. The order has no further meaning.
func compareRoots(a, b Term) int {
	return slices.CompareFunc(a.Root.factors, b.Root.factors, func(f, g factorPower) int {
		if f.base != g.base {
			return cmp.Compare(f.base, g.base)
		}
		return f.exp.cmp(g.exp)
	})
}

// Add is s + t.
func (s Sum) Add(t Sum) Sum {
	if len(s.terms) == 0 {
		return t
	}
	terms := make([]Term, 0, len(s.terms)+len(t.terms))
	i, j := 0, 0
	for i < len(s.terms) && j < len(t.terms) {
		switch c := compareRoots(s.terms[i], t.terms[j]); {
		case c < 0:
			terms = append(terms, s.terms[i])
			i++
		case c > 0:
			terms = append(terms, t.terms[j])
			j++
		default:
			if sum := new(big.Rat).Add(s.terms[i].Coef, t.terms[j].Coef); sum.Sign() != 0 {
				terms = append(terms, Term{sum, s.terms[i].Root})
			}
			i, j = i+1, j+1
		}
	}
	return Sum{append(append(terms, s.terms[i:]...), t.terms[j:]...)}
}

// Sub is s - t.
func (s Sum) Sub(t Sum) Sum { return s.Add(t.Neg()) }

// Neg is -s.
func (s Sum) Neg() Sum { return s.Scale(big.NewRat(-1, 1)) }

// Scale is s * r.
func (s Sum) Scale(r *big.Rat) Sum {
	if r.Sign() == 0 {
		return Sum{}
	}
	scaled := make([]Term, len(s.terms))
	for i, t := range s.terms {
		scaled[i] = Term{new(big.Rat).Mul(t.Coef, r), t.Root}
	}
	return Sum{scaled}
}

// MulReal is s * x.
func (s Sum) MulReal(x Real) Sum {
	product := Sum{}
	for _, t := range s.terms {
		product = product.Add(Sum{reducedTerms(new(big.Rat).Set(t.Coef), t.Root.Mul(x))})
	}
	return product
}

// Terms are the terms of s, the rational one first. They are the caller's own.
func (s Sum) Terms() []Term {
	terms := make([]Term, len(s.terms))
	for i, t := range s.terms {
		terms[i] = Term{new(big.Rat).Set(t.Coef), t.Root}
	}
	return terms
}

// independent reports whether the roots of s are proved to be linearly
// independent over the fractions.
func independent(terms []Term) bool {
	var first Real
	piDiffers, eDiffers := false, false
	for i, t := range terms {
		if !t.Root.isReduced() {
			return false
		}
		if i == 0 {
			first = t.Root
		}
		piDiffers = piDiffers || !t.Root.exponentOf(basePi).equal(first.exponentOf(basePi))
		eDiffers = eDiffers || !t.Root.exponentOf(baseE).equal(first.exponentOf(baseE))
	}
	return !piDiffers || !eDiffers
}

// isReduced reports whether all powers of primes and phi are from 0 up to 1.
func (x Real) isReduced() bool {
	for _, f := range x.factors {
		if whole, _ := f.exp.split(); f.base <= basePhi && whole.Sign() != 0 {
			return false
		}
	}
	return true
}

// IsZero says whether s is 0. Unknown is left only to sums in which powers of
// pi and powers of e differ between terms, and which vanish to MaxBits bits.
func (s Sum) IsZero() Answer {
	switch {
	case len(s.terms) == 0:
		return Yes
	case len(s.terms) == 1 || independent(s.terms) || s.Sign() != 0:
		return No
	}
	return Unknown
}

// Sign is -1, 0 or 1; 0 when s is 0, and when MaxBits bits do not settle it.
func (s Sum) Sign() int {
	switch len(s.terms) {
	case 0:
		return 0
	case 1:
		return s.terms[0].Coef.Sign()
	}
	if root := s.largestRoot(); root.beyondFloats() {
		s = s.MulReal(root.Inv())
	}
	for working := uint(96); working <= MaxBits; working *= 2 {
		value, radius := s.approximate(working)
		if new(big.Float).Abs(value).Cmp(radius) > 0 {
			return value.Sign()
		}
	}
	return 0
}

// largestRoot is the largest root of s, 1 for 0.
func (s Sum) largestRoot() Real {
	if len(s.terms) == 0 {
		return Real{}
	}
	bySize := func(t, u Term) int { return cmp.Compare(t.Root.log2(), u.Root.log2()) }
	return slices.MaxFunc(s.terms, bySize).Root
}

// beyondFloats reports whether x is too large or too small to be added up with
// others as a big.Float.
func (x Real) beyondFloats() bool { return math.Abs(x.log2()) > maxFloatLog2/2 }

// approximate is s within radius, which is 2^-working of the largest terms.
func (s Sum) approximate(working uint) (value, radius *big.Float) {
	prec := working + 8
	value, radius = newFloat(prec, 0), newFloat(64, 0)
	for _, t := range s.terms {
		term := scale(t.Root.approximate(prec).SetPrec(prec), t.Coef)
		value.Add(value, term)
		radius.Add(radius, term.Abs(term))
	}
	radius.Mul(radius, newFloat(64, float64(len(s.terms))))
	return value, radius.SetMantExp(radius, -int(working))
}

// Float is s rounded to prec bits, to nearest even; 0 when MaxBits bits beyond
// prec do not tell s from 0. Where the largest root is beyond 2^(2^29), it is
// an infinity, below the inverse of that 0.
func (s Sum) Float(prec uint) *big.Float {
	if r, ok := s.rat(); ok {
		return new(big.Float).SetPrec(prec).SetRat(r)
	}
	if root := s.largestRoot(); root.beyondFloats() {
		z := beyondFloat(prec, root.log2() > 0)
		if s.Sign() < 0 {
			z.Neg(z)
		}
		return z
	}
	for working := prec + 32; working <= prec+2*MaxBits; working *= 2 {
		value, radius := s.approximate(working)
		low := new(big.Float).SetPrec(working+16).Sub(value, radius)
		high := new(big.Float).SetPrec(working+16).Add(value, radius)
		if low.Sign() == high.Sign() && low.SetPrec(prec).Cmp(high.SetPrec(prec)) == 0 {
			return low
		}
	}
	return newFloat(prec, 0)
}

// Float64 is the float64 nearest to s, as far as Float settles it.
func (s Sum) Float64() float64 {
	if r, ok := s.rat(); ok {
		f, _ := r.Float64()
		return f
	}
	f, _ := s.Float(53).Float64()
	return f
}

// rat is s when its only term is the rational one, or none; not to be changed.
func (s Sum) rat() (*big.Rat, bool) {
	switch {
	case len(s.terms) == 0:
		return new(big.Rat), true
	case len(s.terms) == 1 && s.terms[0].Root.isOne():
		return s.terms[0].Coef, true
	}
	return nil, false
}

// Rat is s as a fraction of the caller's own. It is false when s is irrational
// or not known to be rational.
func (s Sum) Rat() (*big.Rat, bool) {
	r, ok := s.rat()
	if !ok {
		return nil, false
	}
	return new(big.Rat).Set(r), true
}

// Rational says whether s is a fraction. Unknown is left to sums in which, the
// fractions counted as terms too, powers of pi and of e both differ.
func (s Sum) Rational() Answer {
	if _, ok := s.rat(); ok {
		return Yes
	}
	if independent(append(SumRat(big.NewRat(1, 1)).terms, s.terms...)) {
		return No
	}
	return Unknown
}

// String is "3/2 + 5*sqrt(2)", the rational term first.
func (s Sum) String() string {
	if len(s.terms) == 0 {
		return "0"
	}
	var b strings.Builder
	for i, t := range s.terms {
		switch negative := t.Coef.Sign() < 0; {
		case i == 0 && negative:
			b.WriteString("-")
		case i > 0 && negative:
			b.WriteString(" - ")
		case i > 0:
			b.WriteString(" + ")
		}
		b.WriteString(t.text())
	}
	return b.String()
}

// text is the term without its sign.
func (t Term) text() string {
	coef := new(big.Rat).Abs(t.Coef).RatString()
	switch {
	case t.Root.isOne():
		return coef
	case coef == "1":
		return t.Root.String()
	}
	return coef + "*" + t.Root.String()
}

// Real is s as a Real, when it is one positive term or a positive multiple of
// a power of phi. It is false for other sums, and when the prime factors of a
// coefficient are too large to find.
func (s Sum) Real() (Real, bool) {
	coef, root := new(big.Rat), Real{}
	switch len(s.terms) {
	case 1:
		coef, root = s.terms[0].Coef, s.terms[0].Root
	case 2:
		var ok bool
		if coef, root, ok = s.phiPower(); !ok {
			return Real{}, false
		}
	}
	r, err := FromRat(coef)
	if err != nil {
		return Real{}, false
	}
	return r.Mul(root), true
}
