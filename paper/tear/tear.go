// Package tear finds the lines along which a roll would part most easily: the
// shortest ways through paper from one edge to the other.
//
// A line runs through openings for nothing and pays for the paper between them, in
// millimetres of float64. It says where paper is weak beside other paper of the same
// roll; how much paper bears, nothing here knows.
package tear

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
	"sort"

	"rollwright/paper/roll"
)

// Point is a place on the paper.
type Point struct{ AcrossMM, AlongMM float64 }

// Line is a way through the paper from the bass edge to the treble edge.
type Line struct {
	LeftMM float64 // of paper on it
	Path   []Point // from edge to edge: where it runs in and out of openings, at the middle of their ports
	Slots  []int32 // indices into Roll.Slots that it runs through, each once, from the bass
}

// Span is from where to where along the roll the line runs.
func (l *Line) Span() (fromMM, toMM float64) {
	fromMM, toMM = l.Path[0].AlongMM, l.Path[0].AlongMM
	for _, p := range l.Path {
		fromMM, toMM = min(fromMM, p.AlongMM), max(toMM, p.AlongMM)
	}
	return fromMM, toMM
}

// Below are the lines with less paper on them than belowMM, the weakest first: of
// lines that share a stretch along the roll only the weakest.
func Below(r *roll.Roll, belowMM float64) []Line {
	if !possible(r, belowMM) {
		return nil
	}
	s := newSheet(r)
	s.search(belowMM)
	return s.lines(belowMM)
}

// possible reports whether any line can have so little paper: it saves no more than
// a hole's width at every port that it crosses.
func possible(r *roll.Roll, belowMM float64) bool {
	used := make([]bool, len(r.Instrument.Bar.Ports))
	n := 0
	for i := range r.Slots {
		if p := r.Slots[i].Port; !used[p] {
			used[p] = true
			n++
		}
	}
	return r.Instrument.Paper.WidthMM-float64(n)*r.Instrument.Die.DiameterMM < belowMM
}

// Weakest is the line with the least paper on it; false where the roll has no
// openings.
func Weakest(r *roll.Roll) (Line, bool) {
	s := newSheet(r)
	s.search(math.Inf(1))
	lines := s.lines(math.Inf(1))
	if len(lines) == 0 {
		return Line{}, false
	}
	return lines[0], true
}

// opening is a stadium: every place nearer than half a hole to a piece of a port's
// middle.
type opening struct {
	from, to float64 // along, between the centres of its first and last punch
	slot     int32
	port     int32
}

// sheet is the paper with its openings, port by port, and the shortest ways.
type sheet struct {
	width, die float64
	at         []float64 // across, by port
	first      []int     // by port: its first opening; one more at the end
	open       []opening // by port, then along
	ways       [2]way    // from the bass edge, from the treble edge
	below      float64   // lines with as much paper need not be found
}

// way is the shortest ways from one edge.
type way struct {
	cost []float64 // by opening: paper from the edge to it
	back []int32   // the opening before it; -1: straight from the edge
}

func newSheet(r *roll.Roll) *sheet {
	s := &sheet{width: r.Instrument.Paper.WidthMM, die: r.Instrument.Die.DiameterMM}
	ports := r.Instrument.Bar.Ports
	by := make([][]opening, len(ports))
	for i := range r.Slots {
		slot := &r.Slots[i]
		for o := range r.Openings(slot) {
			by[slot.Port] = append(by[slot.Port], opening{o.FirstMM, o.LastMM, int32(i), slot.Port})
		}
	}
	for p := range ports {
		s.at = append(s.at, ports[p].AcrossMM)
		s.first = append(s.first, len(s.open))
		slices.SortFunc(by[p], func(a, b opening) int { return cmp.Compare(a.from, b.from) })
		s.open = append(s.open, by[p]...)
	}
	s.first = append(s.first, len(s.open))
	return s
}

// search finds the shortest ways from both edges, as far as they belong to lines
// with less paper than below.
func (s *sheet) search(below float64) {
	s.below = below
	for side := range s.ways {
		s.ways[side] = s.from(side == 1)
	}
}

// straight is the paper from an edge to a port, without any other opening.
func (s *sheet) straight(port int32, treble bool) float64 {
	at := s.at[port]
	if treble {
		at = s.width - at
	}
	return max(at-s.die/2, 0)
}

// least is a bound of the paper from a port to the other edge: all that lies beside
// the holes of every port that has any.
func (s *sheet) least(port int32, treble bool) float64 {
	left := s.straight(port, !treble)
	for p := range s.at {
		if s.first[p] < s.first[p+1] && (s.at[p] > s.at[port]) != treble && int32(p) != port {
			left -= s.die
		}
	}
	return left
}

// from is Dijkstra's search (E. W. Dijkstra, A note on two problems in connexion
// with graphs, Numerische Mathematik 1 (1959) 269) over all openings. Every opening
// can be reached straight from the edge to begin with.
func (s *sheet) from(treble bool) way {
	n := len(s.open)
	w := way{cost: make([]float64, n), back: make([]int32, n)}
	q := &queue{cost: w.cost, order: make([]int32, n), place: make([]int32, n)}
	for i := range s.open {
		w.cost[i], w.back[i] = s.straight(s.open[i].port, treble), -1
		q.order[i], q.place[i] = int32(i), int32(i)
	}
	heap.Init(q)
	for q.Len() > 0 {
		s.onward(heap.Pop(q).(int32), treble, &w, q)
	}
	return w
}

