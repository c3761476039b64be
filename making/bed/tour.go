package bed

// tour is a path through nodes. It begins at a given place and, where one is
// given, ends at another.
type tour struct {
	nodes []node
	seq   []stop
	pos   []int32 // of each node in seq
	start point
	end   *point
	dot   []bool    // of each node: it is entered and left at one place
	near  [][]place // of each end of each node (2*node+end): the nearest ends of other nodes, nearest first
}

// stop is a node in the order of the path.
type stop struct {
	index int32
	back  bool // entered at end 1
}

// place is an end of a node.
type place struct {
	node int32
	end  int8
}

func newTour(nodes []node, start point, end *point) *tour {
	t := &tour{nodes: nodes, start: start, end: end, seq: make([]stop, 0, len(nodes)), pos: make([]int32, len(nodes)),
		dot: make([]bool, len(nodes))}
	for i := range nodes {
		t.dot[i] = nodes[i].end[0] == nodes[i].end[1]
	}
	t.nearest()
	for i, s := range t.seq {
		t.pos[s.index] = int32(i)
	}
	return t
}

// in is where the i-th stop is entered.
func (t *tour) in(i int) point {
	s := t.seq[i]
	if s.back {
		return t.nodes[s.index].end[1]
	}
	return t.nodes[s.index].end[0]
}

// out is where the i-th stop is left; that of stop -1 is the start.
func (t *tour) out(i int) point {
	if i < 0 {
		return t.start
	}
	s := t.seq[i]
	if s.back {
		return t.nodes[s.index].end[0]
	}
	return t.nodes[s.index].end[1]
}

// link is the travel from stop i to the next, or to the end.
func (t *tour) link(i int) float64 { return t.join(t.out(i), i+1) }

// join is the travel from a place into stop i, or to the end after the last
// stop.
func (t *tour) join(from point, i int) float64 {
	switch {
	case i < len(t.seq):
		return from.to(t.in(i))
	case t.end != nil:
		return from.to(*t.end)
	}
	return 0
}

// nearest begins the tour by going, from each stop, to the nearest end of a
// node not yet visited. Where none is near it goes on with the first that is
// left.
func (t *tour) nearest() {
	g := newGrid(t.nodes)
	visited := make([]bool, len(t.nodes))
	at, first := t.start, 0
	for range t.nodes {
		to, ok := g.closest(at)
		if !ok {
			for visited[first] {
				first++
			}
			to = place{int32(first), 0}
		}
		visited[to.node] = true
		g.remove(to.node)
		t.seq = append(t.seq, stop{to.node, to.end == 1})
		at = t.out(len(t.seq) - 1)
	}
}

// Limits of the search for shorter tours: how many near ends of other nodes
// each end is joined with on trial, and how many stops one change may move.
const (
	trials   = 7
	mostMove = 25_000
)

// gain is how much shorter a change must make the tour, so that rounding does
// not make it go round in circles.
const gain = 1e-7

// shorten takes changes that make the tour shorter until there are none among
// those that join near ends: a stretch turned round (G. A. Croes, Operations
// Research 6 (1958) 791), or up to three stops moved elsewhere (I. Or, thesis,
// Northwestern University, 1976).
func (t *tour) shorten() {
	if len(t.nodes) < 2 {
		return
	}
	t.near = newGrid(t.nodes).neighbours(trials)
	queue := make([]int32, len(t.seq), 2*len(t.seq))
	waits := make([]bool, len(t.nodes))
	for i, s := range t.seq {
		queue[i], waits[s.index] = s.index, true
	}
	push := func(i int) {
		if i < 0 || i >= len(t.seq) {
			return
		}
		if n := t.seq[i].index; !waits[n] {
			queue, waits[n] = append(queue, n), true
		}
	}
	for head := 0; head < len(queue); head++ {
		n := queue[head]
		waits[n] = false
		for range mostTries {
			lo, hi, ok := t.improve(int(t.pos[n]))
			if !ok {
				break
			}
			for _, i := range []int{lo - 1, lo, hi, hi + 1, int(t.pos[n])} {
				push(i)
			}
		}
	}
}

// mostTries is how often one stop is looked at before the others have their
// turn again.
const mostTries = 8

// improve makes one change around stop i that shortens the tour and returns
// the stretch of stops it has moved.
func (t *tour) improve(i int) (lo, hi int, ok bool) {
	if lo, hi, ok = t.turnAfter(i); ok {
		return lo, hi, ok
	}
	if lo, hi, ok = t.turnBefore(i); ok {
		return lo, hi, ok
	}
	return t.move(i)
}

// nearTo are the near ends of the end at which stop i is entered or left.
func (t *tour) nearTo(i int, leaving bool) []place {
	s := t.seq[i]
	end := 0
	if s.back != leaving {
		end = 1
	}
	return t.near[2*int(s.index)+end]
}

// enters reports whether a place is where its stop is entered, leaves whether
// it is left there. Of a dot both are true.
func (t *tour) enters(p place) bool {
	return t.dot[p.node] || (p.end == 1) == t.seq[t.pos[p.node]].back
}

func (t *tour) leaves(p place) bool {
	return t.dot[p.node] || (p.end == 1) != t.seq[t.pos[p.node]].back
}

