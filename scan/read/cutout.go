package read

import (
	"cmp"
	"math"
	"slices"
)

// Holes that touch ink, a tear or each other come as one shape. What a round die
// fits into is taken out of it: the shape is opened, in the sense of mathematical
// morphology (J. Serra, Image Analysis and Mathematical Morphology, 1982, from
// memory), by a disc a little smaller than the die. Lines and letters vanish, ends
// of holes stay where they are.

// discShare is the disc's diameter as a share of the die's.
const discShare = 0.72

// windowAlong bounds how much of a long shape is looked at together, in diameters
// of the die.
const (
	windowAlong = 200
	mostCells   = 2e6 // pixels of a window
)

// cutOut adds the openings of a shape to list. die is the hole's diameter in
// pixels along and across; edge says between which places across the paper lies
// at a place along it.
func (f frame) cutOut(list []opening, s shape, die [2]float64, edge func(along float64) (low, high float64)) []opening {
	full := math.Pi / 4 * die[0] * die[1]
	strips := s.strips
	if f.outside(s.cut) {
		strips = f.intruding(strips, edge)
	}
	for _, cluster := range clusters(strips) {
		area := 0
		for _, r := range cluster {
			area += int(r.x1 - r.x0)
		}
		if float64(area) > 0.4*full {
			list = f.cutCluster(list, s, f.stripes(cluster), die, edge)
		}
	}
	return list
}

// intruding are the runs of the backing beside the paper that reach into it.
func (f frame) intruding(strips []strip, edge func(along float64) (low, high float64)) []strip {
	var out []strip
	for _, r := range strips {
		a0, c0 := f.place(float64(r.x0), float64(r.y))
		a1, c1 := f.place(float64(r.x1), float64(r.y+1))
		l0, h0 := edge(a0)
		l1, h1 := edge(a1)
		if max(c0, c1) > min(l0, l1)+1.5 && min(c0, c1) < max(h0, h1)-1.5 {
			out = append(out, r)
		}
	}
	return out
}

// cutCluster opens connected stripes, a window after the other.
func (f frame) cutCluster(list []opening, s shape, runs []stripe, die [2]float64,
	edge func(along float64) (low, high float64)) []opening {
	margin := int(die[0]) + 3
	low, high, left, right := runs[0].along, 0, runs[0].c0, 0
	for _, r := range runs {
		low, high, left, right = min(low, r.along), max(high, r.to), min(left, r.c0), max(right, r.c1)
	}
	step := int(min(max(mostCells/float64(right-left+1), 6*die[0]), windowAlong*die[0]))
	before, first := len(list), 0
	for from := low; from < high; from += step {
		to := min(from+step, high)
		for first < len(runs) && runs[first].reach <= from-margin {
			first++
		}
		list = f.window(list, runs[first:], s, [2]int{from, to}, margin, die, edge)
	}
	if !slices.ContainsFunc(list[before:], func(o opening) bool { return !o.rest }) {
		if list = list[:before]; !f.outside(s.cut) {
			return f.remnant(list, s, die)
		}
		return list
	}
	// Where nothing sticks out of the holes, they only touch each other.
	taken, area := 0.0, 0
	for _, r := range runs {
		area += (r.to - r.along) * (r.c1 - r.c0)
	}
	ends := [4]float64{math.Inf(1), 0, math.Inf(1), 0}
	holes := 0
	for _, o := range list[before:] {
		if o.rest {
			continue
		}
		holes++
		taken += o.area
		ends[0], ends[1] = min(ends[0], o.a0), max(ends[1], o.a1)
		ends[2], ends[3] = min(ends[2], o.c-o.w/2), max(ends[3], o.c+o.w/2)
	}
	slack := [2]float64{0.3*die[0] + 1, 0.3*die[1] + 1}
	alone := float64(low) > ends[0]-slack[0] && float64(high) < ends[1]+slack[0] && float64(left) > ends[2]-slack[1] &&
		float64(right) < ends[3]+slack[1]
	alone = alone && taken > 0.75*float64(area)
	// A hole with a dent has better edges of its own than the disc leaves, where no ink
	// can lie beyond them.
	if o := f.opening(s); alone && holes == 1 && !f.outside(s.cut) && abs(o.a0-ends[0]) < 0.08*die[0]+0.6 &&
		abs(o.a1-ends[1]) < 0.08*die[0]+0.6 {
		return append(list[:before], o)
	}
	for i := range list[before:] {
		list[before+i].joined = !alone
	}
	return list
}

