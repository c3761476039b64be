// Package svg writes a drawing as SVG 1.1.
//
// Width and height are millimetres and so are the coordinates of the viewBox:
// one user unit is one millimetre and the drawing's own coordinates stay as
// they are, so a hole of the roll is found at its place along and across.
// Lengths have four decimals. Batched slots are one path each, never an
// element a hole.
package svg

import (
	"bufio"
	"encoding/base64"
	"fmt"
	"io"
	"slices"

	"rollwright/draw"
	"rollwright/draw/typeface"
)

// TextAs says how text is written.
type TextAs int8

// The ways of writing text.
const (
	Outlines TextAs = iota // as filled paths: looks alike everywhere, cannot be edited
	Embedded               // as text, with the faces inside the file: for browsers
	Named                  // as text that names the faces: for pages that load them
)

// Options change how a drawing is written. The zero value is what a file for
// every program wants.
type Options struct {
	Text TextAs
	// CutLines writes slots as closed outlines, as hairlines without filling,
	// for machines that follow lines; else they are thick round-ended strokes.
	CutLines bool
}

// Encode writes the drawing. It returns what is wrong with the drawing, or the
// first error of w.
func Encode(w io.Writer, d *draw.Drawing, o *Options) error {
	if err := d.Check(); err != nil {
		return fmt.Errorf("svg: %w", err)
	}
	if o == nil {
		o = &Options{}
	}
	e := &encoder{w: bufio.NewWriterSize(w, 64<<10), o: o}
	e.document(d)
	if err := e.w.Flush(); err != nil {
		return fmt.Errorf("svg: %w", err)
	}
	return nil
}

// encoder writes pieces of the file. bufio.Writer keeps the first error and
// drops what comes after it, so only Flush is asked.
type encoder struct {
	w    *bufio.Writer
	o    *Options
	buf  []byte
	clip int
}

func (e *encoder) document(d *draw.Drawing) {
	f := d.Frame
	e.text(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" version="1.1" width="`)
	e.mm(f.W())
	e.text(`mm" height="`)
	e.mm(f.H())
	e.text(`mm" viewBox="`)
	e.list(f.Min.X, f.Min.Y, f.W(), f.H())
	e.text(`">` + "\n")
	if d.Title != "" {
		e.text("<title>" + escape(d.Title) + "</title>\n")
	}
	if d.Subject != "" {
		e.text("<desc>" + escapeLines(d.Subject) + "</desc>\n")
	}
	if d.Author != "" {
		e.text(`<metadata><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:dc="http://purl.org/dc/elements/1.1/"><rdf:Description rdf:about=""><dc:creator>` +
			escape(d.Author) + "</dc:creator></rdf:Description></rdf:RDF></metadata>\n")
	}
	if e.o.Text == Embedded {
		e.faces(d)
	}
	if d.Ground.A > 0 {
		e.text(`<rect id="ground"`)
		e.box(f)
		e.fill(d.Ground)
		e.text("/>\n")
	}
	for _, l := range d.Layers {
		e.layer(l)
	}
	e.text("</svg>\n")
}

// faces writes the faces that the drawing uses into a style sheet.
func (e *encoder) faces(d *draw.Drawing) {
	var used []typeface.Face
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			if t, ok := m.(*draw.Text); ok && !slices.Contains(used, t.Face) {
				used = append(used, t.Face)
			}
		}
	}
	if len(used) == 0 {
		return
	}
	slices.Sort(used)
	e.text("<style>\n")
	for _, f := range used {
		fmt.Fprintf(e.w, "@font-face{font-family:'%s';%ssrc:url(data:font/woff;base64,%s) format('woff')}\n",
			f.Family(), style(f, ";"), base64.StdEncoding.EncodeToString(f.WOFF()))
	}
	e.text("</style>\n")
}

// style is weight and slant of a face as properties, each ended by end.
func style(f typeface.Face, end string) string {
	s := ""
	if f.Bold() {
		s += "font-weight:bold" + end
	}
	if f.Italic() {
		s += "font-style:italic" + end
	}
	return s
}