// turnAfter leaves stop i for a near stop j by its leaving end: what lies
// between is turned round.
func (t *tour) turnAfter(i int) (lo, hi int, ok bool) {
	out, link := t.out(i), t.link(i)
	for _, p := range t.nearTo(i, true) {
		j := int(t.pos[p.node])
		other := t.nodes[p.node].end[p.end]
		d := out.to(other)
		if d >= link {
			return 0, 0, false
		}
		if !t.leaves(p) || j == i {
			continue
		}
		lo, hi := min(i, j)+1, max(i, j)
		if hi-lo > mostMove {
			continue
		}
		first := t.in(lo)
		if t.link(lo-1)+t.link(hi)-t.out(lo-1).to(t.out(hi))-t.join(first, hi+1) > gain {
			t.turn(lo, hi)
			return lo, hi, true
		}
	}
	return 0, 0, false
}

// turnBefore enters stop i from a near stop j by its entering end.
func (t *tour) turnBefore(i int) (lo, hi int, ok bool) {
	in, link := t.in(i), t.link(i-1)
	for _, p := range t.nearTo(i, false) {
		j := int(t.pos[p.node])
		d := in.to(t.nodes[p.node].end[p.end])
		if d >= link {
			return 0, 0, false
		}
		if !t.enters(p) || j == i {
			continue
		}
		lo, hi := min(i, j), max(i, j)-1
		if hi-lo > mostMove {
			continue
		}
		if t.link(lo-1)+t.link(hi)-t.out(lo-1).to(t.out(hi))-t.join(t.in(lo), hi+1) > gain {
			t.turn(lo, hi)
			return lo, hi, true
		}
	}
	return 0, 0, false
}

// turn reverses the stops from lo to hi.
func (t *tour) turn(lo, hi int) {
	for a, b := lo, hi; a <= b; a, b = a+1, b-1 {
		t.seq[a], t.seq[b] = t.seq[b], t.seq[a]
		t.seq[a].back = !t.seq[a].back
		if a != b {
			t.seq[b].back = !t.seq[b].back
		}
		t.pos[t.seq[a].index], t.pos[t.seq[b].index] = int32(a), int32(b)
	}
}

// move takes up to three stops that begin or end at i elsewhere.
func (t *tour) move(i int) (lo, hi int, ok bool) {
	for n := range 3 {
		for _, from := range []int{i - n, i} {
			to := from + n
			if from < 0 || to >= len(t.seq) {
				continue
			}
			if lo, hi, ok := t.moveStops(from, to); ok {
				return lo, hi, true
			}
			if n == 0 {
				break
			}
		}
	}
	return 0, 0, false
}

// moveStops takes the stops from a to b to the near end where they cost least,
// if that is less than where they are.
func (t *tour) moveStops(a, b int) (lo, hi int, ok bool) {
	saved := t.link(a-1) + t.link(b) - t.join(t.out(a-1), b+1)
	if saved <= gain {
		return 0, 0, false
	}
	for _, head := range [...]bool{true, false} { // which end of the stretch is joined to the near end
		mine, theirs, i := t.in(a), t.out(b), a
		if !head {
			mine, theirs, i = theirs, mine, b
		}
		for _, p := range t.nearTo(i, !head) {
			d := mine.to(t.nodes[p.node].end[p.end])
			if d >= saved {
				break
			}
			j := int(t.pos[p.node])
			if j >= a && j <= b {
				continue
			}
			// Before j the joined end comes last, after j it comes first.
			if gap := j - 1; t.enters(p) && t.mayMove(a, b, gap) && saved-d-t.out(gap).to(theirs)+t.link(gap) > gain {
				return t.shift(a, b, gap, head)
			}
			if gap := j; t.leaves(p) && t.mayMove(a, b, gap) && saved-d-t.join(theirs, gap+1)+t.link(gap) > gain {
				return t.shift(a, b, gap, !head)
			}
		}
	}
	return 0, 0, false
}

// mayMove reports whether the stops from a to b can be put after stop gap.
func (t *tour) mayMove(a, b, gap int) bool {
	return gap != a-1 && gap != b && max(gap-b, a-gap) <= mostMove
}

// shift moves the stops from a to b between gap and gap+1, turned round or not.
// A stretch is moved by turning it and what it passes, and then both together.
func (t *tour) shift(a, b, gap int, turned bool) (lo, hi int, ok bool) {
	n := b - a + 1
	if gap > b {
		lo, hi = a, gap
	} else {
		lo, hi = gap+1, b
	}
	moved := make([]stop, 0, 3)
	moved = append(moved, t.seq[a:b+1]...)
	if turned {
		for x, y := 0, n-1; x < y; x, y = x+1, y-1 {
			moved[x], moved[y] = moved[y], moved[x]
		}
		for k := range moved {
			moved[k].back = !moved[k].back
		}
	}
	if gap > b {
		copy(t.seq[a:], t.seq[b+1:gap+1])
		copy(t.seq[gap-n+1:], moved)
	} else {
		copy(t.seq[gap+1+n:], t.seq[gap+1:a])
		copy(t.seq[gap+1:], moved)
	}
	for k := lo; k <= hi; k++ {
		t.pos[t.seq[k].index] = int32(k)
	}
	return lo, hi, true
}
