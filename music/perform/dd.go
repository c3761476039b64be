package perform

import (
	"math"
	"math/big"
)

// dd is a number as the unevaluated sum of two float64, hi the nearest to it:
// about 106 bits. Positions and times are kept so while they are added up,
// and rounded to one float64 only when they leave (T. J. Dekker, Numerische
// Mathematik 18 (1971) 224-242; D. E. Knuth, Seminumerical Algorithms, 4.2.2).
// Products are converted explicitly so that no compiler fuses them with a sum.
type dd struct{ hi, lo float64 }

// twoSum is a+b exactly, as its nearest float64 and what that leaves.
func twoSum(a, b float64) dd {
	s := a + b
	t := s - a
	return dd{s, (a - (s - t)) + (b - t)}
}

// quickSum is twoSum for |a| >= |b|.
func quickSum(a, b float64) dd {
	s := a + b
	return dd{s, b - (s - a)}
}

func (x dd) add(y dd) dd {
	s := twoSum(x.hi, y.hi)
	t := twoSum(x.lo, y.lo)
	s = quickSum(s.hi, s.lo+t.hi)
	return quickSum(s.hi, s.lo+t.lo)
}

func (x dd) sub(y dd) dd { return x.add(dd{-y.hi, -y.lo}) }

func (x dd) mul(y dd) dd {
	p := x.hi * y.hi
	e := math.FMA(x.hi, y.hi, -p)
	return quickSum(p, e+(float64(x.hi*y.lo)+float64(x.lo*y.hi)))
}

// times is x*f, a little faster than mul.
func (x dd) times(f float64) dd {
	p := x.hi * f
	e := math.FMA(x.hi, f, -p)
	return quickSum(p, e+float64(x.lo*f))
}

// ddBig is the dd nearest to f.
func ddBig(f *big.Float) dd {
	hi, _ := f.Float64()
	if math.IsInf(hi, 0) {
		return dd{hi, 0}
	}
	rest := new(big.Float).SetPrec(f.Prec()+64).Sub(f, big.NewFloat(hi))
	lo, _ := rest.Float64()
	return dd{hi, lo}
}

// big is x as a big.Float of workPrec bits. x must be finite.
func (x dd) big() *big.Float {
	f := new(big.Float).SetPrec(workPrec).SetFloat64(x.hi)
	return f.Add(f, big.NewFloat(x.lo))
}

// workPrec is the precision in bits of the few numbers that are worked out
// once for each voice: lengths, speeds, places.
const workPrec = 256

// powers is the table of a number's powers: any one of them costs one
// multiplication. Each is within 2^-90 of exact, relatively, for exponents up
// to a few million.
type powers struct {
	base  dd
	small []dd // base^0 ... base^1023
	large []dd // (base^1024)^0, ...; grows
}

const powersRow = 1024

func newPowers(base dd) *powers {
	p := &powers{base: base, small: []dd{{1, 0}}, large: []dd{{1, 0}}}
	for range powersRow - 1 {
		p.small = append(p.small, p.small[len(p.small)-1].mul(base))
	}
	return p
}

// reserve makes at(n) safe for every n up to the one given; at never writes,
// so several readers may use it at once.
func (p *powers) reserve(n int) {
	row := p.small[powersRow-1].mul(p.base)
	for len(p.large) <= n/powersRow {
		p.large = append(p.large, p.large[len(p.large)-1].mul(row))
	}
}

func (p *powers) at(n int) dd {
	if n < powersRow {
		return p.small[n]
	}
	return p.large[n/powersRow].mul(p.small[n%powersRow])
}
