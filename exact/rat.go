package exact

import (
	"fmt"
	"math"
	"math/big"
	"math/bits"
	"strconv"
)

// Rat is a fraction of two int64, in lowest terms, its denominator positive.
// The zero value is 0. Two Rats are the same number exactly when they are ==.
type Rat struct {
	num int64
	// The denominator less one, so that the zero value is 0/1 and every
	// number has one form only.
	denLess1 int64
}

// NewRat is num/den in lowest terms. It panics when den is 0 and when the
// lowest terms do not fit: that happens only with math.MinInt64.
func NewRat(num, den int64) Rat {
	if den == 0 {
		panic("exact: fraction with denominator 0")
	}
	r, ok := reduce(num, den)
	if !ok {
		panic(fmt.Sprintf("exact: %d/%d does not fit", num, den))
	}
	return r
}

// Int is the whole number n.
func Int(n int64) Rat { return Rat{num: n} }

// reduce brings num/den, den not 0, into lowest terms.
func reduce(num, den int64) (Rat, bool) {
	g := gcd(magnitude(num), magnitude(den))
	return signed((num < 0) != (den < 0), magnitude(num)/g, magnitude(den)/g)
}

// signed is the fraction with these absolute values, which are in lowest
// terms; false when they do not fit.
func signed(negative bool, num, den uint64) (Rat, bool) {
	if den > math.MaxInt64 {
		return Rat{}, false
	}
	if negative {
		if num > 1<<63 {
			return Rat{}, false
		}
		return Rat{int64(-num), int64(den) - 1}, true
	}
	if num > math.MaxInt64 {
		return Rat{}, false
	}
	return Rat{int64(num), int64(den) - 1}, true
}

// magnitude is |n|, which for math.MinInt64 fits only a uint64.
func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n)
	}
	return uint64(n)
}

// gcd is the greatest common divisor; gcd(n, 0) is n. The binary method: its
// steps are a shift and a subtraction, where Euclid's is a division.
func gcd(a, b uint64) uint64 {
	if a == 0 || b == 0 {
		return a | b
	}
	shift := bits.TrailingZeros64(a | b)
	a >>= bits.TrailingZeros64(a)
	for b != 0 {
		b >>= bits.TrailingZeros64(b)
		if a > b {
			a, b = b, a
		}
		b -= a
	}
	return a << shift
}

// FromBig is x as a Rat; false when its numerator or denominator does not fit
// an int64.
func FromBig(x *big.Rat) (Rat, bool) {
	if !x.Num().IsInt64() || !x.Denom().IsInt64() {
		return Rat{}, false
	}
	return Rat{x.Num().Int64(), x.Denom().Int64() - 1}, true
}

// Num is the numerator in lowest terms; it carries the sign.
func (r Rat) Num() int64 { return r.num }

// Den is the denominator in lowest terms, 1 or more.
func (r Rat) Den() int64 { return r.denLess1 + 1 }

// Sign is -1, 0 or 1.
func (r Rat) Sign() int {
	switch {
	case r.num < 0:
		return -1
	case r.num > 0:
		return 1
	}
	return 0
}

// IsInt reports whether r is a whole number.
func (r Rat) IsInt() bool { return r.denLess1 == 0 }

// Big is r as a big.Rat of the caller's own.
func (r Rat) Big() *big.Rat { return big.NewRat(r.num, r.Den()) }

// Add is r + s; false when the sum does not fit.
func (r Rat) Add(s Rat) (Rat, bool) {
	if r.denLess1 == 0 && s.denLess1 == 0 {
		if sum, ok := addInt(r.num, s.num); ok {
			return Rat{num: sum}, true
		}
		return Rat{}, false
	}
	// Knuth, The Art of Computer Programming, volume 2, section 4.5.1: over
	// the least common denominator; the sum can then be reduced only by
	// divisors of g.
	g := int64(gcd(uint64(r.Den()), uint64(s.Den())))
	a, ok1 := mulInt(r.num, s.Den()/g)
	b, ok2 := mulInt(s.num, r.Den()/g)
	num, ok3 := addInt(a, b)
	if !ok1 || !ok2 || !ok3 {
		return r.addBig(s)
	}
	reducer := int64(gcd(magnitude(num), uint64(g)))
	den, ok := mulInt(r.Den()/g, s.Den()/reducer)
	if !ok {
		return Rat{}, false
	}
	return Rat{num / reducer, den - 1}, true
}

