package exact

import (
	"math"
	"math/big"
	"math/bits"
	"sync"
)

// The elementary functions at any precision. Each works with so many guard
// bits that the result is wrong by less than one unit in its last place. Ziv's
// method above them (see Real.Float) turns that into correct rounding.

// newFloat is a big.Float of the given precision and value.
func newFloat(prec uint, x float64) *big.Float {
	return new(big.Float).SetPrec(prec).SetFloat64(x)
}

// constantKey names one value of a table that is computed when first asked
// for. Precisions are taken from a short ladder, so that a value does not
// depend on what was asked for before.
type constantKey struct {
	base base
	log  bool // the natural logarithm of base, not base itself
	prec uint
}

var constants sync.Map // constantKey to *big.Float, which nobody changes

// cached is compute(rung) rounded to prec, where rung is the next power of two
// that leaves prec at least 16 guard bits.
func cached(key constantKey, prec uint, compute func(rung uint) *big.Float) *big.Float {
	key.prec = max(256, uint(1)<<bits.Len(prec+15))
	value, ok := constants.Load(key)
	if !ok {
		value, _ = constants.LoadOrStore(key, compute(key.prec))
	}
	return new(big.Float).SetPrec(prec).Set(value.(*big.Float))
}

// value is the number b at the given precision: exact for a prime when prec is
// 64 or more, else within one unit in the last place.
func (b base) value(prec uint) *big.Float {
	switch b {
	case basePhi:
		return cached(constantKey{base: b}, prec, computePhi)
	case basePi:
		return cached(constantKey{base: b}, prec, computePi)
	case baseE:
		return cached(constantKey{base: b}, prec, computeE)
	}
	return new(big.Float).SetPrec(prec).SetUint64(uint64(b))
}

// ln is the natural logarithm of b, within one unit in the last place.
func (b base) ln(prec uint) *big.Float {
	compute := func(prec uint) *big.Float { return computeLn(b.value(prec+64), prec) }
	switch {
	case b == baseE:
		return newFloat(prec, 1)
	case b == 2:
		compute = computeLn2
	case b > smallPrimeLimit && b < basePhi:
		return compute(prec) // one of too many to keep
	}
	return cached(constantKey{base: b, log: true}, prec, compute)
}

func computePhi(prec uint) *big.Float {
	x := newFloat(prec+8, 5)
	x.Sqrt(x).Add(x, newFloat(8, 1))
	return half(x).SetPrec(prec)
}

// half halves x in place, without rounding.
func half(x *big.Float) *big.Float { return x.SetMantExp(x, -1) }

// computePi is J. Machin's pi/4 = 4 arctan(1/5) - arctan(1/239), of 1706.
func computePi(prec uint) *big.Float {
	guarded := prec + 32
	sum := new(big.Int).Mul(big.NewInt(16), arcSeries(5, guarded, -1))
	sum.Sub(sum, new(big.Int).Mul(big.NewInt(4), arcSeries(239, guarded, -1)))
	return fixedPoint(sum, guarded, prec)
}

// computeLn2 is ln 2 = 18 artanh(1/26) - 2 artanh(1/4801) + 8 artanh(1/8749):
// 2 = (27/25)^9 * (4802/4800)^-1 * (8750/8748)^4.
func computeLn2(prec uint) *big.Float {
	guarded := prec + 32
	sum := new(big.Int).Mul(big.NewInt(18), arcSeries(26, guarded, 1))
	sum.Sub(sum, new(big.Int).Mul(big.NewInt(2), arcSeries(4801, guarded, 1)))
	sum.Add(sum, new(big.Int).Mul(big.NewInt(8), arcSeries(8749, guarded, 1)))
	return fixedPoint(sum, guarded, prec)
}

// arcSeries is artanh(1/n) (sign 1) or arctan(1/n) (sign -1) in units of
// 2^-prec: the sum of sign^k / ((2k+1) n^(2k+1)). Each of its terms is
// rounded down twice, so it errs by less than prec units.
func arcSeries(n int64, prec uint, sign int64) *big.Int {
	power := new(big.Int).Lsh(big.NewInt(1), prec)
	power.Quo(power, big.NewInt(n))
	square, sum, term := big.NewInt(n*n), new(big.Int), new(big.Int)
	for k := int64(0); power.Sign() != 0; k++ {
		term.Quo(power, big.NewInt(2*k+1))
		if sign < 0 && k%2 == 1 {
			sum.Sub(sum, term)
		} else {
			sum.Add(sum, term)
		}
		power.Quo(power, square)
	}
	return sum
}

// computeE is the sum of 1/k!.
func computeE(prec uint) *big.Float {
	guarded := prec + 32
	term := new(big.Int).Lsh(big.NewInt(1), guarded)
	sum := new(big.Int)
	for k := int64(1); term.Sign() != 0; k++ {
		sum.Add(sum, term)
		term.Quo(term, big.NewInt(k))
	}
	return fixedPoint(sum, guarded, prec)
}

