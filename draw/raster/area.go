package raster

import (
	"cmp"
	"math"
	"slices"

	"rollwright/draw"
)

// area measures how much of every pixel lies inside polygons.
type area struct {
	clip  window
	edges []edge
	live  []int32
	cross []crossing
	part  []float64 // share of each pixel, without what step holds
	step  []float64 // change of the whole coverage from a pixel on
}

// edge is a line that is not level, from its upper end down.
type edge struct {
	y0, y1 float64
	x0     float64
	slope  float64 // x for each y
	turn   int8    // 1 when it was drawn downwards, else -1
}

type crossing struct {
	x    float64
	turn int8
}

// samples is how many rows within a row of pixels are looked at.
const samples = 8

func (a *area) begin(clip window) {
	a.clip = clip
	a.edges = a.edges[:0]
}

// polygon adds a closed figure.
func (a *area) polygon(points []draw.Point) {
	for i, p := range points {
		q := points[(i+1)%len(points)]
		e := edge{y0: p.Y, y1: q.Y, x0: p.X, turn: 1}
		if p.Y > q.Y {
			e = edge{y0: q.Y, y1: p.Y, x0: q.X, turn: -1}
		}
		if e.y0 == e.y1 || e.y1 < float64(a.clip.y0) || e.y0 > float64(a.clip.y1) {
			continue
		}
		e.slope = (q.X - p.X) / (q.Y - p.Y)
		a.edges = append(a.edges, e)
	}
}

// fill calls paint for every pixel of the window that the polygons cover.
func (a *area) fill(evenOdd bool, paint func(x, y int, share float64)) {
	width := a.clip.x1 - a.clip.x0
	if len(a.edges) == 0 || width <= 0 {
		return
	}
	slices.SortFunc(a.edges, func(e, f edge) int { return cmp.Compare(e.y0, f.y0) })
	a.part = slices.Grow(a.part[:0], width+2)[:width+2]
	a.step = slices.Grow(a.step[:0], width+2)[:width+2]
	clear(a.part)
	clear(a.step)
	a.live = a.live[:0]
	next := 0
	for y := max(a.clip.y0, int(math.Floor(a.edges[0].y0))); y < a.clip.y1; y++ {
		if next == len(a.edges) && len(a.live) == 0 {
			return
		}
		low, high := width, -1
		for k := range samples {
			at := float64(y) + (float64(k)+0.5)/samples
			for next < len(a.edges) && a.edges[next].y0 <= at {
				a.live = append(a.live, int32(next))
				next++
			}
			a.live = slices.DeleteFunc(a.live, func(i int32) bool { return a.edges[i].y1 <= at })
			l, h := a.row(at, evenOdd)
			low, high = min(low, l), max(high, h)
		}
		covered := 0.0
		for x := low; x <= high; x++ {
			covered += a.step[x]
			if share := (covered + a.part[x]) / samples; share > 1.0/1024 && x < width {
				paint(a.clip.x0+x, y, min(share, 1))
			}
			a.part[x], a.step[x] = 0, 0
		}
	}
}

// row adds what lies inside along one row and returns the first and last
// pixel of the window that it touched.
func (a *area) row(y float64, evenOdd bool) (low, high int) {
	a.cross = a.cross[:0]
	for _, i := range a.live {
		e := a.edges[i]
		a.cross = append(a.cross, crossing{e.x0 + (y-e.y0)*e.slope, e.turn})
	}
	slices.SortFunc(a.cross, func(c, d crossing) int { return cmp.Compare(c.x, d.x) })
	low, high = len(a.part), -1
	wide := 0
	for i, c := range a.cross {
		if evenOdd {
			wide ^= 1
		} else {
			wide += int(c.turn)
		}
		if wide != 0 && i+1 < len(a.cross) {
			l, h := a.span(c.x, a.cross[i+1].x)
			low, high = min(low, l), max(high, h)
		}
	}
	return low, high
}

// span adds the stretch from x0 to x1.
func (a *area) span(x0, x1 float64) (low, high int) {
	left, right := float64(a.clip.x0), float64(a.clip.x1)
	x0, x1 = max(x0, left)-left, min(x1, right)-left
	if x1 <= x0 {
		return len(a.part), -1
	}
	i, j := int(x0), int(x1)
	if i == j {
		a.part[i] += x1 - x0
		return i, i
	}
	a.part[i] += float64(i+1) - x0
	a.step[i+1]++
	a.step[j]--
	a.part[j] += x1 - float64(j)
	return i, j
}

// pen draws lines as polygons that all turn the same way, so that they make
// one area under the nonzero rule wherever they overlap.
type pen struct {
	area  *area
	r     float64
	round bool
}

func (p *pen) line(l draw.Line) {
	points := l.Points
	if l.Closed {
		points = append(points[:len(points):len(points)], points[0])
	}
	last := len(points) - 1
	for i, q := range points {
		if i > 0 {
			p.stretch(points[i-1], q)
		}
		switch {
		case (i == 0 || i == last) && !l.Closed:
			if p.round {
				p.disc(q)
			}
		case i == 0 || i == last || p.turns(points[i-1], q, points[i+1]):
			p.disc(q)
		}
	}
}

// turns reports whether the corner at b, between a and c, is sharp enough for
// the wedge outside it to be seen: more than a tenth of a pixel wide.
func (p *pen) turns(a, b, c draw.Point) bool {
	x1, y1, x2, y2 := b.X-a.X, b.Y-a.Y, c.X-b.X, c.Y-b.Y
	n := math.Hypot(x1, y1) * math.Hypot(x2, y2)
	return x1*x2+y1*y2 < 0 || math.Abs(x1*y2-y1*x2)*p.r > 0.1*n
}

// stretch adds the rectangle around a line.
func (p *pen) stretch(a, b draw.Point) {
	n := math.Hypot(b.X-a.X, b.Y-a.Y)
	if n == 0 {
		return
	}
	dx, dy := (b.X-a.X)/n*p.r, (b.Y-a.Y)/n*p.r
	p.area.polygon([]draw.Point{{X: a.X + dy, Y: a.Y - dx}, {X: b.X + dy, Y: b.Y - dx}, {X: b.X - dy, Y: b.Y + dx},
		{X: a.X - dy, Y: a.Y + dx}})
}

// disc adds a round end or corner, with enough sides to look round.
func (p *pen) disc(c draw.Point) {
	sides := int(min(64, 8+4*p.r))
	points := make([]draw.Point, sides)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(sides))
		points[i] = draw.Point{X: c.X + p.r*cos, Y: c.Y + p.r*sin}
	}
	p.area.polygon(points)
}
