package perform

import (
	"slices"

	"rollwright/music/piece"
)

// material is what a voice plays, ready to be struck note by note: everything
// but where its items stand in time.
type material struct {
	*cycles
	voice              *piece.Voice
	perColor, perTalea change
	levels             levels
	holds              []hold
	maxGraceSec        float64 // the longest time by which a stroke comes ahead of its note
	timed              bool    // some number of strokes depends on a duration
}

// newMaterial takes how the instrument repeats as fast as it can.
func newMaterial(v *piece.Voice, fastest repetition) *material {
	m := &material{
		cycles:   newCycles(v),
		voice:    v,
		perColor: newChange(v.PerColor),
		perTalea: newChange(v.PerTalea),
		levels:   newLevels(v.Dynamics),
		holds:    newHolds(v.Hold),
	}
	m.color = make([]*pitch, 0, len(v.Color)) // a file may have a million
	single := map[[2]int]*pitch{}
	for i := range v.Color {
		written := &v.Color[(i+m.colorTurn)%len(v.Color)]
		known := [2]int{-1, written.Level}
		if len(written.Keys) == 1 && written.Gesture == nil && written.Hold == nil {
			known[0] = written.Keys[0]
			if p := single[known]; p != nil {
				m.color = append(m.color, p)
				continue
			}
		}
		p := newPitch(written, fastest)
		if known[0] >= 0 {
			single[known] = p
		}
		m.timed = m.timed || p.timed()
		if p.kind == piece.Grace {
			m.maxGraceSec = max(m.maxGraceSec, p.delay)
		}
		m.color = append(m.color, p)
	}
	return m
}

// within reports whether all keys of p are real keys when they are moved.
func within(m *piece.Move, p *pitch) bool {
	a, b := m.Key(p.low), m.Key(p.high)
	return min(a, b) >= 0 && max(a, b) <= maxKey
}

const maxKey = 127

// mover names the attribute that moved a key out of range, and is the key that
// came of it: the last of the changes that took it from inside to outside.
func (m *material) mover(p *pitch, color, statement int) (attribute string, key int) {
	move := m.voice.Move(color, statement)
	for _, k := range p.keys {
		if attribute, moved, beyond := move.Beyond(k, maxKey); beyond {
			return attribute, moved
		}
	}
	return "", 0
}

// soundingKeys appends the keys of a note that sound, ascending.
func (m *material) soundingKeys(keys []int, member, color, statement int) []int {
	move, from := m.voice.Move(color, statement), len(keys)
	for _, k := range m.color[member].keys {
		keys = append(keys, move.Key(k))
	}
	slices.Sort(keys[from:])
	return append(keys[:from], slices.Compact(keys[from:])...)
}