// fixedPoint is x * 2^-fraction, rounded to prec bits.
func fixedPoint(x *big.Int, fraction, prec uint) *big.Float {
	f := new(big.Float).SetInt(x)
	f.SetMantExp(f, -int(fraction))
	return f.SetPrec(prec)
}

// Ln is the natural logarithm of x, more than 0 and finite, to prec bits,
// within one unit in the last place. Close to 1 too it is the relative error
// that is bounded.
func Ln(x *big.Float, prec uint) *big.Float {
	if x.Sign() <= 0 || x.IsInf() {
		panic("exact: logarithm of a number that is not positive and finite")
	}
	return computeLn(x, prec)
}

// computeLn writes x as m * 2^k with m near 1, takes square roots of m until
// it is as near to 1 as makes the series short, and sums
// ln y = 2 artanh((y-1)/(y+1)).
func computeLn(x *big.Float, prec uint) *big.Float {
	m := new(big.Float)
	k := x.MantExp(m)
	if m.Cmp(newFloat(64, math.Sqrt2/2)) < 0 {
		m.SetMantExp(m, 1)
		k--
	}
	// y - 1 and z are computed from roots that err in their last place; as
	// near to 1 as 2^-near, that costs near bits. No root: no error.
	near := int(math.Sqrt(float64(prec)) * 0.8)
	working := max(prec, x.Prec()) + uint(near) + 32
	y := new(big.Float).SetPrec(working).Set(m)
	distance := new(big.Float).SetPrec(working).Sub(y, newFloat(64, 1))
	if distance.Sign() == 0 {
		return lnOfPowerOfTwo(k, prec)
	}
	roots := max(0, near+distance.MantExp(nil))
	for range roots {
		y.Sqrt(y)
	}
	distance.Sub(y, newFloat(64, 1))
	z := distance.Quo(distance, y.Add(y, newFloat(64, 1)))
	sum := artanhSeries(z, working)
	sum.SetMantExp(sum, roots+1)
	if k != 0 {
		sum.Add(sum, lnOfPowerOfTwo(k, working))
	}
	return sum.SetPrec(prec)
}

func lnOfPowerOfTwo(k int, prec uint) *big.Float {
	if k == 0 {
		return newFloat(prec, 0)
	}
	ln2 := base(2).ln(prec + 32)
	return ln2.Mul(ln2, newFloat(64, float64(k))).SetPrec(prec)
}

// artanhSeries is z + z^3/3 + z^5/5 + ... for |z| < 1/2.
func artanhSeries(z *big.Float, prec uint) *big.Float {
	sum := new(big.Float).SetPrec(prec).Set(z)
	square := new(big.Float).SetPrec(prec).Mul(z, z)
	power := new(big.Float).SetPrec(prec).Set(z)
	term := new(big.Float).SetPrec(prec)
	smallest := z.MantExp(nil) - int(prec) - 1
	for n := 3.0; ; n += 2 {
		power.Mul(power, square)
		if term.Quo(power, newFloat(64, n)); term.MantExp(nil) < smallest || term.Sign() == 0 {
			return sum
		}
		sum.Add(sum, term)
	}
}

// Exp is e^x to prec bits, within one unit in the last place; +Inf above and 0
// below what a big.Float can hold (beyond 2^30 binary digits).
func Exp(x *big.Float, prec uint) *big.Float {
	if x.Sign() == 0 {
		return newFloat(prec, 1)
	}
	if x.IsInf() || x.MantExp(nil) > 30 {
		if x.Sign() < 0 {
			return newFloat(prec, 0)
		}
		return new(big.Float).SetPrec(prec).SetInf(false)
	}
	// x = k ln 2 + r; r is halved until the series is short, and the result
	// squared as often. Each squaring doubles the relative error.
	halvings := int(math.Sqrt(float64(prec))*0.8) + 1
	working := prec + uint(halvings) + 32
	approximate, _ := x.Float64()
	k := math.RoundToEven(approximate / math.Ln2)
	r := lnOfPowerOfTwo(int(k), working+32)
	r.Sub(x, r.SetPrec(max(working, x.Prec())+32))
	r.SetMantExp(r, -halvings)
	sum := expSeries(r, working)
	for range halvings {
		sum.Mul(sum, sum)
	}
	return sum.SetMantExp(sum, int(k)).SetPrec(prec)
}

// expSeries is 1 + r + r^2/2! + ... for small |r|.
func expSeries(r *big.Float, prec uint) *big.Float {
	sum := newFloat(prec, 1)
	term := newFloat(prec, 1)
	for n := 1.0; ; n++ {
		term.Mul(term, r)
		term.Quo(term, newFloat(64, n))
		if term.Sign() == 0 || term.MantExp(nil) < -int(prec) {
			return sum
		}
		sum.Add(sum, term)
	}
}
