package perform

import (
	"math/bits"

	"rollwright/exact"
)

// factor is what multiplies the durations of a statement, or of an item: a
// cycle of values, or else the powers of one.
type factor struct {
	cycle []exact.Real
	each  exact.Real // statement i has it i times; used when cycle is empty
}

// trivial reports whether every value is 1.
func (f factor) trivial() bool { return len(f.cycle) == 0 && f.each.Equal(exact.Real{}) == exact.Yes }

// grows reports whether values never come back: powers of something but 1.
func (f factor) grows() bool { return len(f.cycle) == 0 && !f.trivial() }

// period is after how many values they come again; 0 when they never do.
func (f factor) period() int {
	if f.grows() {
		return 0
	}
	return max(len(f.cycle), 1)
}

// growth is the natural logarithm of one value to the one before, 0 for a
// cycle.
func (f factor) growth() float64 {
	if !f.grows() {
		return 0
	}
	log, _ := exact.Ln(f.each.Float(64), 64).Float64()
	return log
}

// wholes is a factor in whole numbers: value i is common * at(i) / den.
type wholes struct {
	values []int64 // nil: always 1
	cyclic bool
	den    int64
	common exact.Real
}

func (w *wholes) at(i int) int64 {
	switch {
	case w.values == nil:
		return 1
	case w.cyclic:
		return w.values[i%len(w.values)]
	}
	return w.values[i]
}

// maxCount bounds whole numbers to what a float64 holds exactly.
const maxCount = 1 << 53

// wholes writes the first n values in whole numbers. It is false when they are
// not fractions of each other, or the numbers would pass maxCount.
func (f factor) wholes(n int) (wholes, bool) {
	switch {
	case f.trivial():
		return wholes{den: 1}, true
	case len(f.cycle) > 0:
		return cycleWholes(f.cycle)
	}
	big, ok := f.each.Rat()
	if !ok {
		return wholes{}, false
	}
	ratio, ok := exact.FromBig(big)
	if !ok {
		return wholes{}, false
	}
	return powerWholes(ratio, n)
}

func cycleWholes(cycle []exact.Real) (wholes, bool) {
	w := wholes{cyclic: true, den: 1, common: cycle[0]}
	ratios := make([]exact.Rat, len(cycle))
	for i, x := range cycle {
		big, ok := x.Quo(w.common).Rat()
		if !ok {
			return w, false
		}
		if ratios[i], ok = exact.FromBig(big); !ok {
			return w, false
		}
	}
	var ok bool
	w.values, w.den, ok = overCommonDenominator(ratios)
	return w, ok
}

// powerWholes are p^i * q^(n-1-i) over q^(n-1), for the ratio p/q.
func powerWholes(ratio exact.Rat, n int) (wholes, bool) {
	if n > 64 { // p or q is at least 2
		return wholes{}, false
	}
	w := wholes{values: make([]int64, n), den: 1}
	for i := range n {
		value, ok := int64(1), true
		for range i {
			if value, ok = mulCount(value, ratio.Num()); !ok {
				return w, false
			}
		}
		for range n - 1 - i {
			if value, ok = mulCount(value, ratio.Den()); !ok {
				return w, false
			}
		}
		w.values[i] = value
		if i < n-1 {
			if w.den, ok = mulCount(w.den, ratio.Den()); !ok {
				return w, false
			}
		}
	}
	return w, true
}

// overCommonDenominator writes fractions as whole numbers over one
// denominator, the least; false when a number passes maxCount.
func overCommonDenominator(fractions []exact.Rat) (nums []int64, den int64, ok bool) {
	den = 1
	for _, r := range fractions {
		if den, ok = mulCount(den, r.Den()/gcd(den, r.Den())); !ok {
			return nil, 0, false
		}
	}
	nums = make([]int64, len(fractions))
	for i, r := range fractions {
		if nums[i], ok = mulCount(r.Num(), den/r.Den()); !ok {
			return nil, 0, false
		}
	}
	return nums, den, true
}

// mulCount is a*b of positive numbers; false when it passes maxCount.
func mulCount(a, b int64) (int64, bool) {
	high, low := bits.Mul64(uint64(a), uint64(b))
	return int64(low), high == 0 && low <= maxCount
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// values is a factor as dd, any of them at once.
type values struct {
	cycle  []dd
	powers *powers // nil: a cycle, of 1 when empty
}

func (f factor) values(common exact.Real) values {
	var v values
	for _, x := range f.cycle {
		v.cycle = append(v.cycle, ddReal(x.Quo(common)))
	}
	if f.grows() {
		v.powers = newPowers(ddReal(f.each))
	}
	return v
}

func ddReal(x exact.Real) dd { return ddBig(x.Float(workPrec)) }

func (v *values) at(i int) dd {
	switch {
	case v.powers != nil:
		return v.powers.at(i)
	case len(v.cycle) > 0:
		return v.cycle[i%len(v.cycle)]
	}
	return dd{1, 0}
}

// reserve makes at safe for every index up to n.
func (v *values) reserve(n int) {
	if v.powers != nil {
		v.powers.reserve(n)
	}
}
