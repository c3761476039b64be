package find

import (
	"cmp"
	"math"
	"slices"
)

// How two voices are held against each other.
const (
	seedPlaces  = 300 // places of the follower from which the search starts
	leastPairs  = 8   // notes that a canon has at least
	mostBucket  = 4000
	lookAhead   = 4  // notes that may be missing or added between two that agree
	mostUnlike  = 14 // steps without agreement after which a line has ended
	leastCanon  = 0.8
	mostOffsets = 60
)

// strand is a line as it is compared: its steps, perhaps upside down and from
// its last to its first.
type strand struct {
	t     []float64 // onsets; backward those of the ends, with the sign turned
	base  []int
	shape []int
	step  []int // which step of the voice it is
}

// strandOf are the steps of a voice, mirrored at 0 and turned round if asked.
// Backward each note keeps its own duration, so that it begins where it ended;
// the last note, whose written end nobody knows, is left out.
func strandOf(steps []step, inverted, backward bool, chords *shapes) strand {
	var s strand
	add := func(at float64, i int) {
		base, shape := steps[i].base, steps[i].shape
		if inverted {
			base, shape = -steps[i].top, chords.mirrored(shape)
		}
		s.t, s.base, s.shape, s.step = append(s.t, at), append(s.base, base), append(s.shape, shape), append(s.step, i)
	}
	if !backward {
		for i := range steps {
			add(steps[i].at, i)
		}
		return s
	}
	for i := len(steps) - 2; i >= 0; i-- {
		add(-steps[i+1].at, i)
	}
	return s
}

// match is how two strands agree.
type match struct {
	pairs              [][2]int // places in the two strands
	shift              int      // of the second against the first, in semitones
	inverted, backward bool
}

// compare finds how the second voice is the line of the first, if it is: plainly,
// or else inverted, backward or both; nil if it is not.
func compare(a, b []step, chords *shapes) *match {
	var best *match
	line := strandOf(a, false, false, chords)
	for _, way := range [][2]bool{{false, false}, {true, false}, {false, true}, {true, true}} {
		other := strandOf(b, way[0], way[1], chords)
		m := along(line, other)
		if m == nil {
			continue
		}
		m.inverted, m.backward = way[0], way[1]
		if best == nil || float64(len(m.pairs)) > 1.05*float64(len(best.pairs))+1 {
			best = m
		}
	}
	return best
}

// along finds the offset at which two strands agree in most places.
//
// A line moved and stretched in time and pitch is matched as a set of points
// (K. Lemstrom, Towards more robust geometric content-based music retrieval, Proc.
// ISMIR 2010, which allows for a scale of time; the index of neighbours by their
// distances is that of P. Romming and E. Selfridge-Field, Algorithms for
// polyphonic music retrieval, Proc. ISMIR 2007): three notes in a row are indexed
// by their two intervals, and where the two durations have the same ratio too they
// vote for an offset.
func along(a, b strand) *match {
	var best *match
	for _, seed := range offsets(a, b) {
		m := extend(a, b, seed[0], seed[1])
		if best == nil || len(m.pairs) > len(best.pairs) {
			best = m
		}
		if len(best.pairs) >= 99*min(len(a.t), len(b.t))/100 {
			break
		}
	}
	if best == nil || len(best.pairs) < leastPairs || len(best.pairs) < 2*min(len(a.t), len(b.t))/3 {
		return nil
	}
	return best
}

// gram are two intervals and the chords between them.
type gram struct{ first, second, x, y, z int }

func (s *strand) gram(i int) gram {
	return gram{s.base[i+1] - s.base[i], s.base[i+2] - s.base[i+1], s.shape[i], s.shape[i+1], s.shape[i+2]}
}

// alikeRatio reports whether the durations after i and after j have ratios that
// jitter could make of one.
func alikeRatio(a *strand, i int, b *strand, j int) bool {
	a1, a2, b1, b2 := a.t[i+1]-a.t[i], a.t[i+2]-a.t[i+1], b.t[j+1]-b.t[j], b.t[j+2]-b.t[j+1]
	if !(a1 > 0 && a2 > 0 && b1 > 0 && b2 > 0) {
		return false
	}
	noise := noises[1]
	off := 0.02 + 3*noise*math.Sqrt(2/(a1*a1)+2/(a2*a2)+2/(b1*b1)+2/(b2*b2))
	return math.Abs(math.Log(a2/a1)-math.Log(b2/b1)) < math.Min(off, 0.5)
}

