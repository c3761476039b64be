package perform

import (
	"slices"

	"rollwright/music/piece"
)

// material is what a voice plays, ready to be struck note by note: everything
// but where its items stand in time.
type material struct {
	*cycles
	perColor, perTalea change
	levels             levels
	holds              []hold
	invert             *int
	transpose          int
	maxGraceSec        float64 // the longest time by which a stroke comes ahead of its note
	timed              bool    // some number of strokes depends on a duration
}

// newMaterial takes how the instrument repeats as fast as it can.
func newMaterial(v *piece.Voice, fastest repetition) *material {
	m := &material{
		cycles:    newCycles(v),
		perColor:  newChange(v.PerColor),
		perTalea:  newChange(v.PerTalea),
		levels:    newLevels(v.Dynamics),
		holds:     newHolds(v.Hold),
		invert:    v.Invert,
		transpose: tame(v.Transpose),
	}
	m.color = make([]pitch, 0, len(v.Color)) // a file may have a million
	for i := range v.Color {
		p := newPitch(v.Color[(i+m.colorTurn)%len(v.Color)], fastest)
		m.timed = m.timed || p.timed()
		if p.kind == piece.Grace {
			m.maxGraceSec = max(m.maxGraceSec, p.delay)
		}
		m.color = append(m.color, p)
	}
	return m
}

// shift is how a note's keys become those that sound: base + sign*key.
type shift struct{ base, sign int }

func (s shift) key(k int) int { return s.base + s.sign*k }

// shiftOf is the shift of a note in a statement of the color and of the talea:
// both move it, then it is mirrored, then moved with the whole voice.
func (m *material) shiftOf(color, statement int) shift {
	s := shift{m.perColor.semitones(color) + m.perTalea.semitones(statement), 1}
	if m.invert != nil {
		s = shift{2**m.invert - s.base, -1}
	}
	s.base += m.transpose
	return s
}

// within reports whether all keys of p are real keys when shifted.
func (s shift) within(p *pitch) bool {
	a, b := s.key(p.low), s.key(p.high)
	return min(a, b) >= 0 && max(a, b) <= maxKey
}

const maxKey = 127

// mover names the attribute that moved a key out of range, and is the key that
// came of it: the last of the changes that took it from inside to outside.
func (m *material) mover(p *pitch, color, statement int) (attribute string, key int) {
	for _, k := range p.keys {
		attribute, inside := "", true
		note := func(name string, moved int) {
			k = moved
			now := k >= 0 && k <= maxKey
			if inside && !now {
				attribute = name
			}
			inside = now
		}
		note("color", k)
		note("per_color.transpose", k+m.perColor.semitones(color))
		note("per_talea.transpose", k+m.perTalea.semitones(statement))
		if m.invert != nil {
			note("invert", 2**m.invert-k)
		}
		note("transpose", k+m.transpose)
		if !inside {
			return attribute, k
		}
	}
	return "", 0
}

// soundingKeys appends the keys of a note that sound, ascending.
func (m *material) soundingKeys(keys []int, member, color, statement int) []int {
	s, from := m.shiftOf(color, statement), len(keys)
	for _, k := range m.color[member].keys {
		keys = append(keys, s.key(k))
	}
	slices.Sort(keys[from:])
	return append(keys[:from], slices.Compact(keys[from:])...)
}
