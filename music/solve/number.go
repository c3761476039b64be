package solve

import (
	"math/big"

	"rollwright/exact"
)

// Number is a number of either sign: exact where it is a sum of roots, else to
// Prec bits. The zero value is 0.
type Number struct {
	sum    exact.Sum
	approx *big.Float // in place of sum, when that is not known
}

// Exactly is s as a Number.
func Exactly(s exact.Sum) Number { return Number{sum: s} }

// Whole is n as a Number.
func Whole(n int64) Number { return Exactly(exact.SumRat(big.NewRat(n, 1))) }

// About is f as a Number that is not exact; f must not change any more.
func About(f *big.Float) Number { return Number{approx: f} }

// Exact is the number as a sum of roots, and false when it is not known so.
func (a Number) Exact() (exact.Sum, bool) { return a.sum, a.approx == nil }

// Float is the number to Prec bits, not to be changed.
func (a Number) Float() *big.Float {
	if a.approx == nil {
		return a.sum.Float(Prec)
	}
	return a.approx
}

// Float64 is the float64 nearest to the number.
func (a Number) Float64() float64 {
	f, _ := a.Float().Float64()
	return f
}

// Sign is -1, 0 or 1.
func (a Number) Sign() int {
	if a.approx == nil {
		return a.sum.Sign()
	}
	return a.approx.Sign()
}

// Add is a + b.
func (a Number) Add(b Number) Number {
	switch {
	case a.approx == nil && b.approx == nil:
		return tamed(a.sum.Add(b.sum))
	case a.approx == nil && a.sum.IsZero() == exact.Yes:
		return b
	case b.approx == nil && b.sum.IsZero() == exact.Yes:
		return a
	}
	x, y := a.Float(), b.Float()
	sum := newFloat().Add(x, y)
	if vanishes(sum, x, y) {
		return Number{}
	}
	return About(sum)
}

// Neg is -a.
func (a Number) Neg() Number {
	if a.approx == nil {
		return Exactly(a.sum.Neg())
	}
	return About(newFloat().Neg(a.approx))
}

// Sub is a - b.
func (a Number) Sub(b Number) Number { return a.Add(b.Neg()) }

// Mul is a * b.
func (a Number) Mul(b Number) Number {
	if a.approx != nil || b.approx != nil {
		if a.Sign() == 0 || b.Sign() == 0 {
			return Number{}
		}
		return About(newFloat().Mul(a.Float(), b.Float()))
	}
	product := exact.Sum{}
	for _, t := range b.sum.Terms() {
		product = product.Add(a.sum.MulReal(t.Root).Scale(t.Coef))
	}
	return tamed(product)
}

// Quo is a / b: exact where that is a sum of roots that is found. It panics when
// b is 0.
func (a Number) Quo(b Number) Number {
	if b.Sign() == 0 {
		panic("solve: division by 0")
	}
	if a.approx == nil && b.approx == nil {
		if q, ok := quo(a.sum, b.sum); ok {
			return tamed(q)
		}
	}
	if a.Sign() == 0 {
		return Number{}
	}
	return About(newFloat().Quo(a.Float(), b.Float()))
}

// quo is a/b where b is one term, or a a multiple of it, or b two terms that
// their conjugate makes one: (p + q)(p - q) = p*p - q*q.
func quo(a, b exact.Sum) (exact.Sum, bool) {
	below := b.Terms()
	if len(below) == 1 {
		return a.MulReal(below[0].Root.Inv()).Scale(new(big.Rat).Inv(below[0].Coef)), true
	}
	above := a.Terms()
	if len(above) == 0 {
		return a, true
	}
	for _, t := range below {
		factor := exact.SumOf(above[0].Root.Quo(t.Root)).Scale(new(big.Rat).Quo(above[0].Coef, t.Coef))
		if product := Exactly(b).Mul(Exactly(factor)); product.approx == nil && a.Sub(product.sum).IsZero() == exact.Yes {
			return factor, true
		}
	}
	if len(below) != 2 {
		return exact.Sum{}, false
	}
	conjugate := exact.SumOf(below[0].Root).Scale(below[0].Coef).Sub(exact.SumOf(below[1].Root).Scale(below[1].Coef))
	norm := Exactly(b).Mul(Exactly(conjugate))
	if norm.approx != nil || len(norm.sum.Terms()) != 1 {
		return exact.Sum{}, false
	}
	product := Exactly(a).Mul(Exactly(conjugate))
	if product.approx != nil {
		return exact.Sum{}, false
	}
	return quo(product.sum, norm.sum)
}

// Bounds of sums that are kept exact: beyond them nobody reads the answer, and
// the work grows.
const (
	mostTerms = 40
	mostBits  = 4000 // of a numerator or denominator
)

func tamed(s exact.Sum) Number {
	terms := s.Terms()
	large := len(terms) > mostTerms
	for _, t := range terms {
		large = large || t.Coef.Num().BitLen() > mostBits || t.Coef.Denom().BitLen() > mostBits
	}
	if large {
		return About(s.Float(Prec))
	}
	return Exactly(s)
}

// vanishes reports whether a sum is nothing beside its terms.
func vanishes(sum, x, y *big.Float) bool {
	return sum.Sign() == 0 || exponentOf(sum) < max(exponentOf(x), exponentOf(y))-120
}

// exponentOf is the binary exponent of f; that of 0 is as small as can be.
func exponentOf(f *big.Float) int {
	if f.Sign() == 0 {
		return big.MinExp
	}
	return f.MantExp(nil)
}

func newFloat() *big.Float { return new(big.Float).SetPrec(Prec) }
