package read

import (
	"math"
	"slices"

	"rollwright/paper/instrument"
)

// lens is how a photograph shows a plane: bent by the lens, then seen in
// perspective.
type lens struct {
	cx, cy, unit float64 // middle of the picture in the frame, and half its diagonal, in pixels
	// across = (p0 x + p1 y + p2)/(1 + p3 x + p4 y) in millimetres, where x and y, in
	// units from the middle, are stretched by 1 + p5 r^2.
	p [6]float64
	// along = (d x + e y)/(1 + p3 x + p4 y)
	d, e float64
}

const (
	tiltAlong = 3
	tiltSide  = 4
	bend      = 5
)

// place turns a pixel of the frame into millimetres: along, across.
func (l *lens) place(along, across float64) (s, u float64) {
	x, y, n := l.flat(along, across)
	return (l.d*x + l.e*y) / n, (l.p[0]*x + l.p[1]*y + l.p[2]) / n
}

func (l *lens) flat(along, across float64) (x, y, n float64) {
	x, y = (along-l.cx)/l.unit, (across-l.cy)/l.unit
	k := 1 + l.p[bend]*(x*x+y*y)
	x, y = x*k, y*k
	return x, y, 1 + l.p[tiltAlong]*x + l.p[tiltSide]*y
}

// lie is a pixel whose place across is known.
type lie struct {
	along, across float64 // pixels
	u             float64 // mm
	weight        float64
}

// fit improves the parameters whose bits are set by a step of least squares (Gauss
// and Newton), what lies far off counting less.
func (l *lens) fit(lies []lie, free [6]bool, scale float64) {
	var index []int
	for i, f := range free {
		if f {
			index = append(index, i)
		}
	}
	m := len(index)
	var normal [6][7]float64
	for _, q := range lies {
		_, u := l.place(q.along, q.across)
		off := q.u - u
		w := q.weight / (1 + (off/scale)*(off/scale))
		var j [6]float64
		for k, i := range index {
			h := 1e-6 * max(1, abs(l.p[i]))
			keep := l.p[i]
			l.p[i] += h
			_, moved := l.place(q.along, q.across)
			l.p[i] = keep
			j[k] = (moved - u) / h
		}
		for a := range m {
			for b := range m {
				normal[a][b] += w * j[a] * j[b]
			}
			normal[a][m] += w * j[a] * off
		}
	}
	for a := range m {
		normal[a][a] *= 1 + 1e-9
		if index[a] >= tiltAlong { // without evidence, no tilt and no bend
			normal[a][a] += 1e-3
		}
	}
	if x, ok := solve(&normal, m); ok {
		for k, i := range index {
			l.p[i] += x[k]
		}
	}
	l.square()
}

// square makes along run square to across in the middle of the picture, and as
// long: what a camera with square pixels sees there.
func (l *lens) square() {
	a, b := l.p[0]-l.p[2]*l.p[tiltAlong], l.p[1]-l.p[2]*l.p[tiltSide]
	l.d, l.e = b, -a
}

// solve is Gauss's elimination with the largest pivot.
func solve(a *[6][7]float64, n int) (x [6]float64, ok bool) {
	for i := range n {
		pivot := i
		for r := i; r < n; r++ {
			if abs(a[r][i]) > abs(a[pivot][i]) {
				pivot = r
			}
		}
		if abs(a[pivot][i]) < 1e-12 {
			return x, false
		}
		a[i], a[pivot] = a[pivot], a[i]
		for r := range n {
			if r != i {
				k := a[r][i] / a[i][i]
				for c := i; c <= n; c++ {
					a[r][c] -= k * a[i][c]
				}
			}
		}
	}
	for i := range n {
		x[i] = a[i][n] / a[i][i]
	}
	return x, true
}