// clusters parts runs into connected ones: a shape beside the paper falls apart
// where its own runs were not kept.
func clusters(in []strip) [][]strip {
	slices.SortFunc(in, func(a, b strip) int { return cmp.Or(int(a.y-b.y), int(a.x0-b.x0)) })
	parent := make([]int, len(in))
	root := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	above, begin := 0, 0 // the row before is in[above:begin]
	for i, r := range in {
		parent[i] = i
		if i > 0 && r.y != in[i-1].y {
			above, begin = begin, i
			if in[above].y != r.y-1 {
				above = begin
			}
		}
		for above < begin && in[above].x1 <= r.x0 {
			above++
		}
		for k := above; k < begin && in[k].x0 < r.x1; k++ {
			parent[root(k)] = root(i)
		}
	}
	index := map[int]int{}
	var out [][]strip
	for i, r := range in {
		k, ok := index[root(i)]
		if !ok {
			k = len(out)
			index[root(i)] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], r)
	}
	return out
}

// remnant keeps what is too small for the disc, but may be what a chad or tape
// leaves of a hole.
func (f frame) remnant(list []opening, s shape, die [2]float64) []opening {
	o := f.opening(s)
	full := math.Pi / 4 * die[0] * die[1]
	_, c0 := f.place(s.x0, s.y0)
	_, c1 := f.place(s.x1, s.y1)
	if s.area < 0.2*full || abs(c1-c0) > 1.5*die[1] {
		return list
	}
	if thick := s.area / math.Hypot((o.a1-o.a0)/die[0], abs(c1-c0)/die[1]); thick < 0.25*math.Sqrt(die[0]*die[1])*1 {
		return list // a stroke of ink, a crack
	}
	o.part = true
	return append(list, o)
}

// stripe is a run in the paper's frame: rows along to to-1 by columns c0 to c1-1.
type stripe struct {
	along, to, c0, c1, reach int
	deep                     float64
}

// stripes turns runs, sorted by where they begin along the paper; reach is how far
// this one and all before it go.
func (f frame) stripes(in []strip) []stripe {
	out := make([]stripe, len(in))
	for i, r := range in {
		a0, c0 := f.place(float64(r.x0), float64(r.y))
		a1, c1 := f.place(float64(r.x1), float64(r.y+1))
		out[i] = stripe{along: int(min(a0, a1)), to: int(max(a0, a1)), c0: int(min(c0, c1)), c1: int(max(c0, c1)),
			deep: float64(r.deep)}
	}
	slices.SortFunc(out, func(a, b stripe) int { return cmp.Or(a.along-b.along, a.c0-b.c0) })
	reach := 0
	for i := range out {
		reach = max(reach, out[i].to)
		out[i].reach = reach
	}
	return out
}

// window opens one stretch of a shape.
func (f frame) window(list []opening, runs []stripe, s shape, at [2]int, margin int, die [2]float64,
	edge func(float64) (float64, float64)) []opening {
	g := &grid{along: at[0] - margin - 1, across: math.MaxInt}
	top := 0
	end := at[1] + margin
	lowEdge, highEdge := edge(float64(at[0]+at[1]) / 2)
	reach := int(2 * die[1])
	for _, r := range runs {
		if r.along >= end {
			break
		}
		if r.to > at[0]-margin && r.c1 > int(lowEdge)-reach && r.c0 < int(highEdge)+reach {
			g.across, top = min(g.across, max(r.c0, int(lowEdge)-reach)), max(top, min(r.c1, int(highEdge)+reach))
		}
	}
	if top <= g.across {
		return list
	}
	g.across -= 2
	g.rows, g.columns = end-g.along+1, top-g.across+2
	g.bits = make([]bool, g.rows*g.columns)
	for _, r := range runs {
		if r.along >= end {
			break
		}
		g.fill(r, at[0]-margin, end)
	}
	whole := slices.Clone(g.bits)
	g.open(discShare/2*die[0], discShare/2*die[1])
	rests := g.rests(whole, at, die)
	for i := range rests {
		rests[i].part, rests[i].rest = true, true
	}
	for _, o := range append(g.pieces(at), rests...) {
		l, h := edge(o.am)
		if o.low < l+die[1]/2 || o.high > h-die[1]/2 { // joined to the paper's outside
			continue
		}
		o.joined, o.depth = true, o.depthIn(runs, s.depth)
		o.cutLow = o.a0 <= 0.5
		o.cutHigh = o.a1 >= f.long()-0.5
		list = append(list, o.opening)
	}
	return list
}

