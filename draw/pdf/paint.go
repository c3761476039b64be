package pdf

import (
	"io"
	"math"
	"strconv"

	"rollwright/draw"
)

// painter writes the content of one page (8 and 9). The state that it has set
// is remembered within a layer, so that equal marks cost nothing.
type painter struct {
	e       *encoder
	drawing *draw.Drawing
	unit    float64
	w       io.Writer
	buf     []byte
	fill    draw.Ink
	stroke  draw.Stroke
	alpha   uint8
}

// flushAt is how much content is gathered before it is compressed.
const flushAt = 32 << 10

func (p *painter) paint(w io.Writer) {
	p.w = w
	scale := pointsPerMM / p.unit
	f := p.drawing.Frame
	// From millimetres with y down to units with y up.
	p.real(scale, 0, 0, -scale, -f.Min.X*scale, f.Max.Y*scale)
	p.op("cm")
	p.reset()
	if p.drawing.Ground.A > 0 {
		p.setFill(p.drawing.Ground)
		p.rect(f)
		p.op("f")
		p.setAlpha(255)
	}
	for _, l := range p.drawing.Layers {
		p.layer(l)
	}
	p.flush()
}

// reset is the state at the begin of a page (8.4.1), but for what painter sets
// always.
func (p *painter) reset() {
	p.fill, p.stroke, p.alpha = draw.Black, draw.Stroke{Ink: draw.Black, WidthMM: -1}, 255
	p.op("1 j")
}

func (p *painter) layer(l *draw.Layer) {
	p.text("/OC /L" + strconv.Itoa(p.e.layers.index(l.ID)) + " BDC q\n")
	p.reset()
	if l.Clip != nil {
		p.rect(*l.Clip)
		p.op("W n")
	}
	for _, m := range l.Marks {
		switch m := m.(type) {
		case *draw.Slots:
			p.slots(m)
		case *draw.Path:
			p.path(m)
		case *draw.Text:
			p.words(m)
		}
	}
	p.text("Q EMC\n")
	p.reset()
}

// batch is how many slots are stroked at once. Readers build a path in memory
// before they draw it.
const batch = 500

func (p *painter) slots(s *draw.Slots) {
	if s.Ink.A == 0 || len(s.Segments) == 0 {
		return
	}
	if p.e.o.CutLines {
		p.capsules(s)
		return
	}
	p.setStroke(draw.Stroke{Ink: s.Ink, WidthMM: s.WidthMM, Cap: draw.Round})
	for i, g := range s.Segments {
		g = tilted(g)
		b := p.buf
		b = draw.AppendMM(b, g.X1)
		b = append(b, ' ')
		b = draw.AppendMM(b, g.Y1)
		b = append(b, " m "...)
		b = draw.AppendMM(b, g.X2)
		b = append(b, ' ')
		b = draw.AppendMM(b, g.Y2)
		b = append(b, " l\n"...)
		p.buf = b
		if i%batch == batch-1 {
			p.op("S")
		}
		if len(p.buf) > flushAt {
			p.flush()
		}
	}
	if len(s.Segments)%batch != 0 {
		p.op("S")
	}
}

// capsules strokes the outlines of slots, each a path of its own, so that software
// that cuts path after path keeps them whole.
func (p *painter) capsules(s *draw.Slots) {
	for _, g := range s.Segments {
		outline := &draw.Path{Stroke: s.EdgeStroke()}
		p.path(outline.Capsule(g, s.WidthMM/2))
	}
}

// tilted is a level or upright slot with its end moved aside by 0.1 µm. Readers
// that adjust strokes (10.6.5) round the edges of exactly level or upright ones
// to whole pixels, which at 200 pixels an inch moves a hole by up to 0.06 mm;
// poppler does so always. Slots that are not quite level keep their place.
func tilted(g draw.Segment) draw.Segment {
	const tilt = 0.0001
	switch {
	case g.Dot():
	case g.Y1 == g.Y2:
		g.Y2 += tilt
	case g.X1 == g.X2:
		g.X2 += tilt
	}
	return g
}

