package draw

import "math"

// Op is what a Step does.
type Op uint8

// The steps of a path.
const (
	MoveTo  Op = iota // P[0]: begin a new line
	LineTo            // P[0]
	CurveTo           // P[0], P[1] are the controls of a cubic Bézier, P[2] its end
	Close             // back to the last MoveTo
)

// Step is one step of a path. Only the points its Op names count.
type Step struct {
	Op Op
	P  [3]Point
}

// Path is lines and curves, filled, stroked or both; the stroke lies over the
// fill.
type Path struct {
	Named
	Steps   []Step
	Fill    Ink
	EvenOdd bool // fill by the even-odd rule; false: nonzero
	Stroke  Stroke
}

// MoveTo begins a new line at x, y.
func (p *Path) MoveTo(x, y float64) *Path {
	p.Steps = append(p.Steps, Step{Op: MoveTo, P: [3]Point{{x, y}}})
	return p
}

// LineTo draws a straight line to x, y.
func (p *Path) LineTo(x, y float64) *Path {
	p.Steps = append(p.Steps, Step{Op: LineTo, P: [3]Point{{x, y}}})
	return p
}

// CurveTo draws a cubic Bézier curve to x, y.
func (p *Path) CurveTo(x1, y1, x2, y2, x, y float64) *Path {
	p.Steps = append(p.Steps, Step{CurveTo, [3]Point{{x1, y1}, {x2, y2}, {x, y}}})
	return p
}

// Close draws a straight line back to where the line began.
func (p *Path) Close() *Path {
	p.Steps = append(p.Steps, Step{Op: Close})
	return p
}

// Line adds a separate straight line.
func (p *Path) Line(x1, y1, x2, y2 float64) *Path { return p.MoveTo(x1, y1).LineTo(x2, y2) }

// Rect adds a rectangle.
func (p *Path) Rect(r Rect) *Path {
	return p.MoveTo(r.Min.X, r.Min.Y).LineTo(r.Max.X, r.Min.Y).LineTo(r.Max.X, r.Max.Y).LineTo(r.Min.X, r.Max.Y).Close()
}

// Polygon adds a closed figure through the points.
func (p *Path) Polygon(points ...Point) *Path {
	return p.Polyline(points...).Close()
}

// Polyline adds an open line through the points.
func (p *Path) Polyline(points ...Point) *Path {
	for i, q := range points {
		if i == 0 {
			p.MoveTo(q.X, q.Y)
		} else {
			p.LineTo(q.X, q.Y)
		}
	}
	return p
}

// kappa is the control length of a quarter circle of radius 1 as one cubic
// Bézier, 4(√2-1)/3: off the circle by at most 0.03 % of the radius.
const kappa = 0.5522847498307936

// Circle adds a circle.
func (p *Path) Circle(x, y, r float64) *Path { return p.Capsule(Segment{x, y, x, y}, r) }

// Capsule adds the outline of everything within r of the segment: a slot with
// half-round ends.
func (p *Path) Capsule(s Segment, r float64) *Path {
	dx, dy := s.X2-s.X1, s.Y2-s.Y1
	n := math.Hypot(dx, dy)
	ux, uy := 1.0, 0.0
	if n > 0 {
		ux, uy = dx/n, dy/n
	}
	// at is the point that lies a radii along the segment and b radii to its
	// right, seen from the end at x, y.
	at := func(x, y, a, b float64) Point { return Point{x + r*(a*ux-b*uy), y + r*(a*uy+b*ux)} }
	arc := func(x, y float64, c [6]float64) {
		q, w, e := at(x, y, c[0], c[1]), at(x, y, c[2], c[3]), at(x, y, c[4], c[5])
		p.CurveTo(q.X, q.Y, w.X, w.Y, e.X, e.Y)
	}
	first := at(s.X1, s.Y1, 0, -1)
	p.MoveTo(first.X, first.Y)
	if n > 0 {
		q := at(s.X2, s.Y2, 0, -1)
		p.LineTo(q.X, q.Y)
	}
	arc(s.X2, s.Y2, [6]float64{kappa, -1, 1, -kappa, 1, 0})
	arc(s.X2, s.Y2, [6]float64{1, kappa, kappa, 1, 0, 1})
	if n > 0 {
		q := at(s.X1, s.Y1, 0, 1)
		p.LineTo(q.X, q.Y)
	}
	arc(s.X1, s.Y1, [6]float64{-kappa, 1, -1, kappa, -1, 0})
	arc(s.X1, s.Y1, [6]float64{-1, -kappa, -kappa, -1, 0, -1})
	return p.Close()
}

