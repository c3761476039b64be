package find

import (
	"context"
	"slices"
)

// merged are the rows of each voice after voices were put together that are one: a
// range of keys in which something comes back may be the half of a voice with chords
// in it, and so may the keys around it. nil: none are.
func (d *Design) merged(ctx context.Context) [][]int {
	groups, left := allotted(d.Of, len(d.Voices))
	if len(left) > max(2, len(d.Notes)/20) {
		return nil // a song without the notes of its other phrase would look like a series
	}
	alone := make([]int, len(groups)) // notes of each that nothing explains, a chord counted once
	for v := range d.Voices {
		for _, s := range d.Voices[v].steps {
			if !d.Explained[s.rows[0]] {
				alone[v]++
			}
		}
	}
	any := false
	for again := true; again; {
		again = false
		for i := 0; i < len(groups) && !again; i++ {
			for j := i + 1; j < len(groups) && ctx.Err() == nil; j++ {
				rows := slices.Concat(groups[i], groups[j])
				slices.Sort(rows)
				v := newVoice("", d.Notes, rows, d.chords)
				v.analyse(ctx, d.chords)
				wrong := 0
				for k := range v.steps {
					if !v.predicts(k) {
						wrong++
					}
				}
				if v.rhythm == nil || v.melody == nil || errorBits*float64(wrong-alone[i]-alone[j]) >= voiceBits {
					continue
				}
				groups[i], alone[i] = rows, wrong
				groups, alone = slices.Delete(groups, j, j+1), slices.Delete(alone, j, j+1)
				any, again = true, true
				break
			}
		}
	}
	if !any {
		return nil
	}
	return groups
}

// allotted are the rows of each of so many voices, and those of none, by whose each is.
func allotted(of []int, voices int) (groups [][]int, left []int) {
	groups = make([][]int, voices)
	for r, v := range of {
		if v >= 0 {
			groups[v] = append(groups[v], r)
		} else {
			left = append(left, r)
		}
	}
	return groups, left
}
