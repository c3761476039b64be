package exact

import "math/big"

// exponent is a fraction of any size. Nearly all fit a Rat, which is twenty
// times as fast; what does not is kept big, so that Real's operations need no
// second result.
type exponent struct {
	small Rat
	big   *big.Rat // nil unless the number does not fit small
}

func fromBigRat(x *big.Rat) exponent {
	if r, ok := FromBig(x); ok {
		return exponent{small: r}
	}
	return exponent{big: x}
}

// rat is the exponent as a big.Rat, not to be changed.
func (x exponent) rat() *big.Rat {
	if x.big != nil {
		return x.big
	}
	return x.small.Big()
}

func (x exponent) add(y exponent) exponent {
	if x.big == nil && y.big == nil {
		if sum, ok := x.small.Add(y.small); ok {
			return exponent{small: sum}
		}
	}
	return fromBigRat(new(big.Rat).Add(x.rat(), y.rat()))
}

func (x exponent) mul(y Rat) exponent {
	if x.big == nil {
		if product, ok := x.small.Mul(y); ok {
			return exponent{small: product}
		}
	}
	return fromBigRat(new(big.Rat).Mul(x.rat(), y.Big()))
}

func (x exponent) neg() exponent { return x.mul(Int(-1)) }

func (x exponent) sign() int {
	if x.big != nil {
		return x.big.Sign()
	}
	return x.small.Sign()
}

func (x exponent) isInt() bool {
	if x.big != nil {
		return x.big.IsInt()
	}
	return x.small.IsInt()
}

func (x exponent) equal(y exponent) bool {
	if x.big != nil && y.big != nil {
		return x.big.Cmp(y.big) == 0
	}
	return x.big == nil && y.big == nil && x.small == y.small
}

// split is the whole number below x and the fraction above it, 0 <= fraction < 1.
func (x exponent) split() (whole *big.Int, fraction exponent) {
	r := x.rat()
	whole = new(big.Int).Div(r.Num(), r.Denom()) // Euclidean: rounds down, as the denominator is positive
	return whole, fromBigRat(new(big.Rat).Sub(r, new(big.Rat).SetInt(whole)))
}

// float is the nearest float64, an infinity beyond the largest.
func (x exponent) float() float64 {
	if x.big != nil {
		f, _ := x.big.Float64()
		return f
	}
	return x.small.Float64()
}

func (x exponent) String() string {
	if x.big != nil {
		return x.big.RatString()
	}
	return x.small.String()
}

func (x exponent) cmp(y exponent) int {
	if x.big == nil && y.big == nil {
		return x.small.Cmp(y.small)
	}
	return x.rat().Cmp(y.rat())
}