// offsets are pairs of places, one for each offset that many neighbours vote for,
// the best first.
func offsets(a, b strand) [][2]int {
	if len(a.t) < 4 || len(b.t) < 4 {
		return nil
	}
	index := map[gram][]int{}
	for i := range len(a.t) - 2 {
		g := a.gram(i)
		if len(index[g]) < mostBucket {
			index[g] = append(index[g], i)
		}
	}
	type vote struct {
		offset, count int
		seed          [2]int
	}
	votes := map[int]*vote{}
	for _, from := range windowsOf(len(b.t)-2, 30, seedPlaces) {
		for j := from; j < min(from+30, len(b.t)-2); j++ {
			for _, i := range index[b.gram(j)] {
				if !alikeRatio(&a, i, &b, j) {
					continue
				}
				v := votes[i-j]
				if v == nil {
					v = &vote{offset: i - j, seed: [2]int{i, j}}
					votes[i-j] = v
				}
				v.count++
			}
		}
	}
	list := make([]*vote, 0, len(votes))
	for _, v := range votes {
		list = append(list, v)
	}
	slices.SortFunc(list, func(x, y *vote) int {
		return cmp.Or(cmp.Compare(y.count, x.count), cmp.Compare(abs(x.offset), abs(y.offset)),
			cmp.Compare(x.offset, y.offset))
	})
	if len(list) == 0 {
		return nil
	}
	most := list[0].count
	var out [][2]int
	for _, v := range list[:min(len(list), mostOffsets)] {
		if 4*v.count >= most {
			out = append(out, v.seed)
		}
	}
	return out
}

// windowsOf are where windows of a size begin that hold about total of n places.
func windowsOf(n, size, total int) []int {
	count := max(1, min((n+size-1)/size, total/size))
	starts := make([]int, count)
	for i := range starts {
		if count > 1 {
			starts[i] = i * max(n-size, 0) / (count - 1)
		}
	}
	return starts
}

// extend goes on from a pair of places in both directions, from note to note, as
// long as notes agree in pitch and in the ratio of time, and past single ones
// that are wrong, missing or added.
func extend(a, b strand, i, j int) *match {
	m := &match{shift: b.base[j] - a.base[i]}
	ratio := math.Log((a.t[i+2] - a.t[i]) / (b.t[j+2] - b.t[j]))
	ahead := walk(a, b, i, j, 1, m.shift, ratio)
	behind := walk(a, b, i, j, -1, m.shift, ratio)
	slices.Reverse(behind)
	m.pairs = append(append(behind, [2]int{i, j}), ahead...)
	return m
}

// walk is extend in one direction, without the pair itself. The ratio of times
// is kept between the last pair and one some notes before, so that jitter weighs
// less.
func walk(a, b strand, i, j, way, shift int, ratio float64) [][2]int {
	var pairs [][2]int
	history := [][2]int{{i, j}}
	unlike := 0
	for unlike < mostUnlike {
		ni, nj, ok := next(a, b, i, j, way, shift, ratio)
		if !ok {
			unlike++
			i, j = i+way, j+way
			if i < 0 || j < 0 || i >= len(a.t) || j >= len(b.t) {
				break
			}
			if unlike > lookAhead { // the ratio of a place that does not agree is no guide
				break
			}
			continue
		}
		unlike = 0
		i, j = ni, nj
		pairs = append(pairs, [2]int{i, j})
		history = append(history, [2]int{i, j})
		old := history[max(0, len(history)-5)]
		if ta, tb := math.Abs(a.t[i]-a.t[old[0]]), math.Abs(b.t[j]-b.t[old[1]]); ta > 0 && tb > 0 && len(history) > 3 {
			ratio = math.Log(ta / tb)
		}
	}
	return pairs
}

// next is the nearest pair after a pair that agrees with it.
func next(a, b strand, i, j, way, shift int, ratio float64) (int, int, bool) {
	for sum := 2; sum <= 2*lookAhead; sum++ {
		for di := 1; di < sum; di++ {
			dj := sum - di
			if di > lookAhead || dj > lookAhead {
				continue
			}
			x, y := i+way*di, j+way*dj
			if x < 0 || y < 0 || x >= len(a.t) || y >= len(b.t) {
				continue
			}
			if b.base[y]-a.base[x] != shift || a.shape[x] != b.shape[y] {
				continue
			}
			ta, tb := math.Abs(a.t[x]-a.t[i]), math.Abs(b.t[y]-b.t[j])
			if ta <= 0 || tb <= 0 {
				continue
			}
			off := 0.08 + 3.5*noises[1]*math.Sqrt(2/(ta*ta)+2/(tb*tb))
			if math.Abs(math.Log(ta/tb)-ratio) < math.Min(off, 0.4) {
				return x, y, true
			}
		}
	}
	return i, j, false
}
