package find

import (
	"cmp"
	"slices"
)

// leastReturns is how many statements a voice has to be told from others by how it
// comes back.
const leastReturns = 3

// returns parts points by how they come back some time later, higher or lower: where
// several voices cross, each of one series on another that begin together again and
// again, the notes of each have a way of their own to its next statement. The way that
// chains most points together takes them, then the next of those that are left.
func (c *cloud) returns(all []scaling) (groups [][]int, left []int) {
	free := slices.Repeat([]bool{true}, len(c.t))
	for {
		var best []int
		for i := range all {
			m := all[i]
			if m.inverted || !m.sameSpeed() || m.at == 0 {
				continue
			}
			if chained := c.chained(&m, free); len(chained) > len(best) {
				best = chained
			}
		}
		if len(best) < max(4*leastVoice, len(c.t)/20) {
			break
		}
		for _, p := range best {
			free[p] = false
		}
		groups = append(groups, best)
	}
	for i, f := range free {
		if f {
			left = append(left, i)
		}
	}
	return groups, left
}

// chained are the free points that a scaling takes one to the next, so many in a row
// as make a voice.
func (c *cloud) chained(m *scaling, free []bool) []int {
	next := make([]int, len(c.t))
	started := make([]bool, len(c.t)) // some point is taken here
	for i := range c.t {
		next[i] = -1
		if !free[i] {
			continue
		}
		j := c.nearFree(m.key(c.key[i]), m.time(c.t[i]), m.off, func(p int) bool { return p != i && free[p] && !started[p] })
		if j >= 0 {
			next[i], started[j] = j, true
		}
	}
	var out []int
	for i := range c.t {
		if started[i] || !free[i] {
			continue
		}
		n := 1
		for j := next[i]; j >= 0 && n <= len(c.t); j = next[j] {
			n++
		}
		if n < leastReturns {
			continue
		}
		out = append(out, i)
		for j := next[i]; j >= 0; j = next[j] {
			out = append(out, j)
		}
	}
	slices.SortFunc(out, cmp.Compare[int])
	return out
}
