package plan

import (
	"math"
	"math/bits"
	"slices"
)

// again finds where two taleae that go on for ever meet next.
//
// The instants of a lattice are numbered by k. Those at which a note of A
// begins are a set of residues of k, those of B another; the next meeting is
// the least k from a given one on that is in both.
type again struct {
	lattice lattice
	a, b    *cycle
}

// Bounds of the search. A walk through the instants of A finds what comes soon;
// the Chinese remainder theorem finds the rest, as long as the products of two
// taleae stay below what a person would wait for.
const (
	walkLimit   = 20_000
	combineMost = 100_000
)

// from is the least k >= least at which both have a note. sure is false when
// neither that nor its absence was found within the bounds.
func (g again) from(least int64) (k int64, found, sure bool) {
	setA, modA := residues(g.lattice.i0, g.lattice.di, g.a)
	setB, modB := residues(g.lattice.j0, g.lattice.dj, g.b)
	if len(setA) == 0 || len(setB) == 0 {
		return 0, false, true
	}
	if k, ok := walk(setA, modA, setB, modB, least); ok {
		return k, true, true
	}
	return combine(setA, modA, setB, modB, least)
}

// residues are all k modulo m for which start + k*by is a place of c: rising,
// each once.
func residues(start, by int64, c *cycle) (set []int64, m int64) {
	g := gcd(by, c.length)
	m = c.length / g
	inverse := invert(mod(by/g, m), m)
	for _, at := range c.at {
		if apart := mod(at-mod(start, c.length), c.length); apart%g == 0 {
			set = append(set, mulMod(mod(apart/g, m), inverse, m))
		}
	}
	slices.Sort(set)
	return slices.Compact(set), m
}

// walk tries the members of one set in turn, beginning at least.
func walk(setA []int64, modA int64, setB []int64, modB, least int64) (int64, bool) {
	base := least - mod(least, modA)
	at, _ := slices.BinarySearch(setA, mod(least, modA))
	for range walkLimit {
		if at == len(setA) {
			at = 0
			if base > math.MaxInt64-2*modA {
				return 0, false
			}
			base += modA
		}
		k := base + setA[at]
		if _, ok := slices.BinarySearch(setB, mod(k, modB)); ok {
			return k, true
		}
		at++
	}
	return 0, false
}

// combine solves k = x modulo modA, k = y modulo modB for every x and y that
// agree modulo the common factor.
func combine(setA []int64, modA int64, setB []int64, modB, least int64) (best int64, found, sure bool) {
	g := gcd(modA, modB)
	over, most := bits.Mul64(uint64(modA), uint64(modB/g))
	if over != 0 || most > math.MaxInt64/4 || least > math.MaxInt64/4 {
		return 0, false, false
	}
	period, pairs := int64(most), 0
	inverse := invert(mod(modA/g, modB/g), modB/g)
	classes := make(map[int64][]int64)
	for _, y := range setB {
		classes[y%g] = append(classes[y%g], y)
	}
	for _, x := range setA {
		for _, y := range classes[x%g] {
			if pairs++; pairs > combineMost {
				return 0, false, false
			}
			turns := mulMod(mod((y-x)/g, modB/g), inverse, modB/g)
			k := x + modA*turns
			if k += ceilDiv(least-k, period) * period; !found || k < best {
				best, found = k, true
			}
		}
	}
	return best, found, true
}

// invert is the inverse of a modulo m, for numbers without a common factor; 0
// modulo 1.
func invert(a, m int64) int64 {
	x, y := int64(1), int64(0)
	r, s := mod(a, m), m
	for s != 0 {
		q := r / s
		r, s = s, r-q*s
		x, y = y, x-q*y
	}
	return mod(x, m)
}

// mulMod is a*b modulo m for 0 <= a, b < m, without overflow.
func mulMod(a, b, m int64) int64 {
	high, low := bits.Mul64(uint64(a), uint64(b))
	_, rest := bits.Div64(high, low, uint64(m))
	return int64(rest)
}
