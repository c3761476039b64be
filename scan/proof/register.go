package proof

import (
	"cmp"
	"math"
	"slices"
)

// register finds the map from scan to plan, and how many slots of the scan answer
// to one of the plan under it.
func register(p, s *strip) (*Map, int) {
	if len(p.slots) == 0 || len(s.slots) == 0 {
		return &Map{pieces: []piece{{math.Inf(-1), []knot{{}}}}}, 0
	}
	ws := windows(p, s)
	// A scan counts from its first hole, or as the plan does.
	nominal := 0.0
	if first := p.slots[0].lead - s.slots[0].lead; math.Abs(first) < math.Abs(nominal) {
		nominal = first
	}
	offsets := walk(ws, nominal, ends{p.slots[0].lead - s.slots[0].lead, p.endMM() - s.endMM()})
	f := &fitter{plan: p, scan: s}
	f.rough(ws, offsets)
	f.fit(f.reachMM)
	f.breaks(f.apartMM)
	f.fit(nearMM)
	if f.steps() {
		f.fit(nearMM)
	}
	f.breaks(fitMM)
	f.fit(1)
	return &f.Map, f.agree(1)
}

// fitter makes the map finer.
type fitter struct {
	Map
	plan, scan *strip
	reachMM    float64 // how far the rough map may be off
	apartMM    float64 // and how far a break may lie off its place
	room       []int32 // of near
}

// rough makes pieces of the windows' places.
func (f *fitter) rough(ws []window, offsets []float64) {
	for i := range ws {
		w := &ws[i]
		f.reachMM = max(f.reachMM, 2*w.halfMM)
		if i > 0 {
			f.apartMM = max(f.apartMM, w.centreMM-ws[i-1].centreMM)
		}
		k := knot{atMM: w.centreMM, offsetMM: offsets[i]}
		n := len(f.pieces)
		switch {
		case n == 0:
			f.pieces = append(f.pieces, piece{math.Inf(-1), []knot{k}})
		case math.Abs(offsets[i]-offsets[i-1]) > slackMM(w, &ws[i-1]):
			f.pieces = append(f.pieces, piece{(ws[i-1].centreMM + w.centreMM) / 2, []knot{k}})
		default:
			f.pieces[n-1].add(k)
		}
	}
}

// add appends a knot that lies beyond the last one.
func (p *piece) add(k knot) {
	if n := len(p.knots); n > 0 && k.atMM <= p.knots[n-1].atMM+1e-6 {
		return
	}
	p.knots = append(p.knots, k)
}

// ranges are the indices of the scan's slots where the pieces begin, and their
// number.
func (f *fitter) ranges() []int {
	out := make([]int, len(f.pieces)+1)
	for i := range f.pieces {
		out[i], _ = slices.BinarySearchFunc(f.scan.slots, f.pieces[i].fromMM,
			func(s slot, at float64) int { return cmp.Compare(s.lead, at) })
	}
	out[len(f.pieces)] = len(f.scan.slots)
	return out
}

// breaks moves the beginning of each piece to where most edges fit, by at most so
// much.
func (f *fitter) breaks(apartMM float64) {
	for i := 1; i < len(f.pieces); i++ {
		f.breakAt(i, apartMM)
	}
}

// edge is the end of a slot of the scan.
type edge struct {
	mm    float64
	slot  int32
	trail bool
}

// breakAt puts the break before piece i where it divides the edges best. Knots
// near it, which may have been fitted to what belongs to the other side, do not
// decide.
func (f *fitter) breakAt(i int, apartMM float64) {
	left, right := &f.pieces[i-1], &f.pieces[i]
	for n := len(left.knots); n > 1 && left.knots[n-1].atMM > right.fromMM-apartMM; n-- {
		left.knots = left.knots[:n-1]
	}
	for len(right.knots) > 1 && right.knots[0].atMM < right.fromMM+apartMM {
		right.knots = right.knots[1:]
	}
	low, high := left.knots[len(left.knots)-1].atMM, right.knots[0].atMM
	edges := f.edges(low, high)
	// balance is how many edges before the place fit the left piece and not the
	// right one, less those the other way round.
	balance, best, at := 0.0, math.Inf(-1), []float64{}
	for k := range len(edges) + 1 {
		if k > 0 {
			balance += f.prefers(left, right, &edges[k-1])
		}
		here := between(edges, k, low, high)
		switch {
		case balance > best+1e-9:
			best, at = balance, []float64{here}
		case balance > best-1e-9:
			at = append(at, here)
		}
	}
	right.fromMM = at[len(at)/2]
}

