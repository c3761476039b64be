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
		if y-3 < t.body.Min.Y || y+1 > t.body.Max.Y {
			continue
		}
		if x, ok := t.board.find(t.inwards(p.AcrossMM, 0), y, w, 2.4); ok {
			name.At = draw.Point{X: x - w/2, Y: y + 0.7}
			layer.Add(name)
			return
		}
	}
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
