package find

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"rollwright/exact"
)

// root is a number that simple fractions are multiplied by.
type root struct {
	text  string
	value float64
	cost  float64 // how far from simple, in bits, beside the fraction
	most  int64   // bound of numerator and denominator
}

// roots are what composers reckon with: 1, roots, the golden ratio, pi and e, the
// steps of equal temperament.
var roots = makeRoots()

func makeRoots() []root {
	out := []root{
		{"1", 1, 0, 160},
		{"phi", (1 + math.Sqrt(5)) / 2, 3.5, 12},
		{"pi", math.Pi, 3.5, 12}, {"e", math.E, 3.5, 12},
		{"1/phi", (math.Sqrt(5) - 1) / 2, 4, 12},
		{"1/pi", 1 / math.Pi, 4.5, 12}, {"1/e", 1 / math.E, 4.5, 12},
		{"e/pi", math.E / math.Pi, 5, 4}, {"pi/e", math.Pi / math.E, 5, 4},
		{"cbrt(2)", math.Cbrt(2), 5, 8}, {"cbrt(3)", math.Cbrt(3), 5.5, 8},
		{"cbrt(4)", math.Cbrt(4), 6, 8}, {"cbrt(5)", math.Cbrt(5), 6.5, 8}, {"cbrt(9)", math.Cbrt(9), 6.5, 8},
	}
	for n := int64(2); n <= 99; n++ {
		if squareFree(n) {
			out = append(out, root{"sqrt(" + strconv.FormatInt(n, 10) + ")", math.Sqrt(float64(n)), 1.5 + math.Log2(float64(n)),
				16})
		}
	}
	for k := 1; k < 12; k++ {
		if k != 4 && k != 6 && k != 8 { // roots that stand above
			out = append(out, root{"pow(2, " + exact.NewRat(int64(k), 12).String() + ")", math.Pow(2, float64(k)/12), 7, 4})
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

// mostNear is how many numbers are named for one speed.
const mostNear = 8

// Simple are the simple numbers within bounds, both included, the simplest first:
// fractions, and those times a root, pi, e or phi. What is simple is how few bits
// numerator, denominator and root take.
func Simple(low, high float64) []exact.Real {
	type number struct {
		root     root
		num, den int64
		cost     float64
	}
	var found []number
	for _, r := range roots {
		for den := int64(1); den <= r.most; den++ {
			scale := float64(den) / r.value
			for num := int64(math.Ceil(low*scale - 1e-12)); num <= r.most && float64(num) <= high*scale+1e-12; num++ {
				if num < 1 || gcd(num, den) != 1 {
					continue
				}
				cost := r.cost + math.Log2(float64(num)) + math.Log2(float64(den))
				found = append(found, number{r, num, den, cost})
			}
		}
	}
	slices.SortStableFunc(found, func(a, b number) int { return cmp.Compare(a.cost, b.cost) })
	var out []exact.Real
	for _, n := range found {
		x := exact.Frac(n.num, n.den).Mul(exact.MustParse(n.root.text))
		if v := x.Float64(); v < low-1e-15 || v > high+1e-15 {
			continue
		}
		if slices.ContainsFunc(out, func(y exact.Real) bool { return x.Equal(y) == exact.Yes }) {
			continue
		}
		if out = append(out, x); len(out) == mostNear {
			break
		}
	}
	return out
}
