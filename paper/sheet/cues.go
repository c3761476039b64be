package sheet

import (
	"math"

	"rollwright/draw"
)

// cueLead is the paper that a drawing shows before the first cue.
const cueLead = 25

// beginning is where a drawing has to begin at the latest: a blank before the
// first hole or time 0, or before the first cue.
func (j *job) beginning(blank float64) float64 {
	from := min(0, j.first) - blank
	for _, c := range j.o.Cues {
		from = min(from, c.AlongMM-cueLead)
	}
	return math.Floor(from/10) * 10
}

// cueStroke is the look of a cue: thick, for it is seen at playing speed.
var cueStroke = draw.Stroke{Ink: draw.InkDark, WidthMM: 0.8}

// cues draws those on this stretch of the tile across both margins, with their
// names beside them.
func (t *tile) cues(layer *draw.Layer) {
	for _, c := range t.o.Cues {
		if c.AlongMM < t.low || c.AlongMM > t.high {
			continue
		}
		y := t.y(c.AlongMM)
		line := &draw.Path{Named: draw.Named{Title: c.Name}, Stroke: cueStroke}
		for _, x := range []float64{t.body.Min.X, t.body.Max.X} {
			line.Line(x, y, t.x(t.sideBand(x)), y)
		}
		layer.Add(line)
		t.cueName(layer, c.Name, y)
	}
}

// cueName puts the name beside a cue, along the roll, where there is room.
func (t *tile) cueName(layer *draw.Layer, text string, y float64) {
	name := turned(draw.Bold(0, 0, 2.6, text, draw.Middle), -90)
	w := 2.6 * 0.75
	h := name.WidthMM() + 1
	for _, edge := range []float64{0, t.in.Paper.WidthMM} {
		for _, off := range []float64{-h/2 - 1.2, h/2 + 1.2} {
			if y+off-h/2 < t.body.Min.Y || y+off+h/2 > t.body.Max.Y {
				continue
			}
			if x, ok := t.board.find(t.inwards(edge, 6), y+off, w, h); ok {
				name.At = draw.Point{X: x + w/2, Y: y + off}
				layer.Add(name)
				return
			}
		}
	}
}

// cues draws all of them across both margins of the long drawing.
func (l *long) cues(layer *draw.Layer) {
	for _, c := range l.o.Cues {
		x := l.x(c.AlongMM)
		line := &draw.Path{Named: draw.Named{Title: c.Name}, Stroke: cueStroke}
		layer.Add(line.Line(x, 0.3, x, l.clearance(0)).Line(x, l.clearance(1), x, l.width*l.o.ScaleAcross-0.3))
		layer.Add(turned(draw.Bold(x-1, l.clearance(0)/2, 2.6, c.Name, draw.Middle), -90))
	}
}