// asPhotograph tries whether a picture is seen in perspective or through a bending
// lens: it is one if its edges and holes then lie markedly better. It is the sheet
// of the photograph, or nil.
func (sh *sheet) asPhotograph(s *swept, list []opening, in *instrument.Instrument, scan lattice) (*sheet, lattice) {
	if !sh.edges[0] || !sh.edges[1] || sh.long() > 4*sh.broad() {
		return nil, scan
	}
	low, high := sh.sides(s)
	if len(low) < 8 || len(high) < 8 {
		return nil, scan
	}
	plain := sh.edgeRMS(low, high, in.Paper.WidthMM)
	if plain <= curvedMM && scan.rms <= strayMM && scan.dies <= scan.on+scan.few() {
		return nil, scan // nothing is left to be bettered
	}
	out := *sh
	out.alpha, out.beta, out.drift = 0, 1, curve{}
	l := &lens{cx: sh.long() / 2, cy: sh.broad() / 2, unit: math.Hypot(sh.long(), sh.broad()) / 2}
	l.p[0], l.p[1] = -sh.acrossMM*sh.slope*l.unit, sh.acrossMM*l.unit
	l.p[2] = sh.acrossMM * (l.cy - sh.offset - sh.slope*l.cx)
	l.square()
	edges := edgeLies(low, high, in.Paper.WidthMM)
	out.lens = l
	holes := out.likeHoles(list, scan)
	if len(holes) < 8 {
		return nil, scan
	}
	ports := placesOf(in)
	pitch := pitchOf(ports)
	out.lens = searchTilt(l, edges, holes, ports, pitch)
	for k := range 8 {
		reach := max(0.9-0.15*float64(k), 0.35)
		lies := slices.Clone(edges)
		for _, o := range holes {
			_, u := out.lens.place(o.am, o.c)
			if i, off := nearest(ports, u); abs(off) < reach*pitch/2 {
				lies = append(lies, lie{o.am, o.c, ports[i], 3})
			}
		}
		out.lens.fit(lies, [6]bool{true, true, true, true, true, true}, 0.3)
	}
	got := out.fitPorts(list, in)
	bent := out.edgeRMS(low, high, in.Paper.WidthMM)
	if bent < 0.6*plain && plain > curvedMM && got.on >= scan.on || got.on > scan.on+scan.few() ||
		scan.rms > strayMM && got.rms < 0.6*scan.rms && got.on >= scan.on {
		mid := out.lens.mid()
		out.alongMM, out.pixelMM, out.acrossMM = mid, mid, mid
		return &out, got
	}
	return nil, scan
}

// A scan's edges are as straight, and its holes as near to their ports, as this; no
// lens can better it.
const (
	curvedMM = 0.12
	strayMM  = 0.15
)

// few is how many holes more or less on ports say nothing.
func (l lattice) few() int { return max(l.dies/50, 2) }

// mid is the millimetres of a pixel in the middle.
func (l *lens) mid() float64 { return math.Hypot(l.d, l.e) / l.unit }

func edgeLies(low, high []point, widthMM float64) []lie {
	var out []lie
	for _, p := range low {
		out = append(out, lie{p.along, p.across, 0, 1})
	}
	for _, p := range high {
		out = append(out, lie{p.along, p.across, widthMM, 1})
	}
	return out
}

// searchTilt tries sideways tilts: the edges alone do not tell them, and they move
// the middle by up to a port.
func searchTilt(start *lens, edges []lie, holes []opening, ports []float64, pitch float64) *lens {
	var best *lens
	most := -1.0
	for k := -14; k <= 14; k++ {
		l := *start
		l.p[tiltSide] = float64(k) * 0.004
		for range 6 {
			l.fit(edges, [6]bool{true, true, true, true, false, true}, 1)
		}
		score := -0.002 * abs(float64(k)) * float64(len(holes))
		for _, o := range holes {
			_, u := l.place(o.am, o.c)
			_, off := nearest(ports, u)
			if t := off / (0.25 * pitch); abs(t) < 1 {
				score += 1 - t*t
			}
		}
		if score > most {
			most, best = score, &l
		}
	}
	return best
}

// likeHoles are the openings of a hole's size.
func (sh *sheet) likeHoles(list []opening, fit lattice) []opening {
	var out []opening
	for _, m := range sh.marks(list) {
		if m.likeHole(fit) {
			out = append(out, m.opening)
		}
	}
	return out
}

// edgeRMS is how far the paper's edges lie from where they should, in millimetres:
// the median, as tears count for nothing.
func (sh *sheet) edgeRMS(low, high []point, widthMM float64) float64 {
	var off []float64
	for _, q := range edgeLies(low, high, widthMM) {
		var u float64
		if sh.lens != nil {
			_, u = sh.lens.place(q.along, q.across)
		} else {
			_, u = sh.straight(q.along, q.across)
		}
		off = append(off, abs(u-q.u))
	}
	return 1.4826 * median(off)
}
