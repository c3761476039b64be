package overhear

import (
	"cmp"
	"math"
	"slices"
)

// The bounds within which the take is looked for: how much faster or slower than
// the plan the paper may run, and by how much the slowing may change that.
const (
	slowestShare = 0.72
	fastestShare = 1.38
	mostSlowing  = 0.25
)

// coarse is novelty on a raster of 20 ms, each place the most of 60 ms around:
// what a stretch of the roll is held against, at any speed.
type coarse struct {
	bins int
	of   [128][]float32
}

// coarseSec is the raster.
const coarseSec = 2 * frameSec

func (n *novelty) coarse() *coarse {
	c := &coarse{bins: (n.frames + 1) / 2}
	for key, fine := range n.of {
		if fine == nil {
			continue
		}
		c.of[key] = make([]float32, c.bins)
		for i := range c.of[key] {
			most := float32(math.Inf(-1))
			for j := max(2*i-2, 0); j <= min(2*i+3, n.frames-1); j++ {
				most = max(most, fine[j])
			}
			c.of[key][i] = min(most, 5)
		}
		standard(c.of[key])
	}
	return c
}

// anchor is a place at which a stretch of the roll fits the take.
type anchor struct {
	from, to int     // strokes
	begin    float64 // s of the take, at plan time 0
	share    float64 // of the plan's speed
	fit      float64 // in standard deviations of chance
}

// stretches are parts of the roll to be looked for: enough strokes to be told
// from chance, short enough for one speed.
func stretches(list []stroke) [][2]int {
	const (
		strokes = 60
		leastS  = 8.0
		mostS   = 25.0
		parts   = 7
	)
	var out [][2]int
	last := list[len(list)-1].plan
	for p := range parts {
		start := list[0].plan + float64(p)/parts*(last-list[0].plan)
		i, _ := slices.BinarySearchFunc(list, start, func(s stroke, sec float64) int { return cmp.Compare(s.plan, sec) })
		j := i
		for j < len(list) && (j-i < strokes || list[j].plan < start+leastS) && list[j].plan < start+mostS {
			j++
		}
		if j-i >= 8 || p == 0 {
			out = append(out, [2]int{i, j})
		}
	}
	return out
}

// most200 thins a stretch out, so that the work is bounded.
func thinned(list []stroke) []stroke {
	const most = 150
	if len(list) <= most {
		return list
	}
	out := make([]stroke, 0, most)
	for i := range most {
		out = append(out, list[i*len(list)/most])
	}
	return out
}

// anchors are the places where list[from:to] fits best, best first.
func (c *coarse) anchors(list []stroke, from, to int) []anchor {
	part := thinned(list[from:to])
	first, last := part[0].plan, part[len(part)-1].plan
	step := 1 + 2*0.03/max(last-first, 4)
	var best []anchor
	sum, squares, count := 0.0, 0.0, 0.0
	scores := make([]float32, c.bins)
	for share := slowestShare; share <= fastestShare; share *= step {
		n := c.scores(part, share, scores)
		for b, x := range scores[:n] {
			sum, squares, count = sum+float64(x), squares+float64(x)*float64(x), count+1
			if b > 0 && x < scores[b-1] || b+1 < n && x < scores[b+1] {
				continue
			}
			best = keep(best, anchor{from, to, float64(b)*coarseSec - first/share, share, float64(x)})
		}
	}
	if count == 0 {
		return nil
	}
	mean := sum / count
	dev := math.Sqrt(max(squares/count-mean*mean, 1e-12))
	for i := range best {
		best[i].fit = (best[i].fit - mean) / dev
	}
	return best
}

// keep adds a to the best few, unless a better one lies close by.
func keep(best []anchor, a anchor) []anchor {
	const most = 6
	if len(best) == most && a.fit <= best[most-1].fit {
		return best
	}
	mid := func(x anchor) float64 { return x.begin }
	for i, b := range best {
		if math.Abs(mid(b)-mid(a)) < 0.3 || math.Abs(b.share-a.share) < 0.01 && math.Abs(mid(b)-mid(a)) < 0.6 {
			if b.fit >= a.fit {
				return best
			}
			best = slices.Delete(best, i, i+1)
			break
		}
	}
	at, _ := slices.BinarySearchFunc(best, a.fit, func(b anchor, fit float64) int { return cmp.Compare(fit, b.fit) })
	best = slices.Insert(best, at, a)
	return best[:min(len(best), most)]
}

// scores are, for every bin at which the first stroke may lie, the mean of what
// the take has at all of them. Strokes that would lie beyond its end count 0. It
// returns how many bins were tried.
func (c *coarse) scores(part []stroke, share float64, scores []float32) int {
	clear(scores)
	first := part[0].plan
	for i := range part {
		at := int(math.Round((part[i].plan - first) / share / coarseSec))
		row := c.of[part[i].key]
		if at >= len(row) {
			continue
		}
		for b, x := range row[at:] {
			scores[b] += x
		}
	}
	norm := float32(1 / math.Sqrt(float64(len(part))))
	for b := range scores {
		scores[b] *= norm
	}
	return c.bins
}
