package simple

import (
	"math"

	"rollwright/exact"
)

// root is a number that fractions are multiplied by.
type root struct {
	value exact.Real
	size  float64
	cost  float64 // how far from simple, in bits, beside the fraction
	most  int64   // bound of numerator and denominator
}

func newRoot(value exact.Real, cost float64, most int64) root {
	return root{value, value.Float64(), cost, most}
}

func power(x int64, exponent exact.Rat) exact.Real { return exact.Frac(x, 1).Pow(exponent) }

// triedRoots are those of Between, where most does not count.
var triedRoots = makeTriedRoots()

func makeTriedRoots() []root {
	out := []root{newRoot(exact.Real{}, 0, 0)}
	for _, x := range []int64{2, 3, 5, 6, 7} {
		out = append(out, newRoot(power(x, exact.NewRat(1, 2)), 0, 0))
	}
	for _, x := range []int64{2, 3} {
		out = append(out, newRoot(power(x, exact.NewRat(1, 3)), 0, 0))
	}
	for _, x := range []exact.Real{exact.Phi, exact.Pi, exact.E} {
		out = append(out, newRoot(x, 0, 0))
	}
	return out
}

// namedRoots are what composers reckon with: 1, roots, the golden ratio, pi and e, the
// steps of equal temperament.
var namedRoots = makeNamedRoots()

func makeNamedRoots() []root {
	out := []root{
		newRoot(exact.Real{}, 0, 160),
		newRoot(exact.Phi, 3.5, 12), newRoot(exact.Pi, 3.5, 12), newRoot(exact.E, 3.5, 12),
		newRoot(exact.Phi.Inv(), 4, 12), newRoot(exact.Pi.Inv(), 4.5, 12), newRoot(exact.E.Inv(), 4.5, 12),
		newRoot(exact.E.Quo(exact.Pi), 5, 4), newRoot(exact.Pi.Quo(exact.E), 5, 4),
	}
	for _, r := range []struct {
		of   int64
		cost float64
	}{{2, 5}, {3, 5.5}, {4, 6}, {5, 6.5}, {9, 6.5}} {
		out = append(out, newRoot(power(r.of, exact.NewRat(1, 3)), r.cost, 8))
	}
	for n := int64(2); n <= 99; n++ {
		if squareFree(n) {
			out = append(out, newRoot(power(n, exact.NewRat(1, 2)), 1.5+math.Log2(float64(n)), 16))
		}
	}
	for k := int64(1); k < 12; k++ {
		if k != 4 && k != 6 && k != 8 { // roots that stand above
			out = append(out, newRoot(power(2, exact.NewRat(k, 12)), 7, 4))
		}
	}
	return out
}

func squareFree(n int64) bool {
	for d := int64(2); d*d <= n; d++ {
		if n%(d*d) == 0 {
			return false
		}
	}
	return true
}
