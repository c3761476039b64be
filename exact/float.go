package exact

import (
	"math"
	"math/big"
	"math/bits"
)

// maxFloatLog2 is where a big.Float of a Real becomes 0 or infinite.
const maxFloatLog2 = 1 << 30

// Float is x rounded to prec bits, 1 or more, to nearest even. Only where both
// pi and e are in x, and prec + MaxBits bits do not settle to which side x
// falls, it may be the neighbour of the nearest. Beyond 2^(2^30) it is +Inf,
// below the inverse of that 0.
func (x Real) Float(prec uint) *big.Float {
	if r, ok := x.Rat(); ok {
		return new(big.Float).SetPrec(prec).SetRat(r)
	}
	if l := x.log2(); math.Abs(l) > maxFloatLog2 || math.IsNaN(l) {
		return beyondFloat(prec, l > 0)
	}
	// Ziv's method: more bits until both ends of the interval in which x lies
	// round alike.
	low, high := new(big.Float).SetPrec(prec), new(big.Float).SetPrec(prec)
	for working := prec + 32; ; working *= 2 {
		x.interval(low, high, working)
		if low.Cmp(high) == 0 || working > prec+MaxBits {
			return low
		}
	}
}

func beyondFloat(prec uint, large bool) *big.Float {
	z := new(big.Float).SetPrec(prec)
	if large {
		z.SetInf(false)
	}
	return z
}

// interval sets low and high, rounded to their precisions, to bounds of x that
// are some 2^-working apart.
func (x Real) interval(low, high *big.Float, working uint) {
	middle := x.approximate(working)
	radius := new(big.Float).SetMantExp(middle, 1-int(working))
	exactly := working + 8
	low.Set(new(big.Float).SetPrec(exactly).Sub(middle, radius))
	high.Set(new(big.Float).SetPrec(exactly).Add(middle, radius))
}

// Float64 is the float64 nearest to x, +Inf or 0 beyond their range. The one
// exception is that of Float.
func (x Real) Float64() float64 {
	if f, ok := x.smallFraction(); ok {
		return f
	}
	if r, ok := x.Rat(); ok {
		f, _ := r.Float64()
		return f
	}
	switch l := x.log2(); {
	case l > 1100:
		return math.Inf(1)
	case l < -1100 || math.IsNaN(l):
		return 0
	}
	for working := uint(80); ; working *= 2 {
		middle := x.approximate(working)
		radius := new(big.Float).SetMantExp(middle, 1-int(working))
		low, _ := new(big.Float).Sub(middle, radius).Float64()
		high, _ := radius.Add(middle, radius).Float64()
		if low == high || working > MaxBits {
			return low
		}
	}
}

// smallFraction is the nearest float64 of a fraction of two whole numbers below
// 2^53: one division, which rounds once (IEEE 754).
func (x Real) smallFraction() (float64, bool) {
	const limit = 1 << 53
	parts := [2]uint64{1, 1} // numerator, denominator
	for _, f := range x.factors {
		if f.base >= basePhi || f.exp.big != nil || !f.exp.isInt() {
			return 0, false
		}
		part := &parts[0]
		if f.exp.sign() < 0 {
			part = &parts[1]
		}
		n := magnitude(f.exp.small.Num())
		if n > 53 {
			return 0, false
		}
		for range n {
			high, low := bits.Mul64(*part, uint64(f.base))
			if high != 0 || low > limit {
				return 0, false
			}
			*part = low
		}
	}
	return float64(parts[0]) / float64(parts[1]), true
}

// cmpOne compares x with 1.
func (x Real) cmpOne() int {
	if x.isOne() {
		return 0
	}
	// Most comparisons are settled by logarithms; 1e-13 of their sum is ten
	// times what these can be wrong.
	if l, sum := x.log2(), x.log2Sum(); math.Abs(l) > 1e-13*sum {
		return sign(l)
	}
	for working := uint(128); working <= MaxBits; working *= 2 {
		if l, settled := x.lnSign(working); settled {
			return l
		}
	}
	return 0
}

// lnSign is the sign of the logarithm of x, if working bits settle it. Each
// term errs by less than 4 units in its last place, the sum by as much again
// for each addition.
func (x Real) lnSign(working uint) (sign int, settled bool) {
	sum, bound := newFloat(working, 0), newFloat(64, 0)
	for _, f := range x.factors {
		term := scale(f.base.ln(working), f.exp.rat())
		sum.Add(sum, term)
		bound.Add(bound, term.Abs(term))
	}
	bound.Mul(bound, newFloat(64, float64(8*len(x.factors))))
	bound.SetMantExp(bound, -int(working))
	return sum.Sign(), new(big.Float).Abs(sum).Cmp(bound) > 0
}

func sign(x float64) int {
	if x < 0 {
		return -1
	}
	return 1
}

// approximate is x with a relative error below 2^-working. Its logarithm must
// be within maxFloatLog2.
//
// With p bits, a power b^k by squaring errs by at most 2|k|+2 units 2^-p (the
// error of b counts k times, each product at most doubles the count), a square
// root by 2, and exp(S) by the absolute error of S: the sum of f ln b, each
// term within 4 units of its last place. The guard bits leave a factor of 2^16
// over the sum of all that.
func (x Real) approximate(working uint) *big.Float {
	prec := max(64, working+guardBits(x.factors))
	value, logSum := newFloat(prec, 1), newFloat(prec, 0)
	for _, f := range x.factors {
		whole, fraction := f.exp.split()
		if !whole.IsInt64() || magnitude(whole.Int64()) > maxSquaring {
			whole, fraction = new(big.Int), f.exp
		}
		if whole.Sign() != 0 {
			mulPower(value, f.base.value(prec), whole.Int64())
		}
		switch {
		case fraction.sign() == 0:
		case fraction.equal(oneHalf):
			root := f.base.value(prec)
			value.Mul(value, root.Sqrt(root))
		default:
			logSum.Add(logSum, scale(f.base.ln(prec), fraction.rat()))
		}
	}
	if logSum.Sign() != 0 {
		value.Mul(value, Exp(logSum, prec))
	}
	return value
}

// maxSquaring is the largest power found by squaring. Beyond it logarithms are
// as fast, and no step on the way leaves the range of a big.Float.
const maxSquaring = 1 << 20

var oneHalf = exponent{small: NewRat(1, 2)}

func guardBits(factors []factorPower) uint {
	largest := 0
	for _, f := range factors {
		r := f.exp.rat()
		largest = max(largest, r.Num().BitLen()-r.Denom().BitLen()+1)
	}
	return uint(36 + bits.Len(uint(len(factors))) + largest)
}

// mulPower multiplies value by b^k.
func mulPower(value, b *big.Float, k int64) {
	n := magnitude(k)
	power := newFloat(value.Prec(), 1)
	for i := bits.Len64(n) - 1; i >= 0; i-- {
		power.Mul(power, power)
		if n>>i&1 == 1 {
			power.Mul(power, b)
		}
	}
	if k < 0 {
		value.Quo(value, power)
	} else {
		value.Mul(value, power)
	}
}

// scale multiplies x by r in place.
func scale(x *big.Float, r *big.Rat) *big.Float {
	x.Mul(x, new(big.Float).SetInt(r.Num()))
	return x.Quo(x, new(big.Float).SetInt(r.Denom()))
}
