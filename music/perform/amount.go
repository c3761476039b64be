package perform

import (
	"math/big"

	"rollwright/exact"
)

// amount is a length or an instant, in units or in seconds: exact where it is
// a sum of roots, else to some 2^-90 of what went into it. The zero value is 0.
type amount struct {
	sum    exact.Sum
	approx *big.Float // in place of sum, when that is not known
}

func (a amount) exact() bool { return a.approx == nil }

func exactly(s exact.Sum) amount    { return amount{sum: s} }
func exactlyRat(r exact.Rat) amount { return exactly(exact.SumRat(r.Big())) }
func about(f *big.Float) amount     { return amount{approx: f} }

// value is a to workPrec bits, not to be changed.
func (a amount) value() *big.Float {
	if a.exact() {
		return a.sum.Float(workPrec)
	}
	return a.approx
}

func (a amount) float64() float64 {
	if a.exact() {
		return a.sum.Float64()
	}
	f, _ := a.approx.Float64()
	return f
}

func (a amount) add(b amount) amount {
	if a.exact() && b.exact() {
		return exactly(a.sum.Add(b.sum))
	}
	return about(newFloat().Add(a.value(), b.value()))
}

func (a amount) sub(b amount) amount { return a.add(b.neg()) }

func (a amount) neg() amount {
	if a.exact() {
		return exactly(a.sum.Neg())
	}
	return about(newFloat().Neg(a.approx))
}

func (a amount) scale(r exact.Rat) amount {
	if a.exact() {
		return exactly(a.sum.Scale(r.Big()))
	}
	return about(newFloat().Mul(a.approx, newFloat().SetRat(r.Big())))
}

func (a amount) mulReal(x exact.Real) amount {
	if a.exact() {
		return exactly(a.sum.MulReal(x))
	}
	return about(newFloat().Mul(a.approx, x.Float(workPrec)))
}

// cmp compares a and b. What is not exact counts as equal when it differs by
// less than 2^-80 of its size: far below a nanosecond, far above the error of
// either.
func (a amount) cmp(b amount) int {
	if a.exact() && b.exact() {
		return a.sum.Sub(b.sum).Sign()
	}
	x, y := a.value(), b.value()
	difference := newFloat().Sub(x, y)
	size := max(exponentOf(x), exponentOf(y))
	if difference.Sign() == 0 || exponentOf(difference) < size-80 {
		return 0
	}
	return difference.Sign()
}

// exponentOf is the binary exponent of f; that of 0 is as small as can be.
func exponentOf(f *big.Float) int {
	if f.Sign() == 0 {
		return big.MinExp
	}
	return f.MantExp(nil)
}

func newFloat() *big.Float { return new(big.Float).SetPrec(workPrec) }

// realNear is a Real within 2^-100 of f > 0, relatively: a power of 2. It
// carries a factor that is no product of roots to where a Real is wanted.
func realNear(f *big.Float) exact.Real {
	log := exact.Ln(f, workPrec)
	log.Quo(log, exact.Ln(big.NewFloat(2), workPrec))
	coarse := roundedAt(log, realNearBits)
	log.Sub(log, newFloat().SetMantExp(newFloat().SetInt64(coarse), -realNearBits))
	fine := roundedAt(log, 2*realNearBits)
	two, step := exact.Frac(2, 1), exact.NewRat(1, 1<<realNearBits)
	return two.Pow(exact.NewRat(coarse, 1<<realNearBits)).
		Mul(two.Pow(step).Pow(exact.NewRat(fine, 1<<realNearBits)))
}

const realNearBits = 51

// roundedAt is f * 2^bits rounded to a whole number, half away from 0; f must
// be below 2^11 (no float64 has a larger logarithm) or that much smaller.
func roundedAt(f *big.Float, bits int) int64 {
	g := newFloat().SetMantExp(f, bits)
	g.Add(g, newFloat().SetFloat64(0.5*float64(f.Sign())))
	n, _ := g.Int64()
	return n
}