func (p *painter) path(m *draw.Path) {
	fills := m.Fill.A > 0
	strokes := m.Stroke.Ink.A > 0 && m.Stroke.WidthMM > 0
	if len(m.Steps) == 0 || !fills && !strokes {
		return
	}
	// One operator paints both only when both have one opacity.
	if fills && strokes && m.Fill.A != m.Stroke.Ink.A {
		first, second := *m, *m
		first.Stroke, second.Fill = draw.Stroke{}, draw.Ink{}
		p.path(&first)
		p.path(&second)
		return
	}
	if fills {
		p.setFill(m.Fill)
	}
	if strokes {
		p.setStroke(m.Stroke)
	}
	for _, s := range m.Steps {
		switch s.Op {
		case draw.MoveTo:
			p.mm(s.P[0])
			p.op("m")
		case draw.LineTo:
			p.mm(s.P[0])
			p.op("l")
		case draw.CurveTo:
			p.mm(s.P[:]...)
			p.op("c")
		case draw.Close:
			p.op("h")
		}
	}
	switch {
	case fills && strokes && m.EvenOdd:
		p.op("B*")
	case fills && strokes:
		p.op("B")
	case fills && m.EvenOdd:
		p.op("f*")
	case fills:
		p.op("f")
	default:
		p.op("S")
	}
}

const hexDigits = "0123456789ABCDEF"

func (p *painter) words(t *draw.Text) {
	glyphs := t.Face.Set(t.Text)
	if t.Ink.A == 0 || len(glyphs) == 0 {
		return
	}
	p.setFill(t.Ink)
	p.text("BT /F" + strconv.Itoa(int(t.Face)) + " ")
	p.number(t.SizeMM)
	p.text("Tf ")
	cos, sin := t.Turn()
	start := t.StartMM()
	// The text's own y points up; the page's matrix turned it down.
	p.real(cos, sin, sin, -cos, t.At.X+start*cos, t.At.Y+start*sin)
	p.text("Tm <")
	for _, g := range glyphs {
		p.buf = append(p.buf, hexDigits[g>>12], hexDigits[g>>8&15], hexDigits[g>>4&15], hexDigits[g&15])
	}
	p.op("> Tj ET")
}

func (p *painter) setFill(i draw.Ink) {
	p.setAlpha(i.A)
	if i.A = 255; i != p.fill {
		p.fill = i
		p.ink(i)
		p.op("rg")
	}
}

func (p *painter) setStroke(s draw.Stroke) {
	p.setAlpha(s.Ink.A)
	s.Ink.A = 255
	if s.Ink != p.stroke.Ink {
		p.ink(s.Ink)
		p.op("RG")
	}
	if s.WidthMM != p.stroke.WidthMM {
		p.number(s.WidthMM)
		p.op("w")
	}
	if s.Cap != p.stroke.Cap {
		p.text(strconv.Itoa(int(s.Cap)))
		p.op(" J")
	}
	if len(s.DashMM)+len(p.stroke.DashMM) > 0 {
		p.text("[")
		for _, d := range s.DashMM {
			p.number(d)
		}
		if len(s.DashMM)%2 == 1 { // an odd pattern runs twice (8.4.3.6), said outright
			for _, d := range s.DashMM {
				p.number(d)
			}
		}
		p.op("] 0 d")
	}
	p.stroke = s
}

func (p *painter) setAlpha(a uint8) {
	if a != p.alpha && len(p.e.alphas.values) > 0 {
		p.alpha = a
		p.text("/A" + strconv.Itoa(int(a)))
		p.op(" gs")
	}
}

func (p *painter) ink(i draw.Ink) {
	p.real(float64(i.R)/255, float64(i.G)/255, float64(i.B)/255)
}

func (p *painter) rect(r draw.Rect) {
	p.number(r.Min.X)
	p.number(r.Min.Y)
	p.number(r.W())
	p.number(r.H())
	p.op("re")
}

func (p *painter) mm(points ...draw.Point) {
	for _, q := range points {
		p.number(q.X)
		p.number(q.Y)
	}
}

func (p *painter) number(v float64) {
	p.buf = append(draw.AppendMM(p.buf, v), ' ')
}

// real writes numbers that are no lengths.
func (p *painter) real(vs ...float64) {
	for _, v := range vs {
		p.buf = append(appendReal(p.buf, v), ' ')
	}
}

// appendReal appends v with up to ten decimals; exponents are not allowed
// (7.3.3).
func appendReal(b []byte, v float64) []byte {
	return strconv.AppendFloat(b, math.Round(v*1e10)/1e10, 'f', -1, 64)
}

func (p *painter) text(s string) { p.buf = append(p.buf, s...) }

func (p *painter) op(s string) {
	p.buf = append(append(p.buf, s...), '\n')
	if len(p.buf) > flushAt {
		p.flush()
	}
}

func (p *painter) flush() {
	p.w.Write(p.buf) // an error stays with the encoder
	p.buf = p.buf[:0]
}