func between(edges []edge, k int, low, high float64) float64 {
	switch {
	case len(edges) == 0:
		return (low + high) / 2
	case k == 0:
		return edges[0].mm - 1e-3
	case k == len(edges):
		return edges[k-1].mm + 1e-3
	}
	return (edges[k-1].mm + edges[k].mm) / 2
}

// edges are the edges of the scan from low to high, in order.
func (f *fitter) edges(low, high float64) []edge {
	var out []edge
	longest := 400.0 // an open slot that long would tear the paper
	from, _ := slices.BinarySearchFunc(f.scan.slots, low-longest,
		func(s slot, at float64) int { return cmp.Compare(s.lead, at) })
	for i := from; i < len(f.scan.slots) && f.scan.slots[i].lead <= high; i++ {
		s := &f.scan.slots[i]
		if s.lead >= low {
			out = append(out, edge{s.lead, int32(i), false})
		}
		if s.trail >= low && s.trail <= high {
			out = append(out, edge{s.trail, int32(i), true})
		}
	}
	slices.SortStableFunc(out, func(a, b edge) int { return cmp.Compare(a.mm, b.mm) })
	return out
}

// prefers is above 0 when the edge fits the left piece better, below when the
// right one.
func (f *fitter) prefers(left, right *piece, e *edge) float64 {
	port := f.scan.slots[e.slot].port
	l := f.misfit(port, e.mm+left.offset(e.mm), e.trail)
	r := f.misfit(port, e.mm+right.offset(e.mm), e.trail)
	return r - l
}

// misfit is how badly a place fits the edges of the plan: 0 on one, 1 from a
// millimetre and a half on.
func (f *fitter) misfit(port int32, mm float64, trail bool) float64 {
	list := f.plan.byPort[port]
	k, _ := slices.BinarySearchFunc(list, mm, func(j int32, at float64) int {
		return cmp.Compare(f.plan.edge(j, trail),
			at)
	})
	off := math.Inf(1)
	if k < len(list) {
		off = math.Abs(f.plan.edge(list[k], trail) - mm)
	}
	if k > 0 {
		off = min(off, math.Abs(f.plan.edge(list[k-1], trail)-mm))
	}
	return min(off/1.5, 1)
}

func (s *strip) edge(i int32, trail bool) float64 {
	if trail {
		return s.slots[i].trail
	}
	return s.slots[i].lead
}

// near are the slots of the plan whose leads are within reach of mm, on the port
// and of the length of t.
func (f *fitter) near(t *slot, mm, reachMM float64) []int32 {
	list := f.plan.byPort[t.port]
	from, _ := slices.BinarySearchFunc(list, mm-reachMM, func(j int32,
		at float64) int {
		return cmp.Compare(f.plan.slots[j].lead, at)
	})
	f.room = f.room[:0]
	for _, j := range list[from:] {
		o := &f.plan.slots[j]
		if o.lead > mm+reachMM {
			break
		}
		if alikeLength(o.length(), t.length()) {
			f.room = append(f.room, j)
		}
	}
	return f.room
}

// nearest is the slot of the plan whose lead is nearest to mm, on the port and of
// the length of t; -1 if there is none within reach.
func (f *fitter) nearest(t *slot, mm, reachMM float64) int32 {
	best, off := int32(-1), reachMM
	for _, j := range f.near(t, mm, reachMM) {
		if d := math.Abs(f.plan.slots[j].lead - mm); d <= off {
			best, off = j, d
		}
	}
	return best
}

// agree counts the slots of the scan that answer to one of the plan.
func (f *fitter) agree(reachMM float64) int {
	n := 0
	for i := range f.scan.slots {
		t := &f.scan.slots[i]
		if f.nearest(t, f.ToPlan(t.lead), reachMM) >= 0 {
			n++
		}
	}
	return n
}
