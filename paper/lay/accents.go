package lay

import (
	"math"

	"rollwright/paper/roll"
)

// accents chooses for which instants of one half its theme port opens. It opens
// lead before each of them and shuts close after it, and everything of the half
// that begins meanwhile is accented too. Where the next opening follows before
// the port has had its gap, the one before is shortened, down to a punch; where
// that does not do, the two become one.
type accents struct {
	timing
	list    []instant
	loud    []float64 // cost of all instants before i, accented
	plain   []float64 // the same, plain
	wanted  []bool    // the instant alone would be accented
	least   []float64 // cost of all instants up to i, when the port opens for i
	before  []int32   // the instant for which it opened before; -1: none
	nothing stretch   // the best that can stand before a stretch of plain instants
}

// stretch is the beginning of a stretch of plain instants.
type stretch struct {
	after int32   // the instant for which the port opened last; -1: none
	cost  float64 // of everything before the stretch, less that of the same as plain
}

func newAccents(l *layer, list []instant) *accents {
	levels := &l.in.Levels
	n := len(list)
	a := &accents{
		timing: l.timing(), list: list,
		loud: make([]float64, n+1), plain: make([]float64, n+1), wanted: make([]bool, n),
		least: make([]float64, n), before: make([]int32, n), nothing: stretch{after: -1},
	}
	for i := range list {
		loud, plain := list[i].apart(levels.AccentLevel), list[i].apart(levels.PlainLevel)
		a.loud[i+1], a.plain[i+1] = a.loud[i]+loud, a.plain[i]+plain
		a.wanted[i] = loud <= plain
	}
	return a
}

// wish is what an opening for an instant that wants it takes off the cost: less
// than any difference of squares, so that of equals the accent is chosen.
const wish = 1.0 / 1024

// choose finds the openings that come closest to what is written, of all that
// the port can do. For each instant the least cost is kept with an opening for
// it: after the best stretch of plain instants, or after one of the few openings
// so near that the two touch. The work grows with the instants.
func (a *accents) choose() []bool {
	far, plain := 0, 0 // openings before far leave the port its gap; instants before plain come before it opens
	for i := range a.list {
		opens := a.list[i].sec - a.lead
		for ; far < i && a.list[far].sec+a.close+a.gap+a.row <= opens; far++ {
			a.nothing = a.better(far)
		}
		for plain < i && a.list[plain].sec < opens-a.row {
			plain++
		}
		a.before[i] = a.nothing.after
		a.least[i] = a.nothing.cost + a.plain[plain] + a.loud[i+1] - a.loud[plain]
		for p := far; p < i; p++ {
			if c := a.least[p] + a.between(p, i, plain); c < a.least[i] {
				a.least[i], a.before[i] = c, int32(p)
			}
		}
		if a.wanted[i] {
			a.least[i] -= wish
		}
	}
	for ; far < len(a.list); far++ {
		a.nothing = a.better(far)
	}
	chosen := make([]bool, len(a.list))
	for i := a.nothing.after; i >= 0; i = a.before[i] {
		chosen[i] = true
	}
	return chosen
}

// better is what stands best before plain instants: what has so far, or an
// opening for p. Of equals it is the opening.
func (a *accents) better(p int) stretch {
	end := a.from(p+1, a.list[p].sec+a.close)
	cost := a.least[p] + a.loud[end] - a.loud[p+1] - a.plain[end]
	if cost <= a.nothing.cost {
		return stretch{int32(p), cost}
	}
	return a.nothing
}

// from is the first instant, of those from i on, that begins at sec or later.
func (a *accents) from(i int, sec float64) int {
	for i < len(a.list) && a.list[i].sec < sec {
		i++
	}
	return i
}

// between is the cost of the instants after p up to i, with openings for both
// and none between. Those before plain come before the port opens for i.
func (a *accents) between(p, i, plain int) float64 {
	all := a.loud[i+1] - a.loud[p+1]
	shut, parted := a.parted(p, i)
	if !parted {
		return all
	}
	begin := a.from(p+1, shut)
	if begin >= plain {
		return all
	}
	return all - (a.loud[plain] - a.loud[begin]) + a.plain[plain] - a.plain[begin]
}

// parted is when the port shuts after p, the next opening being for i, and false
// when it does not.
func (a *accents) parted(p, i int) (shut float64, ok bool) {
	shut = min(a.list[p].sec+a.close, a.list[i].sec-a.lead-a.gap-a.row)
	return shut, shut >= a.list[p].sec-a.lead+a.punch-noiseSec
}

// noiseSec is a time that only arithmetic can have made.
const noiseSec = 1e-9

// strike opens the port for the chosen instants. An opening serves as many of
// them as are not parted.
func (a *accents) strike(l *layer, port int32, chosen []bool) {
	last := -1 // the instant before, for which the port is open
	var open stroke
	var more []roll.Cause
	lay := func(shut float64) {
		open.endSec = min(shut, a.list[last].sec+l.in.Levels.AccentCloseSec) // a punch may last longer
		l.strike(open)
		causes := &l.roll.Slots[l.pending[port].slot].Causes
		for _, c := range more {
			l.addCause(causes, c)
		}
		more = more[:0]
	}
	for i := range a.list {
		if !chosen[i] {
			continue
		}
		if last >= 0 {
			shut, parted := a.parted(last, i)
			if !parted {
				more = append(more, a.list[i].cause)
				last = i
				continue
			}
			lay(shut)
		}
		open = stroke{startSec: a.list[i].sec - a.lead, port: port, cause: a.list[i].cause}
		last = i
	}
	if last >= 0 {
		lay(math.Inf(1))
	}
}
