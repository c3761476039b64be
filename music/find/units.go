package find

import (
	"cmp"
	"iter"
	"math"
	"slices"
)

// mostParts is how many units the shortest duration of a talea may have.
const mostParts = 48

// wholeDurations yields the ways in which durations could be whole numbers of a
// unit, the largest unit first, as far as a first look at their errors tells:
// three times what a chi-squared test (K. Pearson, 1900) would let pass, because
// a law of tempo that is a little off makes all durations so.
func wholeDurations(durations []float64, errorSec float64) iter.Seq[[]int64] {
	return func(yield func([]int64) bool) {
		order := make([]int, len(durations))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(durations[a], durations[b]) })
		shortest := durations[order[0]]
		if !(shortest > 0) {
			return
		}
		for parts := int64(1); parts <= mostParts; parts++ {
			unit := shortest / float64(parts)
			if unit < 3*errorSec {
				return
			}
			off := math.Hypot(3*errorSec, 0.02*unit)
			whole, left := wholeBy(durations, order, unit, off)
			if left <= chiSquared(len(durations)) && !yield(reduced(whole)) {
				return
			}
		}
	}
}

// chiSquared is what a chi-squared sum of so many errors stays below 999 times in
// 1000: the normal approximation, and a little for few.
func chiSquared(n int) float64 {
	return float64(n) + 3.1*math.Sqrt(2*float64(n)) + 6
}

// wholeBy rounds durations to units, the short ones first, and makes the unit
// better with each; left is the chi-squared sum of what is left over.
func wholeBy(durations []float64, order []int, unit, errorSec float64) (whole []int64, left float64) {
	whole = make([]int64, len(durations))
	nn, nd := 0.0, 0.0
	for _, i := range order {
		n := math.Max(1, math.Round(durations[i]/unit))
		whole[i] = int64(n)
		nn, nd = nn+n*n, nd+n*durations[i]
		unit = nd / nn
	}
	for i, d := range durations {
		e := (d - float64(whole[i])*unit) / math.Max(errorSec, 1e-7)
		left += e * e
	}
	return whole, left
}

// reduced divides whole numbers by what they have in common.
func reduced(whole []int64) []int64 {
	common := int64(0)
	for _, n := range whole {
		common = gcd(common, n)
	}
	if common <= 1 {
		return whole
	}
	out := make([]int64, len(whole))
	for i, n := range whole {
		out[i] = n / common
	}
	return out
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// simplest is the fraction with the smallest denominator between two positive
// numbers, both ends included (the first common node of their ways down the
// Stern-Brocot tree).
func simplest(low, high float64) (num, den int64) {
	whole := math.Ceil(low)
	if whole <= high {
		return int64(whole), 1
	}
	whole = math.Floor(low)
	a, b := simplest(1/(high-whole), 1/(low-whole))
	return int64(whole)*a + b, a
}
