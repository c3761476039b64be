package film

import (
	"math"
	"slices"
	"sort"

	"rollwright/draw"
	"rollwright/draw/raster"
	"rollwright/telling/figure"
)

// card is the figure on white beside the paper. Its wheels turn with the notes of
// its voice, and a line goes along its axis of time.
type card struct {
	figure  *figure.Figure
	sounded []float64
	x, y    float64 // upper left corner
	scale   float64 // pixels a millimetre of the drawing
}

// cardTop is where a card may begin: below five names.
const cardTop = 500

func (f *Film) newCard() *card {
	const bottom = high - 120
	d := f.in.Figure.Drawing
	scale := min((sideEnd-margin)/d.Frame.W(), (bottom-cardTop)/d.Frame.H())
	return &card{figure: f.in.Figure, sounded: f.in.Sounded, scale: scale,
		x: margin, y: bottom - scale*d.Frame.H()}
}

// canvas is the card's place in a whole picture, for marks in the drawing's own
// millimetres.
func (c *card) canvas(whole *raster.Canvas) *raster.Canvas {
	frame := c.figure.Drawing.Frame
	return &raster.Canvas{
		Width: whole.Width, Rows: whole.Rows, PixelsPerMM: c.scale, RGB: whole.RGB,
		Origin: draw.Point{X: frame.Min.X - c.x/c.scale, Y: frame.Min.Y - c.y/c.scale},
	}
}

// paint paints what stands still: all but wheels.
func (c *card) paint(whole *raster.Canvas) {
	canvas := c.canvas(whole)
	ground := &draw.Drawing{Frame: c.figure.Drawing.Frame}
	ground.Layer("ground", "Ground").Add((&draw.Path{Fill: draw.White}).Rect(ground.Frame))
	canvas.Over(ground)
	canvas.Over(c.layers(func(l *draw.Layer) bool { return !c.turns(l) }))
}

// turns reports whether a layer is a wheel.
func (c *card) turns(l *draw.Layer) bool {
	return slices.ContainsFunc(c.figure.Wheels, func(w figure.Wheel) bool { return w.Layer == l.ID })
}

// layers is the drawing with some of its layers.
func (c *card) layers(take func(*draw.Layer) bool) *draw.Drawing {
	d := *c.figure.Drawing
	d.Layers = nil
	for _, l := range c.figure.Drawing.Layers {
		if take(l) {
			d.Layers = append(d.Layers, l)
		}
	}
	return &d
}

// now paints the wheels as they stand, and adds the line of the moment.
func (c *card) now(whole *raster.Canvas, l *draw.Layer, sec float64) {
	if len(c.figure.Wheels) > 0 {
		// as many notes as have begun; before the first the wheels rest
		note := max(0, sort.Search(len(c.sounded), func(i int) bool { return c.sounded[i] > sec })-1)
		d := &draw.Drawing{Frame: c.figure.Drawing.Frame}
		for _, w := range c.figure.Wheels {
			for _, layer := range c.figure.Drawing.Layers {
				if layer.ID == w.Layer {
					turn := 2 * math.Pi * float64(w.Sense) * float64(note%w.Teeth) / float64(w.Teeth)
					d.Layers = append(d.Layers, turned(layer, w.Centre, turn))
				}
			}
		}
		c.canvas(whole).Over(d)
	}
	axis := c.figure.Time
	if axis == nil || sec < axis.From || sec > axis.To {
		return
	}
	frame := c.figure.Drawing.Frame
	x := c.x + c.scale*(axis.At(sec)-frame.Min.X)
	l.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.Brass, WidthMM: 3}}).Line(x, c.y, x, c.y+c.scale*frame.H()))
}

// turned is a layer turned clockwise about a place, by radians. Words turn with it.
func turned(l *draw.Layer, about draw.Point, rad float64) *draw.Layer {
	sin, cos := math.Sincos(rad)
	turn := func(p draw.Point) draw.Point {
		x, y := p.X-about.X, p.Y-about.Y
		return draw.Point{X: about.X + x*cos - y*sin, Y: about.Y + x*sin + y*cos}
	}
	out := &draw.Layer{ID: l.ID, Label: l.Label}
	for _, m := range l.Marks {
		switch m := m.(type) {
		case *draw.Path:
			p := *m
			p.Steps = nil
			for _, line := range m.Flatten(0.02) {
				for i, q := range line.Points {
					if q = turn(q); i == 0 {
						p.MoveTo(q.X, q.Y)
					} else {
						p.LineTo(q.X, q.Y)
					}
				}
				if line.Closed {
					p.Close()
				}
			}
			out.Add(&p)
		case *draw.Slots:
			s := *m
			s.Segments = nil
			for _, g := range m.Segments {
				a, b := turn(draw.Point{X: g.X1, Y: g.Y1}), turn(draw.Point{X: g.X2, Y: g.Y2})
				s.Segments = append(s.Segments, draw.Segment{X1: a.X, Y1: a.Y, X2: b.X, Y2: b.Y})
			}
			out.Add(&s)
		case *draw.Text:
			t := *m
			t.At = turn(t.At)
			t.TurnDeg += rad * 180 / math.Pi
			out.Add(&t)
		}
	}
	return out
}
