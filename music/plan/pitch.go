package plan

import (
	"slices"
	"strings"

	"rollwright/music/piece"
)

// PitchName is a member of a color as the voice v sounds it, mirrored and moved, and
// as its composer spells it: "C4", "F2+Ab2", "gliss C3 to C6"; "-" without keys.
func PitchName(p piece.Pitch, v *piece.Voice) string {
	move := v.Whole()
	return MovedName(&p, &move)
}

// MovedName is a member of a color as a move makes it sound, as its composer spells it.
func MovedName(p *piece.Pitch, move *piece.Move) string {
	var keys []string
	for i := range p.Keys {
		keys = append(keys, p.Name(i, move))
	}
	if len(keys) == 0 {
		return "-"
	}
	first, last := keys[0], keys[len(keys)-1]
	switch p.Gesture.Manner() {
	case piece.Gliss:
		return "gliss " + first + " to " + last
	case piece.Trill:
		return "trill " + inTurn(keys, p.Gesture.Turns)
	case piece.Repeat:
		return "repeat " + strings.Join(keys, "+")
	case piece.Cluster:
		return "cluster " + first + " to " + last
	case piece.Spread:
		return "spread " + strings.Join(keys, "+")
	case piece.Grace:
		turns := p.Gesture.Turns
		if len(turns) == 0 {
			return "grace " + first + " before " + strings.Join(keys[1:], "+")
		}
		main := len(keys) - turns[len(turns)-1]
		return "grace " + inTurn(keys[:main], turns[:len(turns)-1]) + " before " + strings.Join(keys[main:], "+")
	}
	if move.Reverses() {
		// A mirrored chord's lowest note was its highest.
		slices.Reverse(keys)
	}
	return strings.Join(keys, "+")
}

// inTurn are names struck one after the other, so many of them together each time; no
// turns: one at a time.
func inTurn(names []string, turns []int) string {
	if len(turns) == 0 {
		return strings.Join(names, " ")
	}
	chords := make([]string, len(turns))
	for i, n := range turns {
		chords[i], names = strings.Join(names[:n], "+"), names[n:]
	}
	return strings.Join(chords, " ")
}
