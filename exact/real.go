package exact

import (
	"cmp"
	"math"
	"math/big"
	"slices"
)

// Real is a positive real number: a product of primes, pi, e and phi (the
// golden ratio, (1 + sqrt 5)/2), each raised to a rational power. The zero
// value is 1. A Real is immutable; compare with Equal, not with ==.
//
// Every Real has one form only, by two facts. Fractions have unique prime
// factors. And no product of rational powers of primes and phi is rational
// unless phi has power 0 and every prime a whole one: a rational x =
// phi^(m/n) * r^(1/n), m not 0 and r a fraction, would make phi^m = x^n/r
// rational; but phi^m = (L + F sqrt 5)/2 with Lucas and Fibonacci numbers L
// and F, and F is not 0.
type Real struct {
	factors []factorPower // ascending bases, no exponent 0; nil when the number is 1
}

// base is what is raised to a power: a prime below 2^63 or a constant.
type base uint64

const (
	basePhi base = 1<<63 + iota
	basePi
	baseE
)

type factorPower struct {
	base base
	exp  exponent
}

// The three constants that a Real may contain besides primes.
var (
	Pi  = constantReal(basePi)
	E   = constantReal(baseE)
	Phi = constantReal(basePhi)
)

func constantReal(b base) Real {
	return Real{[]factorPower{{b, exponent{small: Int(1)}}}}
}

// Frac is num/den. It panics unless both are positive or both negative, or
// when one is math.MinInt64.
func Frac(num, den int64) Real {
	r := NewRat(num, den)
	if r.Sign() <= 0 {
		panic("exact: a Real must be more than 0")
	}
	return fracReal(factor(uint64(r.Num())), factor(uint64(r.Den())))
}

// FromRat is x as a Real. The error says that x is not positive, or that a
// prime factor of it is too large to find: a numerator or denominator must be
// below 2^63 after all primes below 1000 are taken out.
func FromRat(x *big.Rat) (Real, error) {
	if x.Sign() <= 0 {
		return Real{}, errNotPositive
	}
	num, err := factorBig(x.Num())
	if err != nil {
		return Real{}, err
	}
	den, err := factorBig(x.Denom())
	if err != nil {
		return Real{}, err
	}
	return fracReal(num, den), nil
}

func fracReal(num, den []primePower) Real {
	return Real{integerFactors(num, 1)}.Mul(Real{integerFactors(den, -1)})
}

func integerFactors(factors []primePower, sign int64) []factorPower {
	if len(factors) == 0 {
		return nil
	}
	list := make([]factorPower, len(factors))
	for i, f := range factors {
		list[i] = factorPower{base(f.prime), exponent{small: Int(sign * f.power)}}
	}
	return list
}

// Cents is the ratio of an interval of n cents, 2^(n/1200).
func Cents(n Rat) Real {
	return Frac(2, 1).Pow(n).Pow(NewRat(1, 1200))
}

// Mul is x * y.
func (x Real) Mul(y Real) Real {
	switch {
	case len(x.factors) == 0:
		return y
	case len(y.factors) == 0:
		return x
	}
	product := make([]factorPower, 0, len(x.factors)+len(y.factors))
	i, j := 0, 0
	for i < len(x.factors) && j < len(y.factors) {
		a, b := x.factors[i], y.factors[j]
		switch {
		case a.base < b.base:
			product = append(product, a)
			i++
		case a.base > b.base:
			product = append(product, b)
			j++
		default:
			if sum := a.exp.add(b.exp); sum.sign() != 0 {
				product = append(product, factorPower{a.base, sum})
			}
			i, j = i+1, j+1
		}
	}
	product = append(append(product, x.factors[i:]...), y.factors[j:]...)
	if len(product) == 0 {
		return Real{}
	}
	return Real{product}
}

// Quo is x / y.
func (x Real) Quo(y Real) Real { return x.Mul(y.Inv()) }

// Inv is 1 / x.
func (x Real) Inv() Real { return x.Pow(Int(-1)) }

// Pow is x raised to the power p.
func (x Real) Pow(p Rat) Real {
	if len(x.factors) == 0 || p.Sign() == 0 {
		return Real{}
	}
	power := make([]factorPower, len(x.factors))
	for i, f := range x.factors {
		power[i] = factorPower{f.base, f.exp.mul(p)}
	}
	return Real{power}
}

