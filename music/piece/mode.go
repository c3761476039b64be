package piece

import (
	"slices"

	"rollwright/music/pitch"
)

// Mode is a scale: the pitches of its steps within an octave, ascending, each with the
// name it is spelled by. The zero value is no mode.
type Mode []Axis

// Step is a place in a mode: so many steps from the first one of octave 0, and by how
// many semitones a key lies above it.
type Step struct{ N, Above int }

// StepOf is the step on which a key stands, or that below it.
func (m Mode) StepOf(key int) Step {
	from := key - m[0].Key
	octave := floorDiv(from, 12)
	i, found := slices.BinarySearchFunc(m, from-12*octave, func(a Axis, above int) int { return a.Key - m[0].Key - above })
	if !found {
		i--
	}
	return Step{octave*len(m) + i, from - 12*octave - (m[i].Key - m[0].Key)}
}

// Key is the key of a step.
func (m Mode) Key(s Step) int {
	octave := floorDiv(s.N, len(m))
	return m[s.N-octave*len(m)].Key + 12*octave + s.Above
}

// Spelling is the name of a step: as the mode spells it, with the alteration besides.
func (m Mode) Spelling(s Step) pitch.Spelling {
	spelled := m[s.N-floorDiv(s.N, len(m))*len(m)].Spelled
	return spelled.Altered(s.Above)
}

// Has reports whether a key is one of the mode's.
func (m Mode) Has(key int) bool { return m.StepOf(key).Above == 0 }

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
