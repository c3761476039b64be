// Package simple lists the simple numbers of a range: fractions p/q, and those
// times sqrt(2), sqrt(3), sqrt(5), sqrt(6), sqrt(7), cbrt(2), cbrt(3), phi, pi
// and e, in lowest terms, with p + q below a bound. They have no unit and are
// exact; the bounds of the range are float64 and included.
package simple

import (
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

var roots = []exact.Real{
	{}, root(2, 2), root(3, 2), root(5, 2), root(6, 2), root(7, 2), root(2, 3), root(3, 3), exact.Phi, exact.Pi, exact.E,
}

func root(x, n int64) exact.Real { return exact.Frac(x, 1).Pow(exact.NewRat(1, n)) }

// Between are the simple numbers from low to high, ascending, with p + q at most
// most; at most a quarter of it beside a root.
func Between(low, high float64, most int) []Number {
	var out []Number
	for i, r := range roots {
		size, sum := r.Float64(), most
		if i > 0 {
			sum = most / rarer
		}
		for p := 1; p < sum; p++ {
			for q := 1; p+q <= sum; q++ {
				if x := float64(p) / float64(q) * size; x < low*(1-slack) || x > high*(1+slack) || gcd(p, q) != 1 {
					continue
				}
				value := exact.Frac(int64(p), int64(q)).Mul(r)
				if x := value.Float64(); x >= low && x <= high {
					out = append(out, Number{value, x})
				}
			}
		}
	}
	slices.SortFunc(out, func(a, b Number) int { return a.Value.Cmp(b.Value) })
	return out
}

// slack is what a product of float64 may be off by, with much to spare.
const slack = 1e-9

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
