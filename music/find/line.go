package find

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
)

// step is what a voice strikes at one onset: a note or a chord.
type step struct {
	at, end float64
	rows    []int // indices into the notes, by key
	base    int   // lowest key
	shape   int   // number of the chord above its lowest key; see shapes
	top     int   // highest key
}

// shapes numbers chords by what stands above their lowest key, so that chords
// can be compared as quickly as notes. A note has the number 0.
type shapes struct {
	number map[string]int
	above  [][]int // for each number the distances from the lowest key
	mirror []int   // for each number the number of the chord upside down; -1: not yet asked
}

func newShapes() *shapes {
	s := &shapes{number: map[string]int{}}
	s.of([]int{0})
	return s
}

// of is the number of a chord whose keys are sorted.
func (s *shapes) of(keys []int) int {
	code := make([]byte, 0, 2*len(keys))
	above := make([]int, len(keys))
	for i, k := range keys {
		above[i] = k - keys[0]
		code = binary.AppendVarint(code, int64(above[i]))
	}
	if n, ok := s.number[string(code)]; ok {
		return n
	}
	n := len(s.above)
	s.number[string(code)] = n
	s.above = append(s.above, above)
	s.mirror = append(s.mirror, -1)
	return n
}

// mirrored is the number of the chord upside down.
func (s *shapes) mirrored(n int) int {
	if n == 0 {
		return 0
	}
	if s.mirror[n] < 0 {
		above := s.above[n]
		down := make([]int, len(above))
		for i, a := range above {
			down[len(above)-1-i] = above[len(above)-1] - a
		}
		s.mirror[n] = s.of(down)
	}
	return s.mirror[n]
}

// keys are those of a chord with this lowest key.
func (s *shapes) keys(base, n int) []int {
	keys := make([]int, len(s.above[n]))
	for i, a := range s.above[n] {
		keys[i] = base + a
	}
	return keys
}

// How far apart notes of one voice may begin that are one chord: where the table
// does not number them, at least and at most, and where it does. The strokes of a
// trill share a number too, but come later.
const (
	togetherSec = 1e-6
	strayingSec = 0.03 // 3 deviations of the difference of two onsets that are 7 ms off
	unevenSec   = 0.05
)

// chordSec is how far apart the tones of a chord begin in notes at these times, which
// ascend: strayingSec where several are that near and hardly any a little farther off,
// as is so where tones that were struck together stray, and in no line that is merely
// fast, nor where voices cross.
func chordSec(times []float64) float64 {
	near, further := 0, 0
	for i := 1; i < len(times); i++ {
		switch gap := times[i] - times[i-1]; {
		case gap <= togetherSec:
		case gap <= strayingSec:
			near++
		case gap <= 2*strayingSec:
			further++
		}
	}
	if near >= 3 && further <= near/4 {
		return strayingSec
	}
	return togetherSec
}

// stepsOf are the notes of a voice by onset. Notes with one number are one
// chord; those without a number if they begin together.
func stepsOf(notes []Note, rows []int, chords *shapes) []step {
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b int) int {
		return cmp.Or(cmp.Compare(notes[a].StartSec, notes[b].StartSec), cmp.Compare(notes[a].Key, notes[b].Key))
	})
	var steps []step
	near := chordSecOf(notes, rows)
	numbered := map[int]int{}
	for _, r := range rows {
		n := notes[r]
		if n.Number > 0 {
			if i, ok := numbered[n.Number]; ok && n.StartSec-steps[i].at <= unevenSec {
				steps[i].rows = append(steps[i].rows, r)
				continue
			}
			numbered[n.Number] = len(steps)
		} else if last := len(steps) - 1; last >= 0 && n.StartSec-steps[last].at <= near &&
			notes[steps[last].rows[0]].Number == 0 {
			steps[last].rows = append(steps[last].rows, r)
			continue
		}
		steps = append(steps, step{at: n.StartSec, rows: []int{r}})
	}
	for i := range steps {
		steps[i].finish(notes, chords)
	}
	return steps
}

// chordSecOf is chordSec of the notes without a number.
func chordSecOf(notes []Note, rows []int) float64 {
	var times []float64
	for _, r := range rows {
		if notes[r].Number == 0 {
			times = append(times, notes[r].StartSec)
		}
	}
	return chordSec(times)
}

// finish sorts the rows of a step by key and says what chord they are. The
// tones of a chord that was struck unevenly begin on average.
func (s *step) finish(notes []Note, chords *shapes) {
	slices.SortStableFunc(s.rows, func(a, b int) int { return cmp.Compare(notes[a].Key, notes[b].Key) })
	keys := make([]int, 0, len(s.rows))
	sum := 0.0
	s.end = math.Inf(-1)
	for _, r := range s.rows {
		sum += notes[r].StartSec
		s.end = math.Max(s.end, notes[r].EndSec)
		keys = append(keys, notes[r].Key)
	}
	if len(s.rows) > 1 {
		s.at = sum / float64(len(s.rows))
	}
	keys = slices.Compact(keys)
	s.base, s.top, s.shape = keys[0], keys[len(keys)-1], chords.of(keys)
}

func onsets(steps []step) []float64 {
	t := make([]float64, len(steps))
	for i := range steps {
		t[i] = steps[i].at
	}
	return t
}
