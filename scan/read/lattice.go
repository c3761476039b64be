package read

import (
	"cmp"
	"math"
	"slices"

	"rollwright/paper/instrument"
)

// mark is an opening in millimetres of its sheet.
type mark struct {
	opening
	s0, s1   float64 // leading and trailing edge
	sm, u    float64 // middle along and across
	wide     float64 // mm
	long     float64 // mm
	port     int     // index in the bar; -1 for none
	off      float64 // mm from the port
	picture  int
	weak     bool    // it may as well be ink, or a tear
	torn     bool    // it is wider than a punch
	dieMM    float64 // the holes' width
	inky     bool    // ink looks as the backing does
	pixelMM2 float64 // area of a pixel
}

// marks turns openings into millimetres.
func (sh *sheet) marks(list []opening) []mark {
	out := make([]mark, 0, len(list))
	for _, o := range list {
		m := mark{opening: o, port: -1, wide: o.w * sh.acrossMM, inky: sh.inky, pixelMM2: sh.acrossMM * sh.alongMM}
		m.sm, m.u = sh.place(o.am, o.c)
		tan := sh.slope
		m.s0, _ = sh.place(o.a0, o.c+(o.a0-o.am)*tan)
		m.s1, _ = sh.place(o.a1, o.c+(o.a1-o.am)*tan)
		m.long = m.s1 - m.s0
		out = append(out, m)
	}
	return out
}

// lattice is how well an instrument's ports fit the openings.
type lattice struct {
	in      *instrument.Instrument
	die     float64 // mm: the holes' width
	depth   float64 // how far holes are from paper to backing, in the middle
	dies    int     // openings about that wide
	on      int     // of them, on a port within near
	rms     float64 // mm, of those on a port
	chance  float64 // share that would be on a port by chance
	measure float64 // the paper's width as seen by the ports, as a share of what it should be; 0: not known
}

// near is how far the middle of a hole may lie from its port, as a share of the
// ports' distance.
const near = 0.26

// fitPorts finds alpha, beta and drift of a sheet so that the marks lie on the
// ports of in, and says how well they do.
func (sh *sheet) fitPorts(list []opening, in *instrument.Instrument) lattice {
	sh.alpha, sh.beta, sh.drift = 0, 1, curve{}
	marks := sh.marks(list)
	fit := lattice{in: in, die: commonWidth(marks, in.Die.DiameterMM), depth: commonDepth(marks, in.Die.DiameterMM)}
	holes := marks[:0]
	for _, m := range marks {
		if m.likeHole(fit) {
			holes = append(holes, m)
		}
	}
	fit.dies = len(holes)
	if len(holes) == 0 {
		return fit
	}
	ports := placesOf(in)
	pitch := pitchOf(ports)
	fit.chance = 2 * near
	sh.search(holes, ports, pitch)
	for range 4 {
		sh.refine(holes, ports, pitch)
	}
	sum := 0.0
	for _, m := range holes {
		_, u := sh.place(m.am, m.c)
		if _, off := nearest(ports, u); abs(off) < near*pitch {
			fit.on++
			sum += off * off
		}
	}
	if fit.on > 0 {
		fit.rms = math.Sqrt(sum / float64(fit.on))
	}
	fit.measure = 1 / sh.beta
	return fit
}

// byChance reports whether as many openings might lie on ports if they lay anywhere:
// within near of one are 52 of a hundred places, and shift and scale were chosen. Where
// there are few, all have to.
func (l lattice) byChance() bool {
	n, share := float64(l.dies), 2*near
	return l.on < l.dies && float64(l.on) < share*n+2.2*math.Sqrt(share*(1-share)*n)
}

// likeHole reports whether a mark has the size of a punch or of several in a row.
func (m *mark) likeHole(fit lattice) bool {
	die := fit.die
	return !m.part && m.depth > 0.75*fit.depth && m.wide > 0.72*die && m.wide < 1.3*die && m.long > 0.7*die
}

// commonWidth is the width that most marks have, near to what is expected; the
// expected one where there is none.
func commonWidth(marks []mark, expected float64) float64 {
	var w []float64
	for _, m := range marks {
		if m.wide > 0.6*expected && m.wide < 1.5*expected && m.long > 0.6*expected {
			w = append(w, m.wide)
		}
	}
	if len(w) < 3 {
		return expected
	}
	slices.Sort(w)
	best, at := 0, 0
	j := 0
	for i := range w {
		for j < len(w) && w[j] <= w[i]*1.12 {
			j++
		}
		if j-i > best {
			best, at = j-i, i
		}
	}
	return w[at+best/2]
}

// commonDepth is how far from paper to backing the middle of a hole comes, where the
// picture is blurred; 1 where there are no holes.
func commonDepth(marks []mark, expected float64) float64 {
	var d []float64
	for _, m := range marks {
		if !m.part && m.wide > 0.6*expected && m.wide < 1.5*expected && m.depth > 0.5 {
			d = append(d, m.depth)
		}
	}
	if len(d) < 3 {
		return 1
	}
	slices.Sort(d)
	return min(d[len(d)*3/4], 1)
}

func placesOf(in *instrument.Instrument) []float64 {
	out := make([]float64, len(in.Bar.Ports))
	for i, p := range in.Bar.Ports {
		out[i] = p.AcrossMM
	}
	return out
}

// pitchOf is the distance that most neighbouring ports have.
func pitchOf(ports []float64) float64 {
	var d []float64
	for i := 1; i < len(ports); i++ {
		d = append(d, ports[i]-ports[i-1])
	}
	return median(d)
}

// nearest is the port nearest to u, and how far u lies beyond it.
func nearest(ports []float64, u float64) (port int, off float64) {
	i, _ := slices.BinarySearch(ports, u)
	if i == len(ports) || i > 0 && u-ports[i-1] < ports[i]-u {
		i--
	}
	return i, u - ports[i]
}

