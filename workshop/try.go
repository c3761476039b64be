package workshop

import (
	"slices"
	"strconv"

	"rollwright/music/perform"
	"rollwright/paper/inspect"
	"rollwright/paper/lay"
)

// Bounds of trying out remedies, each of which performs the piece once more: a
// tenth of a second is not noticed, and a larger piece is not tried at all.
const (
	mostTries   = 24
	triedEvents = 100_000 // of all tries together
)

// try is how many findings are left with a voice transposed as a remedy says.
func (j *Job) try(c inspect.Change) (counts [3]int, ok bool) {
	by, err := strconv.Atoi(c.Value)
	if err != nil || c.Attr != "transpose" || c.Voice < 0 {
		return counts, false
	}
	changed := *j.Piece
	changed.Voices = slices.Clone(changed.Voices)
	changed.Voices[c.Voice].Transpose = by
	f, err := perform.New(&changed, lay.Limits(j.Instruments))
	if err != nil {
		return counts, false
	}
	rolls, err := lay.Of(f, j.Instruments)
	if err != nil {
		return counts, false
	}
	return inspect.CheckAnswered(&changed, rolls, j.Tried).Counts, true
}