func (e *encoder) layer(l *draw.Layer) {
	if l.Clip != nil {
		e.clip++
		fmt.Fprintf(e.w, `<clipPath id="bounds-%d"><rect`, e.clip)
		e.box(*l.Clip)
		e.text("/></clipPath>\n")
	}
	fmt.Fprintf(e.w, `<g id="%s" inkscape:groupmode="layer" inkscape:label="%s"`, l.ID, escape(l.Name()))
	if l.Clip != nil {
		fmt.Fprintf(e.w, ` clip-path="url(#bounds-%d)"`, e.clip)
	}
	if l.Off {
		e.text(` display="none"`)
	}
	e.text(">\n")
	for _, m := range l.Marks {
		switch m := m.(type) {
		case *draw.Slots:
			e.slots(m)
		case *draw.Path:
			e.path(m)
		case *draw.Text:
			e.words(m)
		}
	}
	e.text("</g>\n")
}

func (e *encoder) slots(s *draw.Slots) {
	if len(s.Segments) == 0 {
		return
	}
	e.text("<path")
	e.id(s.Named)
	if e.o.CutLines {
		e.text(` fill="none"`)
		e.stroke(s.EdgeStroke())
		e.text(` d="`)
		e.capsules(s)
	} else {
		e.text(` fill="none"`)
		e.stroke(draw.Stroke{Ink: s.Ink, WidthMM: s.WidthMM, Cap: draw.Round})
		e.text(` d="`)
		for _, g := range s.Segments {
			e.buf = appendSegment(e.buf[:0], g)
			e.w.Write(e.buf)
		}
	}
	e.text(`"`)
	e.end("path", s.Named)
}

// appendSegment appends one line as moves in absolute and relative form. The
// relative one is taken between rounded places, so that both ends are the
// nearest that four decimals can say.
func appendSegment(b []byte, g draw.Segment) []byte {
	b = append(b, 'M')
	b = draw.AppendMM(b, g.X1)
	b = append(b, ' ')
	b = draw.AppendMM(b, g.Y1)
	switch {
	case g.Y1 == g.Y2:
		b = append(b, 'H')
		return draw.AppendMM(b, g.X2)
	case g.X1 == g.X2:
		b = append(b, 'V')
		return draw.AppendMM(b, g.Y2)
	}
	b = append(b, 'L')
	b = draw.AppendMM(b, g.X2)
	b = append(b, ' ')
	return draw.AppendMM(b, g.Y2)
}

// capsules writes outlines with true arcs.
func (e *encoder) capsules(s *draw.Slots) {
	r := s.WidthMM / 2
	for _, g := range s.Segments {
		c := (&draw.Path{}).Capsule(g, r)
		begin := c.Steps[0].P[0]
		e.text("M")
		e.list(begin.X, begin.Y)
		// Steps are: move, [line], two quarter curves, [line], two quarters.
		for i := 1; i < len(c.Steps)-1; i++ {
			step := c.Steps[i]
			if step.Op == draw.LineTo {
				e.text("L")
				e.list(step.P[0].X, step.P[0].Y)
				continue
			}
			i++ // both quarters as one half circle
			e.text("A")
			e.list(r, r)
			e.text(" 0 0 1 ")
			e.list(c.Steps[i].P[2].X, c.Steps[i].P[2].Y)
		}
		e.text("Z")
	}
}

func (e *encoder) path(p *draw.Path) {
	if len(p.Steps) == 0 {
		return
	}
	e.text("<path")
	e.id(p.Named)
	e.fill(p.Fill)
	if p.EvenOdd && p.Fill.A > 0 {
		e.text(` fill-rule="evenodd"`)
	}
	if p.Stroke.Ink.A > 0 && p.Stroke.WidthMM > 0 {
		e.stroke(p.Stroke)
	}
	e.text(` d="`)
	for _, s := range p.Steps {
		switch s.Op {
		case draw.MoveTo:
			e.text("M")
			e.list(s.P[0].X, s.P[0].Y)
		case draw.LineTo:
			e.text("L")
			e.list(s.P[0].X, s.P[0].Y)
		case draw.CurveTo:
			e.text("C")
			e.list(s.P[0].X, s.P[0].Y, s.P[1].X, s.P[1].Y, s.P[2].X, s.P[2].Y)
		case draw.Close:
			e.text("Z")
		}
	}
	e.text(`"`)
	e.end("path", p.Named)
}