// grid is a stretch of paper in pixels: bits[row][column], row 0 at along.
type grid struct {
	along, across int
	rows, columns int
	bits          []bool
}

func (g *grid) fill(r stripe, from, to int) {
	c0, c1 := max(r.c0-g.across, 0), min(r.c1-g.across, g.columns)
	for a := max(r.along, from); a < min(r.to, to); a++ {
		row := g.bits[(a-g.along)*g.columns:]
		for c := c0; c < c1; c++ {
			row[c] = true
		}
	}
}

// open keeps what an ellipse of the given half axes, in pixels, fits into. Of small
// ones the middles lie up to half a pixel from where they might, which would take away
// the ends of a hole: the ellipse is laid back somewhat larger, within what was there.
func (g *grid) open(along, across float64) {
	whole := slices.Clone(g.bits)
	d := g.distances(false, along, across)
	for i := range g.bits {
		g.bits[i] = d[i] > 1
	}
	d = g.distances(true, along+0.3, across+0.3)
	for i := range g.bits {
		g.bits[i] = whole[i] && d[i] <= 1
	}
}

// distances are the squared distances of all pixels to the nearest whose bit is
// as to, in half axes: P. Felzenszwalb and D. Huttenlocher, Distance Transforms of
// Sampled Functions, Theory of Computing 8 (2012), the lower envelope of parabolas
// by columns and rows.
func (g *grid) distances(to bool, along, across float64) []float32 {
	d := make([]float32, len(g.bits))
	n := max(g.rows, g.columns)
	e := envelope{make([]float64, n), make([]int, n), make([]float64, n+1), make([]float64, n)}
	for i, b := range g.bits {
		d[i] = far
		if b == to {
			d[i] = 0
		}
	}
	for c := range g.columns {
		for r := range g.rows {
			e.in[r] = float64(d[r*g.columns+c])
		}
		e.run(g.rows, 1/(along*along))
		for r := range g.rows {
			d[r*g.columns+c] = float32(e.out[r])
		}
	}
	for r := range g.rows {
		row := d[r*g.columns : (r+1)*g.columns]
		for c, v := range row {
			e.in[c] = float64(v)
		}
		e.run(g.columns, 1/(across*across))
		for c := range row {
			row[c] = float32(e.out[c])
		}
	}
	return d
}

const far = 1e12

type envelope struct {
	in  []float64
	at  []int
	cut []float64
	out []float64
}

// run is the transform of one line; weight is what a step of one pixel counts,
// squared.
func (e *envelope) run(n int, weight float64) {
	k := 0
	e.at[0], e.cut[0], e.cut[1] = 0, math.Inf(-1), math.Inf(1)
	for q := 1; q < n; q++ {
		for {
			v := e.at[k]
			s := ((e.in[q] + weight*float64(q*q)) - (e.in[v] + weight*float64(v*v))) / (2 * weight * float64(q-v))
			if s > e.cut[k] {
				k++
				e.at[k], e.cut[k], e.cut[k+1] = q, s, math.Inf(1)
				break
			}
			k--
		}
	}
	k = 0
	for q := range n {
		for e.cut[k+1] < float64(q) {
			k++
		}
		v := e.at[k]
		e.out[q] = weight*float64((q-v)*(q-v)) + e.in[v]
	}
}

