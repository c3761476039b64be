package sheet

import (
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/paper/tear"
)

// WeakLayer holds weak lines: nothing on it is ever cut.
const WeakLayer = "weak-lines"

// weakStroke is the look of a weak line: thin and broken, nothing like a hole.
var weakStroke = draw.Stroke{Ink: draw.InkSecond, WidthMM: 0.2, DashMM: []float64{1.2, 0.8}}

// weakPath is a weak line on a drawing, and its words.
func weakPath(line *tear.Line, at func(p tear.Point) (x, y float64)) (path *draw.Path, words string) {
	words = fmt.Sprintf("weak line: %.0f mm of paper from edge to edge", math.Floor(line.LeftMM))
	path = &draw.Path{Named: draw.Named{Title: words}, Stroke: weakStroke}
	for i := 1; i < len(line.Path); i++ {
		x0, y0 := at(line.Path[i-1])
		x1, y1 := at(line.Path[i])
		path.Line(x0, y0, x1, y1)
	}
	return path, words
}

// weak draws the weak lines that cross this stretch.
func (t *tile) weak(d *draw.Drawing) {
	var layer *draw.Layer
	for i := range t.o.Weak {
		line := &t.o.Weak[i]
		if from, to := line.Span(); to < t.low || from > t.high {
			continue
		}
		if layer == nil {
			layer = d.Layer(WeakLayer, "Weak lines")
			clip := t.body
			layer.Clip = &clip
		}
		path, words := weakPath(line, func(p tear.Point) (x, y float64) { return t.x(p.AcrossMM), t.y(p.AlongMM) })
		layer.Add(path)
		t.weakName(layer, words, line)
	}
}

// weakName puts the words beside the line where they lie on no hole.
func (t *tile) weakName(layer *draw.Layer, words string, line *tear.Line) {
	name := draw.Second(draw.Label(0, 0, 2, words, draw.Start))
	w := name.WidthMM()
	for _, p := range line.Path {
		y := t.y(p.AlongMM)
		if y-3 < t.body.Min.Y || y+1 > t.body.Max.Y || t.nearZero(y) {
			continue
		}
		if x, ok := t.board.find(t.inwards(p.AcrossMM, 0), y, w, 2.4); ok {
			name.At = draw.Point{X: x - w/2, Y: y + 0.7}
			layer.Add(name)
			return
		}
	}
}

// nearZero reports whether a line of text at y would lie over the row of time 0 or the
// words beside it.
func (t *tile) nearZero(y float64) bool {
	const clear = 6
	return t.low <= 0 && t.high >= 0 && math.Abs(y-t.y(0)) < clear
}

// weak draws the weak lines of the stretch on a picture, on every strip that they
// cross, with their words where they meet the treble edge.
func (p *picture) weak(d *draw.Drawing) {
	if len(p.look.Weak) == 0 {
		return
	}
	layer := d.Layer(WeakLayer, "Weak lines")
	clip := draw.Box(0, d.Frame.Min.Y, p.length, d.Frame.Max.Y)
	layer.Clip = &clip
	for k := range p.look.Weak {
		line := &p.look.Weak[k]
		from, to := line.Span()
		end := line.Path[len(line.Path)-1].AlongMM
		for i := range p.strips {
			start := p.from + float64(i)*p.length
			if to < start || from > start+p.length {
				continue
			}
			path, words := weakPath(line, func(q tear.Point) (x, y float64) { return q.AlongMM - start, p.y(i, q.AcrossMM) })
			path.Stroke = p.weakStroke()
			layer.Add(path)
			if end >= start && end < start+p.length || p.strips == 1 {
				layer.Add(p.weakName(words, i, end-start))
			}
		}
	}
}

// weakName puts the words into the margin beyond the last port, beside the line that
// meets the treble edge at x.
func (p *picture) weakName(words string, strip int, x float64) *draw.Text {
	width := p.in.Paper.WidthMM
	margin := width - p.in.Bar.Ports[len(p.in.Bar.Ports)-1].AcrossMM - p.die/2
	size := min(3.5*p.unit, margin)
	name := draw.Label(x+p.unit, p.y(strip, width-margin/2)+0.35*size, size, words, draw.Start)
	name.Ink = draw.InkSecond
	if name.At.X+name.WidthMM() > p.length {
		name.At.X, name.Anchor = x-p.unit, draw.End
	}
	return name
}

// weakStroke is that of sheets, as large as the picture's type.
func (p *picture) weakStroke() draw.Stroke {
	s := weakStroke
	s.WidthMM *= p.unit * 2
	s.DashMM = nil
	for _, d := range weakStroke.DashMM {
		s.DashMM = append(s.DashMM, d*p.unit*2)
	}
	return s
}

// weak draws all weak lines on the long drawing.
func (l *long) weak(d *draw.Drawing) {
	if len(l.o.Weak) == 0 {
		return
	}
	layer := d.Layer(WeakLayer, "Weak lines")
	for i := range l.o.Weak {
		path, words := weakPath(&l.o.Weak[i], func(p tear.Point) (x, y float64) { return l.x(p.AlongMM), l.y(p.AcrossMM) })
		from, _ := l.o.Weak[i].Span()
		layer.Add(path, draw.Second(draw.Label(l.x(from), -6.9, 2, words, draw.Start)))
	}
}