func (e *encoder) words(t *draw.Text) {
	if e.o.Text == Outlines {
		p := t.Outline()
		if p.Title == "" && t.Face != typeface.Music { // a sign of music says nothing as text
			p.Title = t.Text
		}
		e.path(p)
		return
	}
	e.text("<text")
	e.id(t.Named)
	e.fill(t.Ink)
	fallback := "sans-serif"
	if t.Face.Serifs() {
		fallback = "serif"
	}
	fmt.Fprintf(e.w, ` style="font-family:'%s',%s;%sfont-kerning:none;font-variant-ligatures:none;white-space:pre" font-size="`, t.Face.Family(), fallback, style(t.Face, ";"))
	e.mm(t.SizeMM)
	e.text(`"`)
	if anchor := [...]string{"", "middle", "end"}[t.Anchor]; anchor != "" {
		fmt.Fprintf(e.w, ` text-anchor="%s"`, anchor)
	}
	if t.TurnDeg == 0 {
		e.text(` x="`)
		e.mm(t.At.X)
		e.text(`" y="`)
		e.mm(t.At.Y)
		e.text(`"`)
	} else {
		e.text(` transform="translate(`)
		e.list(t.At.X, t.At.Y)
		e.text(`) rotate(`)
		e.mm(t.TurnDeg)
		e.text(`)"`)
	}
	e.text(">")
	if t.Title != "" {
		e.text("<title>" + escape(t.Title) + "</title>")
	}
	e.text(escape(t.Text) + "</text>\n")
}

func (e *encoder) text(s string) { e.w.WriteString(s) }

func (e *encoder) mm(v float64) {
	e.buf = draw.AppendMM(e.buf[:0], v)
	e.w.Write(e.buf)
}

// list writes numbers with blanks between them.
func (e *encoder) list(vs ...float64) {
	e.buf = e.buf[:0]
	for i, v := range vs {
		if i > 0 {
			e.buf = append(e.buf, ' ')
		}
		e.buf = draw.AppendMM(e.buf, v)
	}
	e.w.Write(e.buf)
}

func (e *encoder) box(r draw.Rect) {
	for i, name := range [...]string{"x", "y", "width", "height"} {
		e.text(" " + name + `="`)
		e.mm([...]float64{r.Min.X, r.Min.Y, r.W(), r.H()}[i])
		e.text(`"`)
	}
}

func (e *encoder) id(n draw.Named) {
	if n.ID != "" {
		e.text(` id="` + n.ID + `"`)
	}
}

// end closes an element, with a title inside when it has one.
func (e *encoder) end(element string, n draw.Named) {
	if n.Title == "" {
		e.text("/>\n")
		return
	}
	e.text("><title>" + escape(n.Title) + "</title></" + element + ">\n")
}

func (e *encoder) fill(i draw.Ink) { e.ink("fill", i) }

func (e *encoder) stroke(s draw.Stroke) {
	e.ink("stroke", s.Ink)
	e.text(` stroke-width="`)
	e.mm(s.WidthMM)
	e.text(`" stroke-linejoin="round"`)
	if s.Cap == draw.Round {
		e.text(` stroke-linecap="round"`)
	}
	if len(s.DashMM) > 0 {
		e.text(` stroke-dasharray="`)
		e.list(s.DashMM...)
		e.text(`"`)
	}
}

func (e *encoder) ink(what string, i draw.Ink) {
	if i.A == 0 {
		e.text(" " + what + `="none"`)
		return
	}
	fmt.Fprintf(e.w, ` %s="#%02x%02x%02x"`, what, i.R, i.G, i.B)
	if i.A < 255 {
		fmt.Fprintf(e.w, ` %s-opacity="%.3g"`, what, float64(i.A)/255)
	}
}
