package figure

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/say"
)

// At is the place of a value along the axis, in millimetres of the drawing.
func (a *Axis) At(v float64) float64 {
	from, to := a.From, a.To
	if a.Log {
		from, to, v = math.Log(from), math.Log(to), math.Log(v)
	}
	return a.FromMM + (v-from)/(to-from)*(a.ToMM-a.FromMM)
}

// chart is a plot with a horizontal and a vertical axis.
type chart struct {
	c    *canvas
	x, y Axis
}

// newChart is a chart in the box from x0, y0 to x1, y1; y is the bottom's.
func newChart(c *canvas, x0, y0, x1, y1 float64) *chart {
	return &chart{c: c, x: Axis{FromMM: x0, ToMM: x1}, y: Axis{FromMM: y1, ToMM: y0}}
}

// tick is a mark of an axis.
type tick struct {
	at   float64
	text string
}

// timeAxis draws the horizontal axis of time below the chart, with lines
// through it at round times.
func (h *chart) timeAxis(title string) {
	l := h.c.layer("axes")
	bottom, top := h.y.FromMM, h.y.ToMM
	for _, t := range timeTicks(h.x.From, h.x.To, (h.x.ToMM-h.x.FromMM)/(labelSize*6)) {
		x := h.x.At(t.at)
		l.Add(line(x, bottom, x, top, draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.12}))
		l.Add(line(x, bottom, x, bottom+1, draw.Hair(draw.InkSecond)))
		l.Add(h.timeLabel(x, t.text))
	}
	l.Add(line(h.x.FromMM, bottom, h.x.ToMM, bottom, draw.Hair(draw.InkSecond)))
	l.Add(label((h.x.FromMM+h.x.ToMM)/2, bottom+1.8+labelSize*2.1, labelSize, title, draw.InkSecond, draw.Middle))
}

// timeLabel is the number of a time below the axis, kept within the drawing.
func (h *chart) timeLabel(x float64, text string) *draw.Text {
	t := label(x, h.y.FromMM+1.6+labelSize*0.8, labelSize, h.c.talk.Book().Decimal(text), draw.InkDark, draw.Middle)
	half := t.WidthMM() / 2
	t.At.X = max(min(x, h.c.width+margin*0.8-half), half-margin*0.8)
	return t
}

// timeAxisRoom is what timeAxis needs below the chart.
const timeAxisRoom = 2.4 + labelSize*2.2

// valueAxis draws the vertical axis at the left of the chart, its title above.
func (h *chart) valueAxis(title string, ticks []tick) {
	l := h.c.layer("axes")
	for _, t := range ticks {
		y := h.y.At(t.at)
		l.Add(line(h.x.FromMM, y, h.x.ToMM, y, draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.12}))
		l.Add(label(h.x.FromMM-1.2, y+capHalf(labelSize), labelSize, h.c.talk.Book().Decimal(t.text), draw.InkDark, draw.End))
	}
	l.Add(line(h.x.FromMM, h.y.FromMM, h.x.FromMM, h.y.ToMM, draw.Hair(draw.InkSecond)))
	l.Add(label(0, h.y.ToMM-labelSize*0.9, labelSize, title, draw.InkSecond, draw.Start))
}

// timeSteps are the distances of round times, in seconds.
var timeSteps = []float64{0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600,
	900, 1800, 3600, 7200, 14400, 36000, 86400}

// timeTicks are round times between from and to, at most so many.
func timeTicks(from, to, most float64) []tick {
	step := timeSteps[len(timeSteps)-1]
	for _, s := range timeSteps {
		if (to-from)/s <= most {
			step = s
			break
		}
	}
	for (to-from)/step > most {
		step *= 2
	}
	places := 0
	for s := step; s < 0.9999 && places < 3; s *= 10 {
		places++
	}
	var ticks []tick
	for n := math.Ceil(from/step - 1e-9); n*step <= to+step*1e-9; n++ {
		ticks = append(ticks, tick{n * step, clock(n*step, places)})
	}
	return ticks
}

