package tempo

import (
	"math"
	"math/big"

	"rollwright/exact"
)

// EachNote is a factor by which every note is longer (above 1) or shorter
// (below 1) than the one before: the n-th has its duration times factor^(n-1).
type EachNote struct {
	factor float64
	less   float64 // factor - 1, relatively precise
	ln     double  // its logarithm
}

// NewEachNote prepares the factor.
func NewEachNote(factor exact.Real) EachNote {
	if factor.Cmp(exact.Real{}) == 0 {
		return EachNote{factor: 1}
	}
	prec := boundBits + lostBits(factor)
	less := factor.Float(prec)
	e := EachNote{factor: factor.Float64(), ln: newDouble(exact.Ln(less, boundBits))}
	e.less, _ = less.Sub(less, number(1, prec)).Float64()
	return e
}

// eachNoteOf is for a factor that is a float64 and no more.
func eachNoteOf(r float64) EachNote {
	return EachNote{factor: r, less: r - 1, ln: double{hi: math.Log1p(r - 1)}}
}

// Power is factor^n, wrong by less than 2^-50 of itself where it is between
// 10^-100 and 10^100; n need not be whole.
func (e EachNote) Power(n float64) float64 {
	high, low := e.exponent(n)
	power := math.Exp(high)
	return power + power*low
}

// exponent is n ln factor in two parts, the second very small.
func (e EachNote) exponent(n float64) (high, low float64) {
	high = n * e.ln.hi
	return high, math.FMA(n, e.ln.hi, -high) + n*e.ln.lo
}

// Sum is what n notes last together, the first of which lasts d: d times
// (factor^n - 1)/(factor - 1), and d*n for factor 1 (the geometric series). It
// is wrong by less than 2^-49 of itself under the condition of Power.
func (e EachNote) Sum(d, n float64) float64 {
	if e.less == 0 {
		return d * n
	}
	high, low := e.exponent(n)
	less := math.Expm1(high)
	return d * ((less + (less+1)*low) / e.less)
}

// Limit is what all notes last together, for ever: d/(1 - factor), and +Inf
// for a factor of 1 or more.
func (e EachNote) Limit(d float64) float64 {
	if e.less >= 0 {
		return math.Inf(1)
	}
	return d / -e.less
}

// Count is the inverse of Sum: how many notes, the first of which lasts d, last
// so many seconds. It is +Inf for the limit and beyond.
func (e EachNote) Count(d, seconds float64) float64 {
	if e.less == 0 {
		return seconds / d
	}
	growth := seconds / d * e.less
	if growth <= -1 {
		return math.Inf(1)
	}
	return math.Log1p(growth) / e.ln.hi
}

// GeometricSum is what n notes last together when the first lasts d and each
// next one r times the one before, r more than 0: d*(1 - r^n)/(1 - r), and d*n
// for r = 1.
func GeometricSum(d, r float64, n int) float64 { return eachNoteOf(r).Sum(d, float64(n)) }

// GeometricCount is the inverse of GeometricSum: the number of notes, a whole
// one or not, that last so many seconds; +Inf when they never do.
func GeometricCount(d, r, seconds float64) float64 { return eachNoteOf(r).Count(d, seconds) }

// BetweenNotes is the factor from note to note when the first of n notes lasts
// first and the last one last: the (n-1)-th root of last/first. It panics for
// less than two notes.
func BetweenNotes(first, last exact.Real, n int) exact.Real {
	if n < 2 {
		panic("tempo: a factor between notes needs two notes")
	}
	return last.Quo(first).Pow(exact.NewRat(1, int64(n-1)))
}

// BigSum is Sum to prec bits, for proofs and tests: term by term, without a
// closed formula.
func BigSum(d *big.Float, factor exact.Real, n int, prec uint) *big.Float {
	working := prec + 64
	sum, r := number(0, working), factor.Float(working)
	term := new(big.Float).SetPrec(working).Set(d)
	for range n {
		sum.Add(sum, term)
		term.Mul(term, r)
	}
	return sum.SetPrec(prec)
}