// finder finds the nearest of many places at once, as nearest does.
type finder struct {
	places []float64 // in order
	from   float64
	scale  float64 // cells a millimetre
	first  []int32 // of each cell: the first place that is not before it
}

func newFinder(places []float64) *finder {
	from, to := places[0], places[len(places)-1]
	n := 2*len(places) + 1
	f := &finder{places: places, from: from, scale: float64(n) / max(to-from, 1), first: make([]int32, n+1)}
	for i := range f.first {
		at, _ := slices.BinarySearch(places, from+float64(i)/f.scale)
		f.first[i] = int32(at)
	}
	return f
}

// off is how far u lies beyond the place nearest to it.
func (f *finder) off(u float64) float64 {
	i := int(f.first[min(max(int((u-f.from)*f.scale), 0), len(f.first)-1)])
	for i > 0 && f.places[i-1] >= u { // where rounding took the next cell
		i--
	}
	for i < len(f.places) && f.places[i] < u {
		i++
	}
	if i == len(f.places) || i > 0 && u-f.places[i-1] < f.places[i]-u {
		i--
	}
	return u - f.places[i]
}

// search tries shifts and scales of the paper across, so that most holes lie on
// ports: what was measured from edges is right to some tenths; with one edge the
// scale is only as good as the resolution is.
func (sh *sheet) search(holes []mark, ports []float64, pitch float64) {
	both := sh.edges[0] && sh.edges[1]
	span, scales := 1.3, 0.004
	if !both {
		span, scales = 1.8, 0.015
	}
	pivot := 0.0
	switch {
	case both:
		pivot = (ports[0] + ports[len(ports)-1]) / 2
	case sh.edges[1]:
		pivot = ports[len(ports)-1] + ports[0]
	}
	sample := thinned(holes, 1000)
	find := newFinder(ports)
	type shift struct{ score, alpha, beta float64 }
	var tried []shift // the best of each scale
	for k := -scales; k <= scales+1e-9; k += scales / 12 {
		tried = append(tried, shift{-1, 0, 1 + k})
	}
	inParallel(len(tried), func(i int) {
		best := &tried[i]
		beta := best.beta
		for d := -span; d <= span+1e-9; d += 0.1 {
			alpha := pivot - beta*pivot + d
			score := 0.0
			for i := range sample {
				if t := find.off(alpha+beta*sample[i].u) / (0.2 * pitch); abs(t) < 1 {
					score += 1 - t*t
				}
			}
			score -= float64(len(sample)) * (0.02*abs(d)/span + 0.02*abs(beta-1)/scales)
			if score > best.score {
				best.score, best.alpha = score, alpha
			}
		}
	})
	best := -1.0
	for _, t := range tried {
		if t.score > best {
			best, sh.alpha, sh.beta = t.score, t.alpha, t.beta
		}
	}
}

// thinned is at most so many of a list, evenly; the list itself where it is no longer.
func thinned[T any](list []T, most int) []T {
	if len(list) <= most {
		return list
	}
	out := make([]T, most)
	for i := range out {
		out[i] = list[i*len(list)/most]
	}
	return out
}

// refine fits shift and scale by least squares, then the drift along the paper.
func (sh *sheet) refine(holes []mark, ports []float64, pitch float64) {
	type pair struct{ u, port, s float64 }
	var pairs []pair
	for _, m := range holes {
		s, u := sh.place(m.am, m.c)
		i, off := nearest(ports, u)
		if abs(off) < 0.3*pitch {
			pairs = append(pairs, pair{(u + sh.drift.value(s) - sh.alpha) / sh.beta, ports[i] + sh.drift.value(s), s})
		}
	}
	if len(pairs) < 6 {
		return
	}
	var n, sx, sy, sxx, sxy float64
	for _, p := range pairs {
		n, sx, sy, sxx, sxy = n+1, sx+p.u, sy+p.port, sxx+p.u*p.u, sxy+p.u*p.port
	}
	if d := n*sxx - sx*sx; d/n/n > 400 { // holes spread over 20 mm and more
		beta := (n*sxy - sx*sy) / d
		if abs(beta-sh.beta) < 0.01 {
			sh.beta = beta
		}
	}
	sh.alpha = (sy - sh.beta*sx) / n
	rest := make([]point, 0, len(pairs))
	for _, p := range pairs {
		rest = append(rest, point{p.s, sh.alpha + sh.beta*p.u - (p.port - sh.drift.value(p.s))})
	}
	sh.drift = driftOf(rest)
}

// Drift: points every driftStepMM, from what lies within driftReachMM.
const (
	driftStepMM  = 20.0
	driftReachMM = 60.0
)

// driftOf is the running middle of what is left, where enough holes say so.
func driftOf(rest []point) curve {
	if len(rest) < 8 {
		return curve{}
	}
	slices.SortFunc(rest, func(a, b point) int { return cmp.Compare(a.along, b.along) })
	c := curve{from: rest[0].along, step: driftStepMM}
	n := int((rest[len(rest)-1].along-c.from)/driftStepMM) + 2
	var v []float64
	i := 0
	for k := range n {
		at := c.from + float64(k)*driftStepMM
		for i < len(rest) && rest[i].along < at-driftReachMM {
			i++
		}
		end := i
		for end < len(rest) && rest[end].along <= at+driftReachMM {
			end++
		}
		if end-i < 6 {
			c.at = append(c.at, math.NaN())
			continue
		}
		v = v[:0]
		for _, p := range thinned(rest[i:end], 128) {
			v = append(v, p.across)
		}
		c.at = append(c.at, median(v))
	}
	bridge(c.at)
	return c
}
