package proof

import (
	"cmp"
	"math"
	"slices"
)

// The numbers of the fine registration.
const (
	fitSlots   = 24  // the least that a straight piece is fitted to
	fitMM      = 150 // and its least length
	steepest   = 0.025
	bandMM     = 0.5  // edges within so much of a line speak for it, at first
	leastMM    = 0.08 // a line is never trusted more than that
	stepSlots  = 16   // on either side of a jump that is looked for
	leastStep  = 0.35 // millimetres: a shorter one is stretch
	samePlace  = 0.05 // edges nearer than that stand in one row
	evenSpread = 1.4826
)

// point is an edge of the scan with how far off the plan's it lies.
type point struct{ x, offset float64 }

// fit fits the pieces anew: to the slots that answer to one of the plan within
// reach.
func (f *fitter) fit(reachMM float64) {
	r := f.ranges()
	for i := range f.pieces {
		f.fitPiece(&f.pieces[i], r[i], r[i+1], reachMM)
	}
}

// fitPiece fits straight lines to overlapping windows of the slots from begin to
// end: a knot in the middle of each.
func (f *fitter) fitPiece(p *piece, begin, end int, reachMM float64) {
	if begin == end {
		return
	}
	var knots piece
	for from := begin; from < end; {
		to := f.stretch(from, end)
		if k, ok := f.line(p, from, to, reachMM); ok {
			knots.add(k)
		}
		if to == end {
			break
		}
		from += max((to-from)/2, 1)
	}
	if len(knots.knots) > 0 {
		p.knots = knots.knots
	}
}

// stretch is where a window of slots that begins at from ends: what would be left
// of the piece, if it is little, is part of it.
func (f *fitter) stretch(from, end int) int {
	to := min(from+fitSlots, end)
	for to < end && f.scan.slots[to-1].lead-f.scan.slots[from].lead < fitMM {
		to++
	}
	if end-to < fitSlots/2 {
		return end
	}
	return to
}

// line fits a straight line to the edges of some slots.
func (f *fitter) line(p *piece, from, to int, reachMM float64) (knot, bool) {
	points := f.points(p, from, to, reachMM)
	if len(points) == 0 {
		return knot{}, false
	}
	centre := (points[0].x + points[len(points)-1].x) / 2
	offset, slope := crowded(points, centre)
	offset, slope = trimmed(points, centre, offset, slope)
	return knot{centre, offset, slope}, true
}

// points are the edges that may answer to one of the plan, by place: in repeated
// notes to several.
func (f *fitter) points(p *piece, from, to int, reachMM float64) []point {
	var out []point
	for i := from; i < to; i++ {
		t := &f.scan.slots[i]
		for _, j := range f.near(t, t.lead+p.offset(t.lead), reachMM) {
			o := &f.plan.slots[j]
			out = append(out, point{t.lead, o.lead - t.lead}, point{t.trail, o.trail - t.trail})
		}
	}
	slices.SortStableFunc(out, func(a, b point) int { return cmp.Compare(a.x, b.x) })
	return out
}

// crowded is the line in whose band most points lie.
func crowded(points []point, centre float64) (offset, slope float64) {
	half := (points[len(points)-1].x - points[0].x) / 2
	turns := 0
	if len(points) > 4 && half > 10 {
		turns = min(int(math.Ceil(steepest*half/(bandMM/2))), 60)
	}
	rest := make([]float64, len(points))
	best := -1.0
	for turn := -turns; turn <= turns; turn++ {
		s := 0.0
		if turns > 0 {
			s = steepest * float64(turn) / float64(turns)
		}
		for i, p := range points {
			rest[i] = p.offset - s*(p.x-centre)
		}
		slices.Sort(rest)
		to := 0
		for from := range rest {
			for to < len(rest) && rest[to] <= rest[from]+bandMM {
				to++
			}
			if n := float64(to-from) - 0.3*math.Abs(s)/steepest; n > best {
				best, offset, slope = n, (rest[from]+rest[to-1])/2, s
			}
		}
	}
	return offset, slope
}

