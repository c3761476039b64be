package plan

import (
	"math/big"
	"slices"

	"rollwright/exact"
)

// onsets are the instants at which the notes of one voice begin. Note i+1 has
// index i in every slice.
type onsets struct {
	ns    []int64 // nanoseconds in piece time, rounded half up, rising
	steps *steps  // nil: durations are not fractions of one unit
	clock clock
}

// steps are the same onsets as whole steps from the start of the voice.
type steps struct {
	at      []int64
	size    exact.Real // units in one step
	cycle   *cycle     // nil: the talea does not simply go on
	noCycle string     // why not: a clause with the voice as its subject
}

// cycle is what a voice repeats when it goes on for ever, in steps: the places
// of its notes in it, rising, the first at 0 or later.
type cycle struct {
	length int64
	items  int // sounding and silent
	at     []int64
}

// clock turns units to seconds: start + n*unit.
type clock struct {
	start   exact.Sum
	unit    exact.Real // seconds in a unit
	known   bool       // start and unit are exact
	unknown string     // why not, if the tempo is one: a clause with the voice as its subject
}

// exact says whether both steps and clock are known exactly.
func (o *onsets) exact() bool { return o.steps != nil && o.clock.known }

// step is the length of one step in seconds.
func (o *onsets) step() exact.Real {
	return o.clock.unit.Mul(o.steps.size)
}

// time is the exact instant that lies n steps after the start.
func (o *onsets) time(n *big.Int) exact.Sum { return o.between(new(big.Rat).SetInt(n)) }

// between is the exact instant that lies n steps after the start, n not
// necessarily whole.
func (o *onsets) between(n *big.Rat) exact.Sum {
	return o.clock.start.Add(exact.SumOf(o.step()).Scale(n))
}

// note is the exact onset of the note with index i.
func (o *onsets) note(i int) exact.Sum { return o.time(big.NewInt(o.steps.at[i])) }

// ordinal is the number of the note that begins n steps after the start when
// the talea goes on for ever, and false when none does.
func (c *cycle) ordinal(n int64) (int64, bool) {
	if n < 0 {
		return 0, false
	}
	turn, place := n/c.length, n%c.length
	i, found := slices.BinarySearch(c.at, place)
	return turn*int64(len(c.at)) + int64(i) + 1, found
}
