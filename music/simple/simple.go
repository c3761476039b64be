// Package simple lists the simple numbers of a range: fractions p/q in lowest
// terms, and those times a root, phi, pi, e and the like. They have no unit and are
// exact; the bounds of a range are float64 and included.
package simple

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"rollwright/exact"
)

// Most is how large p + q is unless asked for otherwise.
const Most = 40

// rarer is by how much smaller p + q has to be where a root stands beside them.
const rarer = 4

// Number is a simple number and its nearest float64.
type Number struct {
	Value   exact.Real
	Decimal float64
}

// Between are the simple numbers from low to high, ascending, with p + q at most
// most; at most a quarter of it beside a root. Roots are sqrt(2), sqrt(3), sqrt(5),
// sqrt(6), sqrt(7), cbrt(2), cbrt(3), phi, pi and e.
func Between(low, high float64, most int) []Number {
	var out []Number
	for i, r := range triedRoots {
		sum := int64(most)
		if i > 0 {
			sum /= rarer
		}
		for f := range fractions(low, high, r.size, sum-1) {
			if f.p+f.q > sum {
				continue
			}
			value := f.times(r.value)
			if x := value.Float64(); x >= low && x <= high {
				out = append(out, Number{value, x})
			}
		}
	}
	slices.SortFunc(out, func(a, b Number) int { return a.Value.Cmp(b.Value) })
	return out
}

// Named are at most n simple numbers within bounds, the simplest first: what a number
// that was measured may be. What is simple is how few bits numerator, denominator and
// root take. It knows more roots than Between: all of whole numbers up to 99, cube
// roots, the steps of equal temperament, and fractions up to 160/160 beside none.
func Named(low, high float64, n int) []exact.Real {
	type candidate struct {
		root *root
		fraction
		cost float64
	}
	var found []candidate
	for i := range namedRoots {
		r := &namedRoots[i]
		for f := range fractions(low, high, r.size, r.most) {
			found = append(found, candidate{r, f, r.cost + math.Log2(float64(f.p)) + math.Log2(float64(f.q))})
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int { return cmp.Compare(a.cost, b.cost) })
	var out []exact.Real
	for _, c := range found {
		x := c.times(c.root.value)
		if v := x.Float64(); v < low-rounding || v > high+rounding {
			continue
		}
		if slices.ContainsFunc(out, func(y exact.Real) bool { return x.Equal(y) == exact.Yes }) {
			continue
		}
		if out = append(out, x); len(out) == n {
			break
		}
	}
	return out
}

// rounding is what the float64 of a number near 1 may be off by.
const rounding = 1e-15

// fraction is p/q.
type fraction struct{ p, q int64 }

func (f fraction) times(r exact.Real) exact.Real { return exact.Frac(f.p, f.q).Mul(r) }

// slack is what a product of float64 may be off by, with much to spare.
const slack = 1e-9

// fractions are p/q in lowest terms, p and q at most most, that times size are from
// low to high, or a hair outside.
func fractions(low, high, size float64, most int64) iter.Seq[fraction] {
	return func(yield func(fraction) bool) {
		for q := int64(1); q <= most; q++ {
			scale := float64(q) / size
			first := math.Ceil(low * (1 - slack) * scale)
			for p := max(1, int64(min(first, float64(most+1)))); p <= most && float64(p) <= high*(1+slack)*scale; p++ {
				if gcd(p, q) == 1 && !yield(fraction{p, q}) {
					return
				}
			}
		}
	}
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
