package bed

import (
	"math"
	"runtime"
	"slices"
	"sync"

	"rollwright/making/machine"
	"rollwright/paper/roll"
)

// point is a place on the bed, along stretched by the ratio of the axes'
// speeds, so that distance is what travel costs.
type point struct{ x, y float64 }

func (a point) to(b point) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }

// node is a cut as the path sees it: it is entered at one end and left at the
// other, or turned round.
type node struct{ end [2]point }

// apart is the least distance of two nodes, by whichever ends.
func (n *node) apart(m *node) float64 {
	return min(n.end[0].to(m.end[0]), n.end[0].to(m.end[1]), n.end[1].to(m.end[0]), n.end[1].to(m.end[1]))
}

// route orders the cuts of every bed, several beds at a time. Each bed's path
// depends on that bed alone, so the result is the same on any computer.
func (p *Plan) route() {
	var wait sync.WaitGroup
	next := make(chan *Bed)
	for range min(runtime.GOMAXPROCS(0), len(p.Beds)) {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for b := range next {
				p.routeBed(b)
			}
		}()
	}
	for i := range p.Beds {
		next <- &p.Beds[i]
	}
	close(next)
	wait.Wait()
}

func (p *Plan) routeBed(b *Bed) {
	holds := p.holds(b)
	rows := p.inRows(b)
	b.Rows = p.measure(b.Marks, b.OriginMM, slices.Concat(holds, rows))
	if p.Profile.Move.Forward() {
		p.sweepRows(b)
	} else {
		p.windows(b)
		p.turnOutlines(b.Cuts)
	}
	b.Cuts = slices.Concat(holds, b.Cuts)
	b.Path = p.measure(b.Marks, b.OriginMM, b.Cuts)
	if !p.Profile.Move.Forward() && b.Path.TravelMM > b.Rows.TravelMM {
		b.Cuts, b.Path = slices.Concat(holds, rows), b.Rows // a bed of next to nothing
	}
}

// stretch is the cost of travel along, measured in that across.
func (p *Plan) stretch() float64 { return p.Profile.Move.AcrossMMPerSec / p.Profile.Move.AlongMMPerSec }

// windows orders the cuts of one window after the other, each from where the
// one before ended.
func (p *Plan) windows(b *Bed) {
	sortRows(p, b.Cuts)
	at := point{p.Profile.Park.AlongMM * p.stretch(), p.Profile.Park.AcrossMM}
	if n := len(p.holds(b)); n > 0 {
		at = point{(p.PinMM + p.AdvanceMM) * p.stretch(), p.HolesY[1]}
	}
	for rest := b.Cuts; len(rest) > 0; {
		n := p.inWindow(rest)
		var end *point
		if n == len(rest) && !p.Profile.Bed.Endless() {
			end = &point{p.Profile.Park.AlongMM * p.stretch(), p.Profile.Park.AcrossMM}
		}
		at = p.orderCuts(rest[:n], at, end)
		rest = rest[n:]
	}
}

// inWindow is how many of the cuts, in order of their beginnings, begin in the
// window of the first.
func (p *Plan) inWindow(cuts []Cut) int {
	w := p.Profile.Move.WindowMM
	if math.IsInf(w, 1) {
		return len(cuts)
	}
	first := p.Profile.Bed.MarginMM
	limit := first + (math.Floor((cuts[0].FromX-first)/w)+1)*w
	n := 1
	for n < len(cuts) && cuts[n].FromX < limit {
		n++
	}
	return n
}

// orderCuts puts cuts in the order of a short path from at, to end when that is
// known, and returns where it ends.
func (p *Plan) orderCuts(cuts []Cut, at point, end *point) point {
	nodes := make([]node, len(cuts))
	for i := range cuts {
		nodes[i] = p.node(&cuts[i])
	}
	t := newTour(nodes, at, end)
	t.shorten()
	ordered := make([]Cut, len(cuts))
	for i, n := range t.seq {
		ordered[i] = cuts[n.index]
		ordered[i].Back = n.back && !p.closed()
	}
	copy(cuts, ordered)
	return t.out(len(cuts) - 1)
}

// closed reports whether a cut is left where it is entered.
func (p *Plan) closed() bool { return p.Profile.Cut == machine.Outlines }

func (p *Plan) node(c *Cut) node {
	k := p.stretch()
	inX, inY, outX, outY := p.ends(c)
	return node{[2]point{{inX * k, inY}, {outX * k, outY}}}
}

// turnOutlines chooses for every outline, in their order, at which end to begin
// it: the cheapest of all choices, found by looking at both ends of each in
// turn.
func (p *Plan) turnOutlines(cuts []Cut) {
	if !p.closed() || len(cuts) == 0 {
		return
	}
	k := p.stretch()
	places := p.bothEnds(cuts)
	for i := range places {
		places[i].end[0].x *= k
		places[i].end[1].x *= k
	}
	from := make([][2]int8, len(cuts)) // the choice before, for each choice here
	cost := [2]float64{}
	for i := 1; i < len(cuts); i++ {
		var now [2]float64
		for e := range 2 {
			a := cost[0] + places[i-1].end[0].to(places[i].end[e])
			b := cost[1] + places[i-1].end[1].to(places[i].end[e])
			now[e] = min(a, b)
			if b < a {
				from[i][e] = 1
			}
		}
		cost = now
	}
	e := int8(0)
	if cost[1] < cost[0] {
		e = 1
	}
	for i := len(cuts) - 1; i >= 0; i-- {
		cuts[i].Back = e == 1
		e = from[i][e]
	}
}

// sweepRows orders the cuts for paper that only advances: row by row, each row
// from its nearer end, such that the whole way is the shortest of all such ways
// (both ends of each row are looked at in turn).
func (p *Plan) sweepRows(b *Bed) {
	sortRows(p, b.Cuts)
	var rows [][]Cut
	for rest := b.Cuts; len(rest) > 0; {
		n := 1
		for n < len(rest) && roll.Printed(rest[n].FromX) == roll.Printed(rest[0].FromX) {
			n++
		}
		rows, rest = append(rows, rest[:n]), rest[n:]
	}
	from := make([][2]int8, len(rows))
	cost := [2]float64{}
	for i := 1; i < len(rows); i++ {
		cost, from[i] = p.nextRow(rows[i-1], rows[i], cost)
	}
	e := int8(0)
	if cost[1] < cost[0] {
		e = 1
	}
	for i := len(rows) - 1; i >= 0; i-- {
		if e == 1 {
			slices.Reverse(rows[i])
		}
		e = from[i][e]
	}
}

// nextRow is the least cost of a row taken from its first cut to its last (0)
// or the other way (1), given those of the row before, and which way that one
// was taken.
func (p *Plan) nextRow(before, row []Cut, cost [2]float64) (now [2]float64, from [2]int8) {
	last := func(cuts []Cut, way int) node {
		if way == 0 {
			return p.node(&cuts[len(cuts)-1])
		}
		return p.node(&cuts[0])
	}
	for way := range 2 {
		first := last(row, 1-way)
		now[way] = math.Inf(1)
		for w := range 2 {
			leave := last(before, w)
			if c := cost[w] + leave.end[1].to(first.end[0]); c < now[way] {
				now[way], from[way] = c, int8(w)
			}
		}
	}
	return now, from
}
