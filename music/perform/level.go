package perform

import (
	"slices"
	"sort"

	"rollwright/music/piece"
)

// levels are the dynamics of a voice as a cycle in which a ramp takes as many
// places as it has notes.
type levels struct {
	members []piece.Dynamic
	ends    []int // place after each member
}

func newLevels(dynamics []piece.Dynamic) levels {
	l := levels{members: dynamics}
	if len(l.members) == 0 {
		l.members = []piece.Dynamic{{Level: mezzoForte}}
	}
	end := 0
	for _, d := range l.members {
		end += max(d.Over, 1)
		l.ends = append(l.ends, end)
	}
	return l
}

// mezzoForte is the level of a voice that says nothing (mf is 80 of 127:
// common practice, no source).
const mezzoForte = 80

// at is the level of note n, from 0.
func (l *levels) at(n int) int {
	if len(l.ends) == 1 && l.members[0].Over == 0 {
		return l.members[0].Level
	}
	n %= l.ends[len(l.ends)-1]
	i := sort.SearchInts(l.ends, n+1)
	return rampLevel(l.members[i], n-(l.ends[i]-max(l.members[i].Over, 1)))
}

// rampLevel is the level of note i of a ramp, from 0: the first has Level, the
// last To, and between them the steps are equal, rounded half up. A ramp over
// one note has To; what is no ramp, Level.
func rampLevel(d piece.Dynamic, i int) int {
	switch d.Over {
	case 0:
		return d.Level
	case 1:
		return d.To
	}
	steps := d.Over - 1
	twice := 2*(d.Level*steps+(d.To-d.Level)*i) + steps
	return twice / (2 * steps)
}

// change is what per_color or per_talea does to levels.
type change struct {
	dynamics     []int
	dynamicsEach int
}

func newChange(c piece.Change) change { return change{c.Dynamics, tame(c.DynamicsEach)} }

// tame bounds a number of levels, far beyond what is of use, so that no multiple of
// it overflows.
func tame(n int) int { return min(max(n, -1<<20), 1<<20) }

// level replaces and then changes the level of a note in statement i. A level
// that the note brings itself is not replaced.
func (c *change) level(level, i int, own bool) int {
	if len(c.dynamics) > 0 {
		if own {
			return level
		}
		return c.dynamics[i%len(c.dynamics)]
	}
	return level + c.dynamicsEach*i
}

// levelOf is the level of a note before loudness paths: its own, or by the dynamics;
// then changed by the statement of the color and that of the talea.
func (m *material) levelOf(own, note, color, statement int) int {
	level := own
	if own == 0 {
		level = m.levels.at(note)
	}
	level = m.perColor.level(level, color, own != 0)
	return m.perTalea.level(level, statement, own != 0)
}

// asPlayed holds a level to 1..127.
func asPlayed(level int) int16 { return int16(min(max(level, 1), 127)) }

// hold is how much of a written duration sounds, in float64.
type hold struct {
	kind  piece.HoldKind
	share float64
	sec   float64
}

func newHolds(list []piece.Hold) []hold {
	if len(list) == 0 {
		return []hold{{share: 1}}
	}
	holds := make([]hold, 0, len(list))
	for i := range list {
		holds = append(holds, newHold(&list[i]))
	}
	return slices.Clip(holds)
}

func newHold(h *piece.Hold) hold { return hold{h.Kind, h.Share.Float64(), h.Sec.Float64()} }

// Products of times are converted explicitly so that no compiler fuses them
// with a sum, and events are the same on every machine.

// end is when a stroke ends that is written from one time to another.
func (h *hold) end(from, to float64) float64 {
	switch {
	case h.kind == piece.HoldSingle:
		return from
	case h.kind == piece.HoldTime:
		return min(from+h.sec, to)
	case h.share == 1:
		return to
	}
	return from + float64(h.share*(to-from))
}