// isOne reports whether the form of x is that of 1.
func (x Real) isOne() bool { return len(x.factors) == 0 }

// sameForm reports whether x and y are written alike, which for numbers
// without both pi and e means that they are equal.
func (x Real) sameForm(y Real) bool {
	return slices.EqualFunc(x.factors, y.factors, func(f, g factorPower) bool {
		return f.base == g.base && f.exp.equal(g.exp)
	})
}

// exponentOf is the power of b in x.
func (x Real) exponentOf(b base) exponent {
	i, found := slices.BinarySearchFunc(x.factors, b, func(f factorPower, b base) int { return cmp.Compare(f.base, b) })
	if !found {
		return exponent{}
	}
	return x.factors[i].exp
}

// mixed reports whether both pi and e are in x. Nobody has proved such a
// number rational or irrational (e/pi, say).
func (x Real) mixed() bool {
	return x.exponentOf(basePi).sign() != 0 && x.exponentOf(baseE).sign() != 0
}

// Rational says whether x is a fraction: Yes when its form shows it, Unknown
// when both pi and e are in it. Otherwise No: a rational power of pi (F.
// Lindemann, Math. Ann. 20 (1882) 213-225) or of e is transcendental, and so
// is its product with an algebraic number; for roots and phi see Real.
func (x Real) Rational() Answer {
	if x.mixed() {
		return Unknown
	}
	return answer(x.rationalForm())
}

// rationalForm reports whether x is a product of whole powers of primes.
func (x Real) rationalForm() bool {
	for _, f := range x.factors {
		if f.base >= basePhi || !f.exp.isInt() {
			return false
		}
	}
	return true
}

// Commensurable says whether x/y is a fraction: whether whole numbers of x and
// of y can be equal.
func (x Real) Commensurable(y Real) Answer { return x.Quo(y).Rational() }

// Equal says whether x and y are the same number. Unknown is left only to
// numbers whose ratio contains both pi and e and that agree to MaxBits bits.
func (x Real) Equal(y Real) Answer {
	ratio := x.Quo(y)
	switch {
	case ratio.isOne():
		return Yes
	case !ratio.mixed() || ratio.cmpOne() != 0:
		return No
	}
	return Unknown
}

// Cmp is -1, 0 or 1 as x is less than, equal to or more than y. It is 0 when
// they are proved equal, and when MaxBits bits do not tell them apart.
func (x Real) Cmp(y Real) int { return x.Quo(y).cmpOne() }

// maxRatBits bounds the size of number that Rat writes out.
const maxRatBits = 1 << 20

// Rat is x as a fraction of the caller's own. It is false when x is irrational
// or not known to be rational, and for numbers of more than a million bits.
func (x Real) Rat() (*big.Rat, bool) {
	if !x.rationalForm() || x.log2Sum() > maxRatBits {
		return nil, false
	}
	num, den := big.NewInt(1), big.NewInt(1)
	power := new(big.Int)
	for _, f := range x.factors {
		n := f.exp.small.Num() // not big, or log2Sum would be
		power.SetUint64(uint64(f.base))
		power.Exp(power, new(big.Int).SetUint64(magnitude(n)), nil)
		if n > 0 {
			num.Mul(num, power)
		} else {
			den.Mul(den, power)
		}
	}
	return new(big.Rat).SetFrac(num, den), true
}

// log2 is the binary logarithm of x, wrong by at most 1e-14 * log2Sum.
func (x Real) log2() float64 {
	sum := 0.0
	for _, f := range x.factors {
		sum += f.exp.float() * f.base.log2()
	}
	return sum
}

// log2Sum is the sum of the absolute binary logarithms of the factors: the
// number of bits of x written as a fraction, when it is one.
func (x Real) log2Sum() float64 {
	sum := 0.0
	for _, f := range x.factors {
		sum += math.Abs(f.exp.float() * f.base.log2())
	}
	return sum
}

func (b base) log2() float64 {
	switch b {
	case basePhi:
		return math.Log2(math.Phi)
	case basePi:
		return math.Log2(math.Pi)
	case baseE:
		return math.Log2E
	}
	return math.Log2(float64(b))
}
