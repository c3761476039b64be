package draw

import (
	"math"
	"slices"
)

// Hatch is parallel lines within an area, for filling it with a pattern that
// survives print in one colour. The area's fill rule holds; lines lie at
// multiples of spacingMM from the origin, so that neighbouring areas match.
// The angle is in degrees clockwise from the direction of x. Curves are
// followed to 0.02 mm. A spacing under 0.05 mm is taken as 0.05.
func Hatch(area *Path, angleDeg, spacingMM float64, stroke Stroke) *Path {
	spacing := max(spacingMM, 0.05)
	sin, cos := math.Sincos(angleDeg * math.Pi / 180)
	lines := area.Flatten(0.02)
	low, high := math.Inf(1), math.Inf(-1)
	for _, l := range lines {
		for i, q := range l.Points { // turned so that hatching runs along x
			l.Points[i] = Point{q.X*cos + q.Y*sin, -q.X*sin + q.Y*cos}
			low, high = min(low, l.Points[i].Y), max(high, l.Points[i].Y)
		}
	}
	out := &Path{Named: area.Named, Stroke: stroke}
	for k := math.Ceil(low / spacing); k*spacing <= high; k++ {
		y := k * spacing
		for _, span := range spans(lines, y, area.EvenOdd) {
			out.Line(span[0]*cos-y*sin, span[0]*sin+y*cos, span[1]*cos-y*sin, span[1]*sin+y*cos)
		}
	}
	return out
}

// spans are the stretches of the row y that lie inside the lines, each taken
// as closed.
func spans(lines []Line, y float64, evenOdd bool) [][2]float64 {
	type crossing struct {
		x    float64
		turn int
	}
	var at []crossing
	for _, l := range lines {
		for i, a := range l.Points {
			b := l.Points[(i+1)%len(l.Points)]
			if (a.Y <= y) == (b.Y <= y) {
				continue
			}
			turn := 1
			if a.Y > y {
				turn = -1
			}
			at = append(at, crossing{a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X), turn})
		}
	}
	slices.SortStableFunc(at, func(a, b crossing) int {
		switch {
		case a.x < b.x:
			return -1
		case a.x > b.x:
			return 1
		}
		return 0
	})
	var out [][2]float64
	winding := 0
	inside := func() bool { return winding != 0 && (!evenOdd || winding%2 != 0) }
	for i, c := range at {
		if evenOdd {
			c.turn = 1
		}
		winding += c.turn
		if inside() && i+1 < len(at) && at[i+1].x > c.x {
			out = append(out, [2]float64{c.x, at[i+1].x})
		}
	}
	return out
}
