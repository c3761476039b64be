package find

import (
	"math"
	"slices"
)

// bound is how many standard deviations lie within 99.7 %.
const bound = 3

// straight is the line through points (x, y): y = at + slope x, by least squares
// in which what lies far off counts for nothing.
type straight struct {
	at, slope float64
	off       float64 // standard deviation of the points about it
	slopeOff  float64 // standard error of the slope
}

// straightThrough fits a line; points more than four standard deviations off, as
// the middle one of the errors tells them (1.4826 times it, F. Hampel, The influence
// curve and its role in robust estimation, 1974), are left out when it is fitted
// again.
func straightThrough(x, y []float64) straight {
	use := make([]bool, len(x))
	for i := range use {
		use[i] = true
	}
	var s straight
	errors := make([]float64, len(x))
	for range 4 {
		s = straightOf(x, y, use)
		for i := range x {
			errors[i] = math.Abs(y[i] - s.at - s.slope*x[i])
		}
		most := 4*1.4826*median(slices.Clone(errors)) + floorSec
		for i := range x {
			use[i] = errors[i] <= most
		}
	}
	return s
}

func straightOf(x, y []float64, use []bool) straight {
	n, mx, my := 0.0, 0.0, 0.0
	for i := range x {
		if use[i] {
			n, mx, my = n+1, mx+x[i], my+y[i]
		}
	}
	mx, my = mx/n, my/n
	xx, xy := 0.0, 0.0
	for i := range x {
		if use[i] {
			xx, xy = xx+(x[i]-mx)*(x[i]-mx), xy+(x[i]-mx)*(y[i]-my)
		}
	}
	s := straight{slope: xy / xx}
	s.at = my - s.slope*mx
	sse := 0.0
	for i := range x {
		if use[i] {
			e := y[i] - s.at - s.slope*x[i]
			sse += e * e
		}
	}
	s.off = deviation(sse, int(n), 2)
	s.slopeOff = s.off / math.Sqrt(xx)
	return s
}

// bent reports whether a parabola goes through the points far better than a
// line: the speed between two voices changes.
func bent(x, y []float64, s straight) bool {
	n := len(x)
	if n < 8 {
		return false
	}
	lo, hi := x[0], x[0]
	for _, v := range x {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	// Residuals of the line against the second Legendre polynomial, which a line
	// through evenly spread points leaves untouched.
	pp, pr, sse := 0.0, 0.0, 0.0
	used := 0
	for i := range x {
		e := y[i] - s.at - s.slope*x[i]
		if math.Abs(e) > 6*s.off {
			continue
		}
		u := 2*(x[i]-lo)/(hi-lo) - 1
		p := (3*u*u - 1) / 2
		pp, pr, sse, used = pp+p*p, pr+p*e, sse+e*e, used+1
	}
	gain := pr * pr / pp
	if gain >= sse {
		return true
	}
	return deviance(sse, used)-deviance(sse-gain, used) > 12
}

// outward widens bounds to round numbers: two digits of their half width.
func outward(low, high float64) (float64, float64) {
	half := math.Max((high-low)/2, 1e-9)
	digit := math.Pow(10, math.Floor(math.Log10(half))-1)
	if digit < 1e-10 {
		digit = 1e-10
	}
	places := math.Round(1 / digit)
	return math.Floor(low*places) / places, math.Ceil(high*places) / places
}