// roundTicks are round numbers between from and to, at most so many and one.
func roundTicks(from, to, most float64) []tick {
	step := math.Pow(10, math.Floor(math.Log10((to-from)/most)))
	for _, m := range []float64{1, 2, 5, 10} {
		if (to-from)/(step*m) <= most {
			step *= m
			break
		}
	}
	places := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	var ticks []tick
	for n := math.Ceil(from/step - 1e-9); n*step <= to+step*1e-9; n++ {
		text := strconv.FormatFloat(n*step, 'f', places, 64)
		if n == 0 {
			text = "0"
		}
		ticks = append(ticks, tick{n * step, strings.Replace(text, "-", "−", 1)})
	}
	return ticks
}

// logTicks are 1, 2 and 5 times the powers of ten between from and to, more of
// them where the axis is short.
func logTicks(from, to float64) []tick {
	var ticks []tick
	multiples := []float64{1, 2, 5}
	if to/from < 40 {
		multiples = []float64{1, 1.5, 2, 3, 5, 7}
	}
	for power := math.Pow(10, math.Floor(math.Log10(from))); power <= to; power *= 10 {
		for _, m := range multiples {
			if v := m * power; v >= from*(1-1e-9) && v <= to*(1+1e-9) {
				ticks = append(ticks, tick{v, significant(v, 3)})
			}
		}
	}
	return ticks
}

// clock writes a time as 1:23.4 with so many decimals, the nearest, half up.
func clock(sec float64, places int) string {
	return strings.Replace(say.Clock(sec, places), "-", "−", 1)
}

// significant writes v with so many significant digits, without an exponent
// and without zeros at its end.
func significant(v float64, digits int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return "0"
	}
	places := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(v))+1e-12)))
	s := strconv.FormatFloat(v, 'f', min(places, 12), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return strings.Replace(s, "-", "−", 1)
}

// places is how many decimals a time in seconds needs, three at most.
func places(sec float64) int {
	for n := range 3 {
		if unit := math.Pow(10, float64(n)); math.Abs(math.Round(sec*unit)/unit-sec) < 5e-7 {
			return n
		}
	}
	return 3
}

// fixed writes v with so many decimals.
func fixed(v float64, places int) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', places, 64), "-", "−", 1)
}

// span writes a length of time with three digits in the unit that suits it.
func span(sec float64) string {
	switch size := math.Abs(sec); {
	case size == 0:
		return "0 s"
	case size < 0.9995e-6:
		return significant(sec*1e9, 3) + " ns"
	case size < 0.9995e-3:
		return significant(sec*1e6, 3) + " µs"
	case size < 0.9995:
		return significant(sec*1e3, 3) + " ms"
	case size < 99.95:
		return significant(sec, 3) + " s"
	case size < 600:
		return significant(sec, 4) + " s"
	}
	return clock(sec, 1)
}

// flag is a name beside a line's end, in the line's look.
type flag struct {
	y     float64
	voice int
	text  string
}

// flags writes names at x, moved apart where they would overlap, each with a
// piece of its line.
func (h *chart) flags(x float64, flags []flag) {
	slices.SortStableFunc(flags, func(a, b flag) int {
		switch {
		case a.y < b.y:
			return -1
		case a.y > b.y:
			return 1
		}
		return a.voice - b.voice
	})
	size, step := labelSize, labelSize*1.25
	if room := h.y.FromMM - h.y.ToMM; float64(len(flags)-1)*step > room {
		step = room / float64(len(flags)-1)
		size = step * 0.9
	}
	ys := make([]float64, len(flags))
	for i, f := range flags {
		ys[i] = f.y
		if i > 0 {
			ys[i] = max(ys[i], ys[i-1]+step)
		}
	}
	// What ran out below is pushed back up.
	limit := h.y.FromMM
	for i := len(ys) - 1; i >= 0; i-- {
		ys[i] = min(ys[i], limit)
		limit = ys[i] - step
	}
	l := h.c.layer("names")
	for i, f := range flags {
		l.Add(line(x, ys[i], x+5, ys[i], h.c.stroke(f.voice, 0.6)))
		l.Add(label(x+6.2, ys[i]+capHalf(size), size, typeface.Sans.Fit(f.text, size, h.c.width-x-6.2), draw.InkDark,
			draw.Start))
	}
}
