package exact

import (
	"cmp"
	"math/big"
	"slices"
	"strings"
)

// Sum is a sum of rational multiples of Reals, such as 3/2 + 5*sqrt(2). The
// zero value is 0. A Sum is immutable. Numerical answers need terms within the
// range of Real.Float, which is 2^(2^30).
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
	withoutRoot := new(big.Rat).Mul(coef, lucas)
	withRoot := new(big.Rat).Mul(coef, fibonacci)
	terms := []Term{{half2(withoutRoot), root}}
	terms = append(terms, reducedTerms(half2(withRoot), root.Mul(sqrt5))...)
	slices.SortFunc(terms, compareRoots)
	return terms
}

var sqrt5 = Frac(5, 1).Pow(NewRat(1, 2))

func half2(x *big.Rat) *big.Rat { return x.Mul(x, big.NewRat(1, 2)) }

// lucasFibonacci are the numbers L and F of phi^n = (L + F sqrt 5)/2, for any n.
func lucasFibonacci(n int) (lucas, fibonacci *big.Rat) {
	l, f := big.NewInt(2), big.NewInt(0)
	for range max(n, -n) { // phi * (l + f sqrt 5)/2 = ((l + 5f)/2 + (l + f)/2 sqrt 5)/2
		next := new(big.Int).Mul(f, big.NewInt(5))
		next.Add(next, l).Rsh(next, 1)
		f.Add(f, l).Rsh(f, 1)
		l = next
	}
	if n < 0 { // phi^-n = (-1)^n times the conjugate
		f.Neg(f)
		if n%2 != 0 {
			l.Neg(l)
			f.Neg(f)
		}
	}
	return new(big.Rat).SetInt(l), new(big.Rat).SetInt(f)
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
	if len(s.terms) == 1 {
		return s.terms[0].Coef.Sign()
	}
	for working := uint(96); working <= MaxBits && len(s.terms) > 0; working *= 2 {
		value, radius := s.approximate(working)
		if new(big.Float).Abs(value).Cmp(radius) > 0 {
			return value.Sign()
		}
	}
	return 0
}

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
// prec do not tell s from 0. Each term must be within what Real.Float holds.
func (s Sum) Float(prec uint) *big.Float {
	if r, ok := s.rat(); ok {
		return new(big.Float).SetPrec(prec).SetRat(r)
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

// phiPower writes two terms as coef * root, root with a power of phi in it, if
// they are that: r*(a + b sqrt 5), where r sqrt 5 may stand reduced as 5 times
// another root.
func (s Sum) phiPower() (coef *big.Rat, root Real, ok bool) {
	for i, plain := range s.terms {
		other := s.terms[1-i]
		b := new(big.Rat).Set(other.Coef)
		switch ratio := other.Root.Quo(plain.Root); {
		case ratio.sameForm(sqrt5.Inv()):
			b.Mul(b, big.NewRat(1, 5))
		case !ratio.sameForm(sqrt5):
			continue
		}
		if n, ok := phiExponent(new(big.Rat).Quo(plain.Coef, b)); ok {
			lucas, _ := lucasFibonacci(n)
			coef = lucas.Quo(plain.Coef, half2(lucas))
			return coef, plain.Root.Mul(Phi.Pow(Int(int64(n)))), coef.Sign() > 0
		}
	}
	return nil, Real{}, false
}

// phiExponent is the n, not 0, for which phi^n is a multiple of ratio + sqrt 5.
// Ratio is then L/F for a positive n, and -L/F of -n for a negative one.
func phiExponent(ratio *big.Rat) (n int, ok bool) {
	size, quotient := new(big.Rat).Abs(ratio), new(big.Rat)
	for n := 1; n <= maxPhiSearch; n++ {
		if lucas, fibonacci := lucasFibonacci(n); quotient.Quo(lucas, fibonacci).Cmp(size) == 0 {
			return n * ratio.Sign(), true
		}
	}
	return 0, false
}

// maxPhiSearch is the largest power of phi that Sum.Real recognises.
const maxPhiSearch = 64

// sameForm reports whether x and y are written alike, which for numbers
// without both pi and e means that they are equal.
func (x Real) sameForm(y Real) bool {
	return slices.EqualFunc(x.factors, y.factors, func(f, g factorPower) bool {
		return f.base == g.base && f.exp.equal(g.exp)
	})
}

// InSpan finds the fractions x and y with s = x*a + y*b, which are the only
// ones where a/b is irrational: the caller sees to that. Yes: here they are.
// No: there are none. Unknown: pi and e are mixed so that nothing is proved,
// or a/b is rational after all.
func (s Sum) InSpan(a, b Real) (x, y *big.Rat, ans Answer) {
	if a.Commensurable(b) != No {
		return nil, nil, Unknown
	}
	left, right := SumOf(a), SumOf(b)
	x, y, ok := s.solve(left, right)
	if ok {
		return x, y, Yes
	}
	if independent(slices.Concat(s.terms, left.terms, right.terms)) {
		return nil, nil, No
	}
	return nil, nil, Unknown
}

// solve finds x and y with s = x*a + y*b coefficient by coefficient.
func (s Sum) solve(a, b Sum) (x, y *big.Rat, ok bool) {
	// Two roots whose coefficients in a and b are not proportional give x and
	// y by Cramer's rule; the others then agree or there is no solution.
	roots := slices.Concat(a.terms, b.terms)
	for i := range roots {
		for j := range i {
			p, q := roots[i].Root, roots[j].Root
			det := determinant(a.coef(p), b.coef(p), a.coef(q), b.coef(q))
			if det.Sign() == 0 {
				continue
			}
			x = determinant(s.coef(p), b.coef(p), s.coef(q), b.coef(q))
			y = determinant(a.coef(p), s.coef(p), a.coef(q), s.coef(q))
			x.Quo(x, det)
			y.Quo(y, det)
			return x, y, len(s.Sub(a.Scale(x)).Sub(b.Scale(y)).terms) == 0
		}
	}
	return nil, nil, false
}

// determinant is a*d - b*c.
func determinant(a, b, c, d *big.Rat) *big.Rat {
	left := new(big.Rat).Mul(a, d)
	return left.Sub(left, new(big.Rat).Mul(b, c))
}

// coef is the coefficient of root in s, 0 when it is not there.
func (s Sum) coef(root Real) *big.Rat {
	i, found := slices.BinarySearchFunc(s.terms, Term{Root: root}, compareRoots)
	if !found {
		return new(big.Rat)
	}
	return s.terms[i].Coef
}
