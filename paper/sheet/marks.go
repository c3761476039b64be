package sheet

import (
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
)

// footMM is the international foot.
const footMM = 304.8

func turned(t *draw.Text, degrees float64) *draw.Text { t.TurnDeg = degrees; return t }

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
