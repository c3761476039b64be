package find

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// scaling takes notes to notes: a time t to at + rate*t, a key to its own plus
// move, or upside down to move less its own.
type scaling struct {
	at, rate float64
	move     int
	inverted bool
	hits     int     // notes that it takes to notes
	off      float64 // within what, in seconds
}

func (m *scaling) time(t float64) float64 { return m.at + m.rate*t }

func (m *scaling) key(k int) int {
	if m.inverted {
		return m.move - k
	}
	return m.move + k
}

// inverse is the scaling back.
func (m scaling) inverse() scaling {
	out := m
	out.rate, out.at = 1/m.rate, -m.at/m.rate
	if !m.inverted {
		out.move = -m.move
	}
	return out
}

// after is first the scaling n, then m.
func (m scaling) after(n scaling) scaling {
	out := scaling{at: m.at + m.rate*n.at, rate: m.rate * n.rate, inverted: m.inverted != n.inverted,
		off: math.Max(m.off, n.off)}
	out.move = m.key(n.move)
	return out
}

// cloud is notes as points, in order of time, with an index by key.
type cloud struct {
	t     []float64
	key   []int
	byKey [128][]int // points of each key, in order of time
}

func newCloud(notes []Note, rows []int) *cloud {
	c := &cloud{}
	for _, r := range rows {
		c.t, c.key = append(c.t, notes[r].StartSec), append(c.key, notes[r].Key)
	}
	for i, k := range c.key {
		if k >= 0 && k < 128 {
			c.byKey[k] = append(c.byKey[k], i)
		}
	}
	return c
}

// near is the point of a key that is nearest to a time and within off seconds of
// it, or -1.
func (c *cloud) near(key int, t, off float64) int {
	if key < 0 || key > 127 {
		return -1
	}
	list := c.byKey[key]
	i, _ := slices.BinarySearchFunc(list, t, func(p int, t float64) int { return cmp.Compare(c.t[p], t) })
	best := -1
	for _, k := range []int{i - 1, i} {
		if k < 0 || k >= len(list) {
			continue
		}
		if d := math.Abs(c.t[list[k]] - t); d <= off && (best < 0 || d < math.Abs(c.t[best]-t)) {
			best = list[k]
		}
	}
	return best
}

// nearFree is near among the points that are free: voices in unison strike one key
// twice.
func (c *cloud) nearFree(key int, t, off float64, free func(p int) bool) int {
	if key < 0 || key > 127 {
		return -1
	}
	list := c.byKey[key]
	i, _ := slices.BinarySearchFunc(list, t-off, func(p int, t float64) int { return cmp.Compare(c.t[p], t) })
	best := -1
	for ; i < len(list) && c.t[list[i]] <= t+off; i++ {
		if p := list[i]; free(p) && (best < 0 || math.Abs(c.t[p]-t) < math.Abs(c.t[best]-t)) {
			best = p
		}
	}
	return best
}

// image is the point to which a scaling takes a point, or -1.
func (c *cloud) image(m *scaling, i int) int {
	return c.near(m.key(c.key[i]), m.time(c.t[i]), m.off)
}

// Bounds of the search for scalings.
const (
	askWindows = 8    // stretches of notes that are looked for elsewhere
	askNotes   = 28   // notes of each
	askReach   = 8    // how many notes on the second of a pair is
	mostRate   = 7.0  // of one speed to another
	rateBin    = 0.04 // of its logarithm
	timeBin    = 0.25 // seconds
	mostPeaks  = 24   // of each stretch
	mostOff    = 0.06 // seconds: 4.5 deviations of two onsets that were played or cut in rows
)