// Arc adds a circular arc around x, y from one angle to another, in degrees
// clockwise from the direction of x, joined by a line to what is there.
func (p *Path) Arc(x, y, r, fromDeg, toDeg float64) *Path {
	pieces := max(1, math.Ceil(math.Abs(toDeg-fromDeg)/90))
	step := (toDeg - fromDeg) / pieces * math.Pi / 180
	a := fromDeg * math.Pi / 180
	k := 4.0 / 3 * math.Tan(step/4) * r
	if len(p.Steps) == 0 || p.Steps[len(p.Steps)-1].Op == Close {
		p.MoveTo(x+r*math.Cos(a), y+r*math.Sin(a))
	} else {
		p.LineTo(x+r*math.Cos(a), y+r*math.Sin(a))
	}
	for range int(pieces) {
		b := a + step
		ca, sa, cb, sb := math.Cos(a), math.Sin(a), math.Cos(b), math.Sin(b)
		p.CurveTo(x+r*ca-k*sa, y+r*sa+k*ca, x+r*cb+k*sb, y+r*sb-k*cb, x+r*cb, y+r*sb)
		a = b
	}
	return p
}

// Line is one line of a flattened path.
type Line struct {
	Points []Point
	Closed bool
}

// Flatten is the path as straight lines that stay within tolMM of its curves.
func (p *Path) Flatten(tolMM float64) []Line {
	var lines []Line
	var last *Line
	for _, s := range p.Steps {
		if (s.Op == LineTo || s.Op == CurveTo) && last.Closed {
			// What follows a Close begins where the closed line began.
			lines = append(lines, Line{Points: []Point{last.Points[0]}})
			last = &lines[len(lines)-1]
		}
		switch s.Op {
		case MoveTo:
			lines = append(lines, Line{Points: []Point{s.P[0]}})
			last = &lines[len(lines)-1]
		case LineTo:
			last.Points = append(last.Points, s.P[0])
		case CurveTo:
			last.Points = flattenCurve(last.Points, s.P, tolMM)
		case Close:
			last.Closed = true
		}
	}
	return lines
}

// flattenCurve appends the points of a cubic Bézier after its start, the last
// of points. The number of equal steps in the parameter is that of the bound
// on the chord's distance, (1/8) max|B"| / n² with max|B"| <= 6 max|second
// differences|.
func flattenCurve(points []Point, c [3]Point, tol float64) []Point {
	a := points[len(points)-1]
	dd := max(math.Hypot(a.X-2*c[0].X+c[1].X, a.Y-2*c[0].Y+c[1].Y),
		math.Hypot(c[0].X-2*c[1].X+c[2].X, c[0].Y-2*c[1].Y+c[2].Y))
	n := int(min(max(1, math.Ceil(math.Sqrt(0.75*dd/tol))), 1000))
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		w0, w1, w2, w3 := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		points = append(points, Point{w0*a.X + w1*c[0].X + w2*c[1].X + w3*c[2].X, w0*a.Y + w1*c[0].Y + w2*c[1].Y + w3*c[2].Y})
	}
	return append(points, c[2])
}

// Dashes cuts a line into its dashes. Without a pattern it is the line itself.
func Dashes(line Line, dashMM []float64) []Line {
	if len(dashMM) == 0 {
		return []Line{line}
	}
	points := line.Points
	if line.Closed {
		points = append(points[:len(points):len(points)], points[0])
	}
	var out []Line
	i, left, on := 0, dashMM[0], true
	current := []Point{points[0]}
	for k := 1; k < len(points); k++ {
		a, b := points[k-1], points[k]
		length := math.Hypot(b.X-a.X, b.Y-a.Y)
		done := 0.0
		for length-done > left {
			done += left
			q := Point{a.X + (b.X-a.X)*done/length, a.Y + (b.Y-a.Y)*done/length}
			if on {
				out = append(out, Line{Points: append(current, q)})
			}
			current = []Point{q}
			on = !on
			i++
			left = dashMM[i%len(dashMM)]
		}
		left -= length - done
		if on {
			current = append(current, b)
		}
	}
	if on && len(current) > 1 {
		out = append(out, Line{Points: current})
	}
	return out
}

// Bounds is the smallest rectangle around the path's points and controls, the
// stroke's width included. It is not ok for a path without points.
func (p *Path) Bounds() (r Rect, ok bool) {
	r = Rect{Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}}
	for _, s := range p.Steps {
		n := [...]int{MoveTo: 1, LineTo: 1, CurveTo: 3, Close: 0}[s.Op]
		for _, q := range s.P[:n] {
			r.Min.X, r.Min.Y = min(r.Min.X, q.X), min(r.Min.Y, q.Y)
			r.Max.X, r.Max.Y = max(r.Max.X, q.X), max(r.Max.Y, q.Y)
			ok = true
		}
	}
	if p.Stroke.Ink.A > 0 {
		r = r.Grow(p.Stroke.WidthMM / 2)
	}
	return r, ok
}
