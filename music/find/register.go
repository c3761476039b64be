package find

import (
	"context"
	"math"
)

// What a voice of its own costs, and how much of each register is looked at.
const (
	voiceBits   = 60.0
	lookedAt    = 240 // notes
	lookedAtLag = 64
)

// registers parts points into ranges of keys, each of which says most with
// least: a range whose pitches come back costs its series, any other all its
// notes. The cheapest division is found from below, range by range (R. Bellman's
// dynamic programming). It gives the lowest key of each range.
func (c *cloud) registers(ctx context.Context) []int {
	low, high := 127, 0
	for _, k := range c.key {
		low, high = min(low, k), max(high, k)
	}
	if low > high {
		return nil
	}
	n := high - low + 1
	cost := make([]float64, n+1) // of the keys below low+i
	from := make([]int, n+1)
	for to := 1; to <= n; to++ {
		cost[to] = math.Inf(1)
		if len(c.byKey[low+to-1]) == 0 {
			cost[to], from[to] = cost[to-1], to-1
			if to == 1 {
				cost[to] = 0
			}
			continue
		}
		for start := to - 1; start >= 0 && ctx.Err() == nil; start-- {
			if len(c.byKey[low+start]) == 0 {
				continue
			}
			if x := cost[start] + c.rangeCost(low+start, low+to-1); x < cost[to] {
				cost[to], from[to] = x, start
			}
		}
	}
	var starts []int
	for to := n; to > 0; to = from[to] {
		if start := low + from[to]; len(c.byKey[start]) > 0 {
			starts = append([]int{start}, starts...)
		}
	}
	return starts
}

// rangeCost is what it takes to say the notes from one key to another, in bits.
func (c *cloud) rangeCost(low, high int) float64 {
	total := 0
	for k := low; k <= high; k++ {
		total += len(c.byKey[k])
	}
	line := c.lineIn(low, high, total)
	best := voiceBits + errorBits*float64(total)
	for _, s := range shortLags(line) {
		if s.share < 0.8 {
			continue
		}
		best = math.Min(best, voiceBits+memberBits*float64(s.lag)+errorBits*(1-s.share)*float64(total))
	}
	return best
}

// lineIn are the chords of a range, some of them from the middle.
func (c *cloud) lineIn(low, high, total int) []member {
	skip := max(0, (total-lookedAt)/2)
	points := make([]int, 0, lookedAt)
	for i, k := range c.key {
		if k < low || k > high {
			continue
		}
		if skip > 0 {
			skip--
			continue
		}
		if len(points) >= 2*lookedAt {
			break
		}
		points = append(points, i)
	}
	times := make([]float64, len(points))
	for i, p := range points {
		times[i] = c.t[p]
	}
	var line []member
	near, last := chordSec(times), math.Inf(-1)
	for i, p := range points {
		k := c.key[p]
		if times[i]-last <= near && len(line) > 0 {
			m := &line[len(line)-1] // a chord is told by its lowest key and a sum, in any order
			if m.shape == 0 {
				m.shape = m.base * m.base * m.base
			}
			m.shape += k * k * k
			m.base = min(m.base, k)
			continue
		}
		if len(line) >= lookedAt {
			break
		}
		last = times[i]
		line = append(line, member{k, 0})
	}
	return line
}

// shortLags is pitchLags for a short line, without transposition. Two notes in a
// row have to agree, and may do so a place sooner or later: past a note that was
// added or is missing the lag is another until a period has gone by.
func shortLags(line []member) []lagScore {
	var out []lagScore
	for lag := 1; lag <= min(len(line)/2, lookedAtLag); lag++ {
		if len(line)-lag < 7 {
			break
		}
		same := 0
		for i := lag + 1; i < len(line); i++ {
			for s := max(1, lag-1); s <= min(lag+1, i-1); s++ {
				if line[i] == line[i-s] && (line[i-1] == line[i-1-s] || i+1 < len(line) && line[i+1] == line[i+1-s]) {
					same++
					break
				}
			}
		}
		out = append(out, lagScore{lag: lag, share: float64(same) / float64(len(line)-lag-1)})
	}
	return out
}