// piece is a connected part of an opened grid.
type piece struct {
	opening
	low, high float64 // across
}

// pieces are the connected parts whose middle lies within at, cut at its ends.
func (g *grid) pieces(at [2]int) []piece {
	var out []piece
	var stack []int
	for r := at[0] - g.along; r < at[1]-g.along; r++ {
		for c := range g.columns {
			if !g.bits[r*g.columns+c] {
				continue
			}
			p := piece{low: math.Inf(1), high: math.Inf(-1)}
			p.a0, p.a1 = math.Inf(1), math.Inf(-1)
			stack = append(stack[:0], r*g.columns+c)
			g.bits[r*g.columns+c] = false
			for len(stack) > 0 {
				i := stack[len(stack)-1]
				stack = stack[:len(stack)-1]
				y, x := i/g.columns, i%g.columns
				a, b := float64(y+g.along), float64(x+g.across)
				p.a0, p.a1 = min(p.a0, a), max(p.a1, a+1)
				p.low, p.high = min(p.low, b), max(p.high, b+1)
				p.am, p.c, p.area = p.am+a+0.5, p.c+b+0.5, p.area+1
				for _, n := range [4][2]int{{y - 1, x}, {y + 1, x}, {y, x - 1}, {y, x + 1}} {
					if n[0] < at[0]-g.along || n[0] >= at[1]-g.along || n[1] < 0 || n[1] >= g.columns {
						continue
					}
					if j := n[0]*g.columns + n[1]; g.bits[j] {
						g.bits[j] = false
						stack = append(stack, j)
					}
				}
			}
			p.am, p.c = p.am/p.area, p.c/p.area
			p.w = stadiumWidth(p.area, p.a1-p.a0, p.high-p.low)
			out = append(out, p)
		}
	}
	return out
}

// What is left of a punch that a chad closes in part, and that overlaps others, is too
// narrow for the disc. Strokes of ink are narrower.
const (
	restShare = 0.34 // of the die: the disc that fits into it
	restLong  = 0.15 // at least, in diameters of the die
	restWide  = 0.25
	restArea  = 0.06 // of a die at least
)

// rests are pieces of whole, the grid before it was opened, that opening took away and
// that may be what is left of a punch.
func (g *grid) rests(whole []bool, at [2]int, die [2]float64) []piece {
	full := math.Pi / 4 * die[0] * die[1]
	lost := 0
	for i, bit := range whole {
		if bit && !g.bits[i] {
			lost++
		}
	}
	if float64(lost) < restArea*full {
		return nil
	}
	rest := &grid{along: g.along, across: g.across, rows: g.rows, columns: g.columns, bits: whole}
	rest.open(restShare/2*die[0], restShare/2*die[1])
	for i, bit := range g.bits {
		rest.bits[i] = rest.bits[i] && !bit
	}
	return slices.DeleteFunc(rest.pieces(at), func(p piece) bool {
		return p.area < restArea*full || p.a1-p.a0 < restLong*die[0] || p.w < restWide*die[1]
	})
}

// depthIn is how far the runs that meet a piece are from paper to backing, the deeper
// ones counting more. The shape it was taken out of may be ink for the most part, and
// a hole in it is as deep as any other.
func (p *piece) depthIn(runs []stripe, otherwise float64) float64 {
	squares, cubes := 0.0, 0.0
	for _, r := range runs {
		if float64(r.along) >= p.a1 {
			break
		}
		if float64(r.to) > p.a0 && float64(r.c1) > p.low && float64(r.c0) < p.high {
			squares, cubes = squares+r.deep*r.deep, cubes+r.deep*r.deep*r.deep
		}
	}
	if squares == 0 {
		return otherwise
	}
	return min(cubes/squares, 1)
}

// stadiumWidth is the width of a slot with round ends that has the area and the
// length given: area = w*length - w*w*(1 - pi/4). Where there is none it is the
// extent across.
func stadiumWidth(area, length, extent float64) float64 {
	const corner = 1 - math.Pi/4
	d := length*length - 4*corner*area
	if length <= 0 || d <= 0 {
		return extent
	}
	return min((length-math.Sqrt(d))/(2*corner), extent)
}