// addBig adds where a step on the way does not fit though the sum may.
func (r Rat) addBig(s Rat) (Rat, bool) {
	return FromBig(new(big.Rat).Add(r.Big(), s.Big()))
}

// Sub is r - s; false when the difference does not fit.
func (r Rat) Sub(s Rat) (Rat, bool) {
	if s.num == math.MinInt64 {
		return FromBig(new(big.Rat).Sub(r.Big(), s.Big()))
	}
	return r.Add(Rat{-s.num, s.denLess1})
}

// Mul is r * s; false when the product does not fit.
func (r Rat) Mul(s Rat) (Rat, bool) {
	negative := (r.num < 0) != (s.num < 0)
	return mulMagnitudes(negative, magnitude(r.num), uint64(r.Den()), magnitude(s.num), uint64(s.Den()))
}

// Quo is r / s; false when s is 0 or the quotient does not fit.
func (r Rat) Quo(s Rat) (Rat, bool) {
	if s.num == 0 {
		return Rat{}, false
	}
	negative := (r.num < 0) != (s.num < 0)
	return mulMagnitudes(negative, magnitude(r.num), uint64(r.Den()), uint64(s.Den()), magnitude(s.num))
}

// mulMagnitudes is (a/b) * (c/d) with a sign. Cancelling crosswise first
// leaves lowest terms, so that what overflows after it really does not fit.
func mulMagnitudes(negative bool, a, b, c, d uint64) (Rat, bool) {
	if g := gcd(a, d); g > 1 {
		a, d = a/g, d/g
	}
	if g := gcd(c, b); g > 1 {
		c, b = c/g, b/g
	}
	numHigh, num := bits.Mul64(a, c)
	denHigh, den := bits.Mul64(b, d)
	if numHigh != 0 || denHigh != 0 {
		return Rat{}, false
	}
	return signed(negative && num != 0, num, den)
}

// addInt is a + b; false when it does not fit.
func addInt(a, b int64) (int64, bool) {
	sum := a + b
	return sum, (sum > a) == (b > 0)
}

// mulInt is a * b; false when it does not fit or might not (math.MinInt64).
func mulInt(a, b int64) (int64, bool) {
	high, low := bits.Mul64(magnitude(a), magnitude(b))
	if high != 0 || low > math.MaxInt64 {
		return 0, false
	}
	if (a < 0) != (b < 0) {
		return -int64(low), true
	}
	return int64(low), true
}

// Cmp is -1, 0 or 1 as r is less than, equal to or more than s. It compares
// 128-bit products and never overflows.
func (r Rat) Cmp(s Rat) int {
	if r.Sign() != s.Sign() {
		if r.Sign() < s.Sign() {
			return -1
		}
		return 1
	}
	leftHigh, leftLow := bits.Mul64(magnitude(r.num), uint64(s.Den()))
	rightHigh, rightLow := bits.Mul64(magnitude(s.num), uint64(r.Den()))
	switch {
	case leftHigh == rightHigh && leftLow == rightLow:
		return 0
	case leftHigh < rightHigh || leftHigh == rightHigh && leftLow < rightLow:
		return -r.Sign()
	}
	return r.Sign()
}

// Float64 is the nearest float64, ties to even.
func (r Rat) Float64() float64 {
	const exactInt = 1 << 53 // whole numbers up to here are float64s
	if magnitude(r.num) <= exactInt && r.Den() <= exactInt {
		return float64(r.num) / float64(r.Den()) // IEEE 754: a division rounds once
	}
	f, _ := r.Big().Float64()
	return f
}

// String is "7" or "-3/7"; ParseRat reads it back.
func (r Rat) String() string {
	s := strconv.FormatInt(r.num, 10)
	if !r.IsInt() {
		s += "/" + strconv.FormatInt(r.Den(), 10)
	}
	return s
}