// onward lowers the cost of all openings to which a settled one, i, is nearer than
// what they have. Only those can be that are nearer to it than to the edge: at dx
// further from the edge and gap along that is so while
//
//	cost + hypot(dx, gap) - die < straight + dx,  gap^2 < t (t + 2 dx),
//	t = straight - cost + die
//
// straight and cost being those of i, and dx below 0 towards the edge. Squares are
// compared, since nearly all openings that are looked at are too far.
func (s *sheet) onward(i int32, treble bool, w *way, q *queue) {
	o, cost := s.open[i], w.cost[i]
	if cost+s.least(o.port, treble) >= s.below {
		return
	}
	t := s.straight(o.port, treble) - cost + s.die
	for p, at := range s.at {
		first, end := s.first[p], s.first[p+1]
		dx := at - s.at[o.port]
		if treble {
			dx = -dx
		}
		square := t * (t + 2*dx)
		if square <= 0 || first == end {
			continue
		}
		far := math.Sqrt(square)
		low, high := o.from-far, o.to+far
		k, above := first, end
		for k < above { // the first that ends beyond low
			if middle := (k + above) / 2; s.open[middle].to > low {
				above = middle
			} else {
				k = middle + 1
			}
		}
		for ; k < end && s.open[k].from < high; k++ {
			by := w.cost[k] - cost
			if by <= 0 {
				continue // settled, i itself among them
			}
			gap := max(s.open[k].from-o.to, o.from-s.open[k].to, 0)
			if limit := by + s.die; dx*dx+gap*gap >= limit*limit {
				continue
			}
			if by := cost + max(math.Hypot(dx, gap)-s.die, 0); by < w.cost[k]-roll.NoiseMM {
				w.cost[k], w.back[k] = by, i
				heap.Fix(q, int(q.place[k]))
			}
		}
	}
}

// lines are the weakest lines, each of which has its stretch along the roll to
// itself.
func (s *sheet) lines(below float64) []Line {
	left := func(i int32) float64 { return s.ways[0].cost[i] + s.ways[1].cost[i] }
	var order []int32
	for i := range s.open {
		if left(int32(i)) < below {
			order = append(order, int32(i))
		}
	}
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(left(a), left(b)), cmp.Compare(s.open[a].from, s.open[b].from), cmp.Compare(a, b))
	})
	var out []Line
	var taken spans
	for _, i := range order {
		if taken.meets(s.open[i].from, s.open[i].to) {
			continue
		}
		line := s.line(i)
		from, to := line.Span()
		if taken.meets(from, to) {
			continue
		}
		taken.add(from, to)
		out = append(out, line)
		if math.IsInf(below, 1) {
			break // the weakest is all that is wanted
		}
	}
	return out
}

// line is the shortest way through an opening.
func (s *sheet) line(through int32) Line {
	var chain []int32
	for i := through; i >= 0; i = s.ways[0].back[i] {
		chain = append(chain, i)
	}
	slices.Reverse(chain)
	for i := s.ways[1].back[through]; i >= 0; i = s.ways[1].back[i] {
		chain = append(chain, i)
	}
	line := Line{LeftMM: s.ways[0].cost[through] + s.ways[1].cost[through]}
	y := s.open[chain[0]].from
	if len(chain) > 1 {
		y, _ = facing(&s.open[chain[0]], &s.open[chain[1]], y)
	}
	line.Path = append(line.Path, Point{0, y})
	for k, i := range chain {
		o := &s.open[i]
		line.add(Point{s.at[o.port], y})
		if n := len(line.Slots); n == 0 || line.Slots[n-1] != o.slot {
			line.Slots = append(line.Slots, o.slot)
		}
		if k+1 < len(chain) {
			out, in := facing(o, &s.open[chain[k+1]], y)
			line.add(Point{s.at[o.port], out})
			y = in
		}
	}
	line.Path = append(line.Path, Point{s.width, y})
	return line
}

// add adds a point that is not the last one.
func (l *Line) add(p Point) {
	if l.Path[len(l.Path)-1] != p {
		l.Path = append(l.Path, p)
	}
}

// facing is where a line leaves opening a, in which it stands at y, and where it
// enters b: straight across where they lie side by side.
func facing(a, b *opening, y float64) (out, in float64) {
	low, high := max(a.from, b.from), min(a.to, b.to)
	switch {
	case low <= high:
		at := min(max(y, low), high)
		return at, at
	case b.from > a.to:
		return a.to, b.from
	}
	return a.from, b.to
}

// spans are stretches along the roll that do not meet, in order.
type spans [][2]float64

func (s spans) after(mm float64) int {
	return sort.Search(len(s), func(i int) bool { return s[i][1] >= mm })
}

func (s spans) meets(from, to float64) bool {
	i := s.after(from)
	return i < len(s) && s[i][0] <= to
}

func (s *spans) add(from, to float64) { *s = slices.Insert(*s, s.after(from), [2]float64{from, to}) }

// queue is the openings that are not settled, the cheapest on top: a heap for
// package container/heap that knows where everything lies.
type queue struct {
	cost  []float64
	order []int32
	place []int32
}

func (q *queue) Len() int { return len(q.order) }

func (q *queue) Less(a, b int) bool {
	i, j := q.order[a], q.order[b]
	return cmp.Or(cmp.Compare(q.cost[i], q.cost[j]), cmp.Compare(i, j)) < 0
}

func (q *queue) Swap(a, b int) {
	q.order[a], q.order[b] = q.order[b], q.order[a]
	q.place[q.order[a]], q.place[q.order[b]] = int32(a), int32(b)
}

// Push is never called: all openings are in from the start.
func (q *queue) Push(any) { panic("tear: nothing is added") }

func (q *queue) Pop() any {
	last := len(q.order) - 1
	i := q.order[last]
	q.order = q.order[:last]
	return i
}
