package draw

import (
	"math"

	"rollwright/draw/typeface"
)

// Label is a dark line of text at a place, in the face without serifs.
func Label(x, y, sizeMM float64, text string, anchor Anchor) *Text {
	return &Text{At: Point{x, y}, SizeMM: sizeMM, Text: text, Ink: InkDark, Anchor: anchor}
}

// Bold is Label in the bold face.
func Bold(x, y, sizeMM float64, text string, anchor Anchor) *Text {
	t := Label(x, y, sizeMM, text, anchor)
	t.Face = typeface.SansBold
	return t
}

// Serif is Label in the face with serifs.
func Serif(x, y, sizeMM float64, text string, anchor Anchor) *Text {
	t := Label(x, y, sizeMM, text, anchor)
	t.Face = typeface.Serif
	return t
}

// Second gives t the ink of what is read second, and returns it.
func Second(t *Text) *Text { t.Ink = InkSecond; return t }

// Arrow is a straight arrow from one place to another with a filled head.
func Arrow(x1, y1, x2, y2, headMM float64) *Path {
	n := math.Hypot(x2-x1, y2-y1)
	ux, uy := (x2-x1)/n, (y2-y1)/n
	bx, by := x2-ux*headMM, y2-uy*headMM
	half := headMM * 0.36
	p := &Path{Fill: InkDark, Stroke: Hair(InkDark)}
	p.Polygon(Point{x2, y2}, Point{bx - uy*half, by + ux*half}, Point{bx + uy*half, by - ux*half})
	return p.Line(x1, y1, bx, by)
}

// Ruler is a line of so many millimetres with a tick each ten, drawn from x, y in
// the direction dx, dy of length 1; scale is how long its millimetre is made. The
// ticks stand to the right of the direction.
func Ruler(x, y, dx, dy, lengthMM, scale float64) *Path {
	p := &Path{Stroke: Hair(InkDark)}
	p.Line(x, y, x+dx*lengthMM*scale, y+dy*lengthMM*scale)
	for mm := 0.0; mm <= lengthMM; mm += 10 {
		tick := 1.4
		if math.Mod(mm, 50) == 0 {
			tick = 2.4
		}
		p.Line(x+dx*mm*scale, y+dy*mm*scale, x+dx*mm*scale-dy*tick, y+dy*mm*scale+dx*tick)
	}
	return p
}
