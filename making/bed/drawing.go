package bed

import (
	"math"
	"strings"

	"rollwright/draw"
	"rollwright/making/machine"
)

// The layers of a bed's drawing. There is nothing else in it that a machine
// could take for a line to follow.
const (
	HolesLayer    = "holes"
	RegisterLayer = "register"
	MarksLayer    = "marks" // only where the machine marks, and there is something to mark
)

// Drawing is bed b as lines to follow, kerf taken off and tabs left, in the
// order of the path. Its frame is the bed itself, so that a place in a file is
// a place on the machine; UpMM is the bed's width, so that formats whose y
// points up have the bed's own y. Its Subject holds notes and cautions, a line
// each, with heights said from the bottom.
func (p *Plan) Drawing(b *Bed, title string) *draw.Drawing {
	m := p.Profile
	along := m.Bed.AlongMM
	if m.Bed.Endless() {
		for i := range b.Cuts {
			along = max(along, b.Cuts[i].ToX)
		}
		along = math.Ceil(along + m.Bed.MarginMM + 10)
	}
	w, h := along, m.Bed.AcrossMM
	if m.AlongY {
		w, h = h, w
	}
	d := &draw.Drawing{
		Frame: draw.Box(0, 0, w, h), UpMM: h, Title: title,
		Subject: strings.Join(append(p.Captions(b, title), m.Cautions()...), "\n"),
	}
	e := &sketch{plan: p, up: h}
	if p.draws() && len(b.Marks) > 0 { // first, while the paper is whole
		marks := d.Layer(MarksLayer, "Marks that are not cut")
		marks.Hue = m.Lines.Mark.Hue
		e.drawMarks(b, marks)
	}
	holes, register := d.Layer(HolesLayer, "Holes"), d.Layer(RegisterLayer, "Holes to lay the paper by")
	holes.Hue, register.Hue = m.Lines.Cut.Hue, m.Lines.Register.Hue
	cut, pins := m.Lines.Cut, m.Lines.Register
	e.slots = &draw.Slots{Named: draw.Named{ID: "cut"}, Ink: cut.Hue, WidthMM: p.widthMM(), EdgeMM: cut.WidthMM}
	e.lines = &draw.Path{Named: draw.Named{ID: "path"}, Stroke: draw.Stroke{Ink: cut.Hue, WidthMM: cut.WidthMM}}
	ring := &draw.Slots{Named: draw.Named{ID: "pins"}, Ink: pins.Hue, WidthMM: p.registerMM(), EdgeMM: pins.WidthMM}
	for i := range b.Cuts {
		if c := &b.Cuts[i]; c.Register {
			ring.Segments = append(ring.Segments, e.segment(c.FromX, c.ToX, c.Y))
		} else {
			e.cut(c)
		}
	}
	if len(e.slots.Segments) > 0 {
		holes.Add(e.slots)
	}
	if len(e.lines.Steps) > 0 {
		holes.Add(e.lines)
	}
	if len(ring.Segments) > 0 {
		register.Add(ring)
	}
	return d
}

// widthMM is how wide a slot is drawn: as the beam's middle runs round it, or
// as the die cuts it.
func (p *Plan) widthMM() float64 {
	if p.Profile.Cut == machine.Outlines {
		return 2 * p.RadiusMM
	}
	return p.Roll.Instrument.Die.DiameterMM
}

// registerMM is how wide the holes are drawn by which paper is laid.
func (p *Plan) registerMM() float64 {
	if r := p.radius(&Cut{Register: true}); r > 0 {
		return 2 * r
	}
	return p.Roll.Instrument.Die.DiameterMM
}

// sketch draws cuts: whole outlines and dies as slots, everything else as
// lines.
type sketch struct {
	plan  *Plan
	up    float64
	slots *draw.Slots
	lines *draw.Path
}

func (e *sketch) point(x, y float64) (float64, float64) {
	x, y = e.plan.Axes(x, y)
	return x, e.up - y
}

func (e *sketch) segment(fromX, toX, y float64) draw.Segment {
	x0, y0 := e.point(fromX, y)
	x1, y1 := e.point(toX, y)
	return draw.Segment{X1: x0, Y1: y0, X2: x1, Y2: y1}
}

func (e *sketch) cut(c *Cut) {
	switch {
	case c.Holes != nil:
		for _, x := range c.Holes {
			e.slots.Segments = append(e.slots.Segments, e.segment(x, x, c.Y))
		}
	case e.plan.Profile.Cut == machine.Strokes && c.ToX == c.FromX:
		e.Travel(c.FromX, c.Y)
		e.Line(c.FromX+dotMM, c.Y)
	case e.plan.Profile.Cut == machine.Strokes, e.plan.tabbed(c):
		e.plan.cut(c, e)
	default:
		e.slots.Segments = append(e.slots.Segments, e.segment(c.FromX, c.ToX, c.Y))
	}
}

// dotMM is the line that stands for a stroke without length, which machines
// would leave out.
const dotMM = 0.01

// Travel begins a new line.
func (e *sketch) Travel(x, y float64) { e.lines.MoveTo(e.point(x, y)) }

// On changes nothing on paper.
func (e *sketch) On() {}

// Mark changes nothing on paper: marks have a layer of their own.
func (e *sketch) Mark() {}

// Off changes nothing on paper.
func (e *sketch) Off() {}

// Line draws to a place.
func (e *sketch) Line(x, y float64) { e.lines.LineTo(e.point(x, y)) }

// circleBend is how far the controls of a cubic Bézier lie from the ends of a
// quarter of a circle of radius 1: 4/3*(sqrt(2)-1). The curve keeps within
// 0.03 % of the radius.
const circleBend = 0.5522847498307936

// Arc draws half a circle counter-clockwise as two quarters.
func (e *sketch) Arc(x, y, cx, cy float64) {
	ux, uy := cx-(x-cx), cy-(y-cy) // where it comes from
	ax, ay := ux-cx, uy-cy
	for range 2 {
		bx, by := -ay, ax // a quarter on
		x1, y1 := e.point(cx+ax+bx*circleBend, cy+ay+by*circleBend)
		x2, y2 := e.point(cx+bx+ax*circleBend, cy+by+ay*circleBend)
		x3, y3 := e.point(cx+bx, cy+by)
		e.lines.CurveTo(x1, y1, x2, y2, x3, y3)
		ax, ay = bx, by
	}
}