// scalings finds how notes come back at another speed, another time and another
// pitch. Every two notes of a stretch that are near each other, and every two of
// the whole that are as far apart in pitch, say one rate and one time; where many
// say the same (P. Hough, Method and means for recognizing complex patterns, 1962;
// for music as a set of points: K. Lemstrom and M. Laitinen, Transposition and
// time-warp invariant geometric music retrieval algorithms, ADMIRE 2011), the
// scaling is fitted to more and more notes around, and kept if it takes far more
// notes to notes than the same scaling some time off does.
func (c *cloud) scalings(ctx context.Context) []scaling {
	n := len(c.t)
	if n < 16 {
		return nil
	}
	pairs := c.pairs()
	var out []scaling
	stretches := askWindows
	if n > 4000 {
		stretches = 4
	}
	for w := range stretches {
		from := 0
		if stretches > 1 {
			from = w * max(0, n-askNotes) / (stretches - 1)
		}
		to := min(n, from+askNotes)
		for _, inverted := range []bool{false, true} {
			for _, m := range c.peaks(ctx, pairs, from, to, inverted) {
				if ctx.Err() != nil {
					return nil
				}
				if m, ok := c.grown(m, from, to); ok && !slices.ContainsFunc(out,
					func(o scaling) bool { return o.alike(m, c.t[0], c.t[n-1]) }) {
					out = append(out, m)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b scaling) int { return cmp.Compare(b.hits, a.hits) })
	return out
}

// alike reports whether two scalings do the same between two times.
func (m scaling) alike(o scaling, from, to float64) bool {
	return m.move == o.move && m.inverted == o.inverted && math.Abs(m.time(from)-o.time(from)) < 0.1 &&
		math.Abs(m.time(to)-o.time(to)) < 0.1
}

// pairs are two points each that are near in time, by how far apart their keys
// are.
func (c *cloud) pairs() *[255][][2]int32 {
	out := new([255][][2]int32)
	for i := range c.t {
		for j := i + 1; j < min(len(c.t), i+1+askReach); j++ {
			if c.t[j]-c.t[i] > 0.03 {
				d := c.key[j] - c.key[i] + 127
				out[d] = append(out[d], [2]int32{int32(i), int32(j)})
			}
		}
	}
	return out
}

// peaks are the scalings that many pairs of a stretch vote for.
func (c *cloud) peaks(ctx context.Context, pairs *[255][][2]int32, from, to int, inverted bool) []scaling {
	middle := (c.t[from] + c.t[to-1]) / 2
	var table [1 << 20]uint16
	vote := func(tell func(bin uint32, rate, at float64, move int)) {
		for i := from; i < to && ctx.Err() == nil; i++ {
			for j := i + 1; j < min(to, i+1+askReach); j++ {
				dt := c.t[j] - c.t[i]
				if dt < 0.1 {
					continue
				}
				d := c.key[j] - c.key[i]
				if inverted {
					d = -d
				}
				for _, p := range pairs[d+127] {
					a, b := int(p[0]), int(p[1])
					rate := (c.t[b] - c.t[a]) / dt
					if rate > mostRate || rate < 1/mostRate {
						continue
					}
					at := c.t[a] + (middle-c.t[i])*rate
					move := c.key[a] - c.key[i]
					if inverted {
						move = c.key[a] + c.key[i]
					}
					if move == 0 && !inverted && math.Abs(rate-1) < 0.01 && a == i {
						continue // itself
					}
					x, y := int32(math.Floor(math.Log(rate)/rateBin)), int32(math.Floor(at/timeBin))
					h := uint32(x)*2654435761 ^ uint32(y)*2246822519 ^ uint32(move+300)*3266489917
					tell((h^h>>13)*2654435761>>12, rate, at, move)
				}
			}
		}
	}
	vote(func(bin uint32, _, _ float64, _ int) {
		if table[bin] < math.MaxUint16 {
			table[bin]++
		}
	})
	top := topBins(table[:], 5*mostPeaks)
	sums := map[uint32]*peak{}
	vote(func(bin uint32, rate, at float64, move int) {
		if table[bin] < top {
			return
		}
		p := sums[bin]
		if p == nil {
			p = &peak{bin: bin}
			sums[bin] = p
		}
		p.add(rate, at, move)
	})
	list := make([]*peak, 0, len(sums))
	for _, p := range sums {
		list = append(list, p)
	}
	slices.SortFunc(list, func(a, b *peak) int {
		return cmp.Or(cmp.Compare(b.votes, a.votes), cmp.Compare(a.bin, b.bin))
	})
	var out []scaling
	for _, p := range list[:min(len(list), mostPeaks)] {
		rate := math.Exp(p.rate / float64(p.votes))
		out = append(out, scaling{at: p.at/float64(p.votes) - rate*middle, rate: rate, move: p.move, inverted: inverted})
	}
	return out
}

// topBins is the count that about so many bins reach, at least four.
func topBins(table []uint16, most int) uint16 {
	var histogram [1 << 16]int
	for _, n := range table {
		histogram[n]++
	}
	sum := 0
	for n := len(histogram) - 1; n > 4; n-- {
		if sum += histogram[n]; sum > most {
			return uint16(min(n+1, len(histogram)-1))
		}
	}
	return 4
}

// peak sums the votes of one bin; votes for another move than the first are
// another scaling that fell into the same bin.
type peak struct {
	bin      uint32
	votes    int
	rate, at float64
	move     int
}

func (p *peak) add(rate, at float64, move int) {
	if p.votes > 0 && move != p.move {
		return
	}
	p.votes, p.rate, p.at, p.move = p.votes+1, p.rate+math.Log(rate), p.at+at, move
}

// grown fits a scaling to the notes of a stretch, then of twice as many around it,
// and so on to all, and says whether it holds.
func (c *cloud) grown(m scaling, from, to int) (scaling, bool) {
	n := len(c.t)
	m.off = 0.16
	for round := 0; ; round++ {
		hits := c.refit(&m, from, to)
		if hits < 5 || round == 0 && hits < 6 {
			return m, false
		}
		if round < 2 {
			continue // the same notes again, more closely
		}
		if from == 0 && to == n {
			break
		}
		size := to - from
		from, to = max(0, from-size/2), min(n, to+size/2)
	}
	if m.off > mostOff {
		return m, false
	}
	m.hits = 0
	for i := range c.t {
		if c.image(&m, i) >= 0 {
			m.hits++
		}
	}
	usual := c.usual(m)
	return m, float64(m.hits) > usual+6*math.Sqrt(usual)+8 && m.hits > 2*int(usual) && m.hits >= max(10, n/16)
}

// usual is how many notes the scaling takes to notes when it is some time off.
func (c *cloud) usual(m scaling) float64 {
	sum := 0.0
	offsets := []float64{-1.237, -0.719, -0.383, 0.417, 0.771, 1.311}
	stride := max(1, len(c.t)/1500)
	for _, o := range offsets {
		other := m
		other.at += o
		for i := 0; i < len(c.t); i += stride {
			if c.image(&other, i) >= 0 {
				sum += float64(stride)
			}
		}
	}
	return sum / float64(len(offsets))
}

// refit fits a scaling to the points from one to another that it takes to points,
// and sets within what it does.
func (c *cloud) refit(m *scaling, from, to int) int {
	var x, y []float64
	stride := max(1, (to-from)/6000)
	for i := from; i < to; i += stride {
		if j := c.image(m, i); j >= 0 && j != i {
			x, y = append(x, c.t[i]), append(y, c.t[j])
		}
	}
	if len(x) < 5 || x[len(x)-1] == x[0] {
		return 0
	}
	s := straightThrough(x, y)
	if !(s.slope > 0) {
		return 0
	}
	m.at, m.rate = s.at, s.slope
	errors := make([]float64, len(x))
	for i := range x {
		errors[i] = math.Abs(y[i] - s.at - s.slope*x[i])
	}
	m.off = math.Min(m.off, math.Max(4.5*1.4826*median(errors), 0.0008))
	return len(x) * stride
}
