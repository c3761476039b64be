package find

import (
	"cmp"
	"math"
	"slices"
)

// A parting by ranges of keys, or by what comes back, gives single notes to the wrong
// voice: where the ranges of two voices share keys, and where they cross. Once the
// voices are known, each says itself which notes it asks for, and canons say it of a
// voice whose own series has gaps. So notes are given to the voice that asks for them
// and the voices are found again, as k-means goes from members to means and back (S.
// P. Lloyd, Least squares quantization in PCM, 1957), until it explains no more.

// mostRegroups is how often.
const mostRegroups = 4

// wish is a note that a voice asks for.
type wish struct {
	voice, row int
	off        float64 // seconds from where it should be
}

// mostWish is how far from where a voice wants it a note may lie, in seconds: 4
// deviations of one that was played or cut in rows.
const mostWish = 0.034

// regrouped are the rows of each voice after every note went to the one that asks for
// it; nil if none does.
func (d *Design) regrouped() [][]int {
	rows := make([]int, len(d.Notes))
	for i := range rows {
		rows[i] = i
	}
	c := newCloud(d.Notes, rows)
	var wishes []wish
	for v := range d.Voices {
		wishes = d.wishesOfSeries(c, v, wishes)
	}
	for i := range d.Canons {
		wishes = d.wishesOfCanon(c, &d.Canons[i], wishes)
	}
	slices.SortStableFunc(wishes, func(a, b wish) int { return cmp.Compare(a.off, b.off) })
	of := slices.Clone(d.Of)
	taken := slices.Clone(d.Explained)
	changed := false
	for _, w := range wishes {
		if taken[w.row] {
			continue
		}
		taken[w.row] = true
		if of[w.row] != w.voice {
			of[w.row], changed = w.voice, true
		}
	}
	if !changed {
		return nil
	}
	groups, left := allotted(of, len(d.Voices))
	if len(left) >= leastVoice {
		groups = append(groups, left)
	}
	return groups
}

// trimmed are the rows of each voice without what it has before the first note and after
// the last that its series predicts, which makes a voice of its own: a piece may end
// with what is no part of any line. nil: there is too little of that.
func (d *Design) trimmed() [][]int {
	from, to := make([]float64, len(d.Voices)), make([]float64, len(d.Voices))
	for v := range from {
		from[v], to[v] = math.Inf(1), math.Inf(-1)
	}
	for r, v := range d.Of {
		if v >= 0 && d.Explained[r] {
			from[v], to[v] = math.Min(from[v], d.Notes[r].StartSec), math.Max(to[v], d.Notes[r].StartSec)
		}
	}
	of := slices.Clone(d.Of)
	for r, v := range of {
		if at := d.Notes[r].StartSec; v >= 0 && from[v] <= to[v] && (at < from[v] || at > to[v]) {
			of[r] = -1
		}
	}
	groups, left := allotted(of, len(d.Voices))
	if len(left) < leastVoice {
		return nil
	}
	return append(groups, left)
}

// wishesOfSeries are the notes that talea and color of a voice predict and that it has
// not got.
func (d *Design) wishesOfSeries(c *cloud, voice int, wishes []wish) []wish {
	v := &d.Voices[voice]
	if v.rhythm == nil || v.melody == nil {
		return wishes
	}
	has := map[int]bool{} // places that are as they should be
	last := 0
	for k, p := range v.rhythm.places {
		if p != absent {
			last = max(last, p)
			if v.melody.right[k] {
				has[p] = true
			}
		}
	}
	off := math.Min(4*v.clock.noise+3*floorSec, mostWish)
	m := v.melody
	if !slices.Equal(m.places, v.rhythm.places) {
		return wishes // its color goes by other places
	}
	n := len(m.members)
	for p := -len(v.clock.offset); p <= last+len(v.clock.offset); p++ {
		at := v.clock.at(p)
		if has[p] || math.IsNaN(at) {
			continue
		}
		member := (p%n + n) % n
		x, statement := m.members[member], (p-member)/n
		if x.base < 0 {
			continue
		}
		for _, key := range d.chords.keys(x.base+m.transpose*statement, x.shape) {
			if r := c.nearFree(key, at, off, func(p int) bool { return !d.Explained[p] }); r >= 0 {
				wishes = append(wishes, wish{voice: voice, row: r, off: math.Abs(c.t[r] - at)})
			}
		}
	}
	return wishes
}

// wishesOfCanon are the notes that one voice of a canon has and the other lacks.
func (d *Design) wishesOfCanon(c *cloud, canon *Canon, wishes []wish) []wish {
	if canon.Backward || len(canon.pairs) < 4 {
		return wishes
	}
	for _, way := range [2][2]int{{0, 1}, {1, 0}} {
		from := &d.Voices[[2]int{canon.Leader, canon.Follower}[way[0]]]
		voice := [2]int{canon.Leader, canon.Follower}[way[1]]
		to := &d.Voices[voice]
		first := canon.pairs[0]
		a, b := from.steps[first[way[0]]], to.steps[first[way[1]]]
		k := 0 // the pair at or before a step
		for i, s := range from.steps {
			for k+2 < len(canon.pairs) && canon.pairs[k+1][way[0]] <= i {
				k++
			}
			p, q := canon.pairs[k], canon.pairs[k+1]
			if p[way[0]] == i || q[way[0]] == i || i < p[way[0]]-lookAhead || i > q[way[0]]+lookAhead {
				continue
			}
			x0, x1 := from.steps[p[way[0]]].at, from.steps[q[way[0]]].at
			y0, y1 := to.steps[p[way[1]]].at, to.steps[q[way[1]]].at
			if x1 <= x0 {
				continue
			}
			at := y0 + (s.at-x0)/(x1-x0)*(y1-y0)
			for _, r := range s.rows {
				key := d.Notes[r].Key - a.base + b.base
				if canon.Inverted {
					key = a.top + b.base - d.Notes[r].Key
				}
				if hit := c.nearFree(key, at, mostWish, func(p int) bool { return !d.Explained[p] && d.Of[p] != voice }); hit >= 0 {
					wishes = append(wishes, wish{voice: voice, row: hit, off: math.Abs(c.t[hit] - at)})
				}
			}
		}
	}
	return wishes
}