// trimmed is the line of least squares through the points near a line, again and
// again.
func trimmed(points []point, centre, offset, slope float64) (float64, float64) {
	reach := bandMM
	near := make([]float64, 0, len(points))
	for range 5 {
		var n, sx, sy, sxx, sxy float64
		low, high := math.Inf(1), math.Inf(-1)
		near = near[:0]
		for _, p := range points {
			x := p.x - centre
			off := math.Abs(p.offset - offset - slope*x)
			if off > reach {
				continue
			}
			near = append(near, off)
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+p.offset, sxx+x*x, sxy+x*p.offset
			low, high = min(low, x), max(high, x)
		}
		if n == 0 {
			break
		}
		spread := sxx - sx*sx/n
		switch {
		case n >= 8 && high-low > 20 && spread > 0:
			slope = min(max((sxy-sx*sy/n)/spread, -steepest), steepest)
		case n < 4:
			slope = 0
		}
		offset = (sy - slope*sx) / n
		slices.Sort(near)
		reach = max(3*evenSpread*near[len(near)/2], leastMM)
		reach = min(reach, bandMM)
	}
	return offset, slope
}

// steps parts pieces where the paper has slipped by less than the rough
// registration sees. It reports whether there are any.
func (f *fitter) steps() bool {
	r := f.ranges()
	var out []piece
	for i := range f.pieces {
		p := f.pieces[i]
		for _, mm := range f.slips(&p, r[i], r[i+1]) {
			left, right := p.split(mm)
			if len(left.knots) == 0 || len(right.knots) == 0 {
				continue
			}
			out = append(out, left)
			p = right
		}
		out = append(out, p)
	}
	parted := len(out) > len(f.pieces)
	f.pieces = out
	return parted
}

// split parts a piece; each part keeps the knots on its side, but for those next
// to the break, whose lines had points of both sides.
func (p *piece) split(mm float64) (left, right piece) {
	left, right = piece{fromMM: p.fromMM}, piece{fromMM: mm}
	for _, k := range p.knots {
		if k.atMM < mm {
			left.knots = append(left.knots, k)
		} else {
			right.knots = append(right.knots, k)
		}
	}
	if n := len(left.knots); n > 1 {
		left.knots = left.knots[:n-1]
	}
	if len(right.knots) > 1 {
		right.knots = right.knots[1:]
	}
	return left, right
}

// slips are the places of the scan where the offset jumps.
func (f *fitter) slips(p *piece, begin, end int) []float64 {
	points := f.leads(p, begin, end)
	sizes := make([]float64, len(points))
	for i := 4; i+4 <= len(points); i++ {
		if points[i].x-points[i-1].x < samePlace {
			continue
		}
		slope := p.slopeNear(points[i].x)
		left := middle(points[max(i-stepSlots, 0):i], points[i].x, slope)
		right := middle(points[i:min(i+stepSlots, len(points))], points[i].x, slope)
		sizes[i] = math.Abs(right - left)
	}
	var out []float64
	last := -stepSlots
	for i, size := range sizes {
		if size < leastStep || i-last < stepSlots || size < slices.Max(sizes[max(i-stepSlots, 0):min(i+stepSlots,
			len(sizes))]) {
			continue
		}
		out, last = append(out, (points[i-1].x+points[i].x)/2), i
	}
	return out
}

// leads are the leading edges alone that answer to one of the plan.
func (f *fitter) leads(p *piece, begin, end int) []point {
	var out []point
	for i := begin; i < end; i++ {
		t := &f.scan.slots[i]
		if j := f.nearest(t, t.lead+p.offset(t.lead), nearMM); j >= 0 {
			out = append(out, point{t.lead, f.plan.slots[j].lead - t.lead})
		}
	}
	return out
}

// slopeNear is the middle of the slopes of the knots around a place: one that
// lies across a jump does not decide it.
func (p *piece) slopeNear(mm float64) float64 {
	i, _ := slices.BinarySearchFunc(p.knots, mm, func(k knot, at float64) int { return cmp.Compare(k.atMM, at) })
	var slopes []float64
	for _, k := range p.knots[max(i-6, 0):min(i+6, len(p.knots))] {
		slopes = append(slopes, k.slope)
	}
	slices.Sort(slopes)
	return slopes[len(slopes)/2]
}

// middle is the median offset of some points, brought to a place along a slope.
func middle(points []point, at, slope float64) float64 {
	var room [stepSlots]float64
	rest := room[:0]
	for _, p := range points {
		rest = append(rest, p.offset-slope*(p.x-at))
	}
	slices.Sort(rest)
	return rest[len(rest)/2]
}
