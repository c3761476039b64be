package find

import (
	"cmp"
	"slices"
	"strconv"
)

// part parts notes without voices into those that explain them: first voices
// that are one line at several speeds and pitches, which may cross; then, of what
// is left, ranges of keys whose pitches come back.
func (d *Design) part(chords *shapes) {
	if len(d.Notes) == 0 {
		return
	}
	rows := make([]int, len(d.Notes))
	for i := range rows {
		rows[i] = i
	}
	c := newCloud(d.Notes, rows)
	var groups [][]int
	left := rows
	if f := c.family(c.scalings()); f != nil && f.placed > len(rows)/2 {
		groups = make([][]int, len(f.voices))
		left = nil
		for i, v := range f.of {
			if v < 0 {
				left = append(left, i)
			} else {
				groups[v] = append(groups[v], i)
			}
		}
	}
	if len(left) > len(rows)/20 || len(groups) == 0 {
		groups = append(groups, d.byRegister(left)...)
	}
	d.nameGroups(groups, chords)
}

// byRegister parts rows by ranges of keys.
func (d *Design) byRegister(rows []int) [][]int {
	starts := newCloud(d.Notes, rows).registers()
	groups := make([][]int, len(starts))
	for _, r := range rows {
		k, found := slices.BinarySearch(starts, d.Notes[r].Key)
		if !found {
			k--
		}
		groups[k] = append(groups[k], r)
	}
	return groups
}

// leastVoice is how many notes make a voice.
const leastVoice = 6

// nameGroups makes voices of groups of rows, in order of their first notes, and
// numbers them.
func (d *Design) nameGroups(groups [][]int, chords *shapes) {
	groups = slices.DeleteFunc(groups, func(g []int) bool { return len(g) < leastVoice })
	slices.SortStableFunc(groups, func(a, b []int) int { return cmp.Compare(a[0], b[0]) })
	for i, g := range groups {
		d.Voices = append(d.Voices, newVoice(roman(i+1), d.Notes, g, chords))
	}
}

// roman numbers voices as parts are numbered; beyond what a person would read so,
// with figures.
func roman(n int) string {
	if n > 39 {
		return strconv.Itoa(n)
	}
	out := ""
	for _, d := range []struct {
		value int
		text  string
	}{{10, "X"}, {9, "IX"}, {5, "V"}, {4, "IV"}, {1, "I"}} {
		for n >= d.value {
			out, n = out+d.text, n-d.value
		}
	}
	return out
}
