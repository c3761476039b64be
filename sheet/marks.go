package sheet

import (
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/typeface"
)

// footMM is the international foot.
const footMM = 304.8

func label(x, y, size float64, text string, anchor draw.Anchor) *draw.Text {
	return &draw.Text{At: draw.Point{X: x, Y: y}, SizeMM: size, Text: text, Ink: draw.InkDark, Anchor: anchor}
}

func bold(x, y, size float64, text string, anchor draw.Anchor) *draw.Text {
	t := label(x, y, size, text, anchor)
	t.Face = typeface.SansBold
	return t
}

func serif(x, y, size float64, text string, anchor draw.Anchor) *draw.Text {
	t := label(x, y, size, text, anchor)
	t.Face = typeface.Serif
	return t
}

func second(t *draw.Text) *draw.Text { t.Ink = draw.InkSecond; return t }

func turned(t *draw.Text, degrees float64) *draw.Text { t.TurnDeg = degrees; return t }

// arrow is a straight arrow from one place to another with a filled head.
func arrow(x1, y1, x2, y2, headMM float64) *draw.Path {
	n := math.Hypot(x2-x1, y2-y1)
	ux, uy := (x2-x1)/n, (y2-y1)/n
	bx, by := x2-ux*headMM, y2-uy*headMM
	half := headMM * 0.36
	p := &draw.Path{Fill: draw.InkDark, Stroke: draw.Hair(draw.InkDark)}
	p.Polygon(draw.Point{X: x2, Y: y2}, draw.Point{X: bx - uy*half, Y: by + ux*half}, draw.Point{X: bx + uy*half, Y: by - ux*half})
	return p.Line(x1, y1, bx, by)
}

// ruler is a line of so many millimetres with a tick each ten, drawn from
// x, y in the direction dx, dy; scale is how long its millimetre is made. The
// ticks stand to the right of the direction.
func ruler(x, y, dx, dy, lengthMM, scale float64) *draw.Path {
	p := &draw.Path{Stroke: draw.Hair(draw.InkDark)}
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

// cross is a register mark: a circle and two lines.
func cross(x, y, r float64) *draw.Path {
	p := &draw.Path{Stroke: draw.Stroke{Ink: draw.InkDark, WidthMM: 0.15}}
	return p.Line(x-r, y, x+r, y).Line(x, y-r, x, y+r).Circle(x, y, r*0.55)
}

// millimetres writes a length to a tenth.
func millimetres(mm float64) string {
	return decimal(mm, 1) + " mm"
}

// decimal writes v for people, with so many decimals, never −0.
func decimal(v float64, decimals int) string {
	scale := math.Pow10(decimals)
	s := strconv.FormatFloat(math.Round(v*scale)/scale+0, 'f', decimals, 64)
	return strings.Replace(s, "-", "−", 1)
}

// exactly writes a length with the decimals that it has, four at most.
func exactly(mm float64) string {
	return string(draw.AppendMM(nil, mm)) + " mm"
}

// clock writes seconds as minutes and seconds to a tenth.
func clock(sec float64) string {
	sign := ""
	tenths := int64(math.Round(sec * 10))
	if tenths < 0 {
		sign, tenths = "-", -tenths
	}
	s := strconv.FormatInt(tenths/10%60, 10)
	if len(s) == 1 {
		s = "0" + s
	}
	return sign + strconv.FormatInt(tenths/600, 10) + ":" + s + "." + strconv.FormatInt(tenths%10, 10)
}

// multiples are the multiples of step from a to b.
func multiples(a, b, step float64) []float64 {
	var out []float64
	for k := math.Ceil(a/step - 1e-9); k*step <= b+1e-9; k++ {
		out = append(out, k*step)
	}
	return out
}

// whole reports whether v is a multiple of step, but for noise.
func whole(v, step float64) bool { return math.Abs(v/step-math.Round(v/step)) < 1e-6 }
