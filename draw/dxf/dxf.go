// Package dxf writes a drawing as DXF of release 12 (AC1009).
//
// Units are millimetres with four decimals; release 12 has no place to say so
// but a comment, group 999 (Autodesk, DXF reference). y points up: it is the
// drawing's UpMM less its y. Every layer becomes a layer with the ID in
// capitals. A slot becomes a closed polyline with half circles as ends (bulge
// 1), a single punch a circle, so what is cut is the true outline. Curves are
// followed by straight lines to 0.01 mm; fillings are left out, their outlines
// kept; text is plain TEXT in the reader's own face.
package dxf

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
)

// Options change how a drawing is written; nil will do.
type Options struct {
	Comments []string // lines for the head of the file, at most 250 characters of each
}

// Encode writes the drawing. It returns what is wrong with the drawing, or the
// first error of w.
func Encode(w io.Writer, d *draw.Drawing, o *Options) error {
	if o == nil {
		o = &Options{}
	}
	if err := d.Check(); err != nil {
		return fmt.Errorf("dxf: %w", err)
	}
	e := &encoder{w: bufio.NewWriterSize(w, 64<<10), up: d.UpMM}
	e.document(d, o.Comments)
	if err := e.w.Flush(); err != nil {
		return fmt.Errorf("dxf: %w", err)
	}
	return nil
}

// longestComment keeps a value within the 255 characters of release 12.
const longestComment = 250

// encoder writes groups. bufio.Writer keeps the first error and drops what
// comes after it.
type encoder struct {
	w     *bufio.Writer
	buf   []byte
	up    float64
	layer string
}

func (e *encoder) document(d *draw.Drawing, comments []string) {
	e.comment("units: millimetres; y points up")
	for _, line := range []string{d.Title, d.Author, d.Subject} {
		if line != "" {
			e.comment(line)
		}
	}
	for _, line := range comments {
		e.comment(line[:min(len(line), longestComment)])
	}
	e.header(d)
	e.tables(d)
	e.text(0, "SECTION")
	e.text(2, "ENTITIES")
	for _, l := range d.Layers {
		e.layer = layerName(l)
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
	}
	e.text(0, "ENDSEC")
	e.text(0, "EOF")
}

// layerName is the ID in capitals: release 12 has layer names of up to 31
// capitals, digits, hyphens.
func layerName(l *draw.Layer) string {
	name := strings.ToUpper(l.ID)
	return name[:min(len(name), 31)]
}

func (e *encoder) header(d *draw.Drawing) {
	e.text(0, "SECTION")
	e.text(2, "HEADER")
	e.text(9, "$ACADVER")
	e.text(1, "AC1009")
	low := draw.Point{X: d.Frame.Min.X, Y: d.Frame.Max.Y}
	high := draw.Point{X: d.Frame.Max.X, Y: d.Frame.Min.Y}
	e.text(9, "$EXTMIN")
	e.point(10, low)
	e.text(9, "$EXTMAX")
	e.point(10, high)
	e.text(0, "ENDSEC")
}

// colours are the numbers of the colours that every reader knows, told apart
// on dark and light ground: layers get them in turn.
var colours = [...]string{"7", "3", "8", "5", "1", "6", "4", "2"}

// numbered are the hues that a number stands for in every reader, from 1 (Autodesk,
// DXF reference, group 62): red, yellow, green, cyan, blue, magenta; 7 is black on
// light ground.
var numbered = [...]draw.Ink{
	draw.Hex(0xff0000), draw.Hex(0xffff00), draw.Hex(0x00ff00), draw.Hex(0x00ffff), draw.Hex(0x0000ff),
	draw.Hex(0xff00ff), draw.Hex(0x000000),
}

// Colour is the number, from 1 to 7, of the hue that is nearest to ink among those
// that release 12 knows by number, by distance in red, green, blue; the lower one of
// two equally near.
func Colour(ink draw.Ink) int {
	best, least := 0, math.MaxInt
	for i, n := range numbered {
		r, g, b := int(ink.R)-int(n.R), int(ink.G)-int(n.G), int(ink.B)-int(n.B)
		if d := r*r + g*g + b*b; d < least {
			best, least = i+1, d
		}
	}
	return best
}

func (e *encoder) tables(d *draw.Drawing) {
	e.text(0, "SECTION")
	e.text(2, "TABLES")
	e.text(0, "TABLE")
	e.text(2, "LTYPE")
	e.text(70, "1")
	e.text(0, "LTYPE")
	e.text(2, "CONTINUOUS")
	e.text(70, "0")
	e.text(3, "Solid line")
	e.text(72, "65")
	e.text(73, "0")
	e.text(40, "0")
	e.text(0, "ENDTAB")
	e.text(0, "TABLE")
	e.text(2, "LAYER")
	e.text(70, strconv.Itoa(len(d.Layers)))
	for i, l := range d.Layers {
		e.text(0, "LAYER")
		e.text(2, layerName(l))
		e.text(70, "0")
		colour := colours[i%len(colours)]
		if l.Hue.A > 0 {
			colour = strconv.Itoa(Colour(l.Hue))
		}
		if l.Off {
			colour = "-" + colour // a negative colour switches the layer off
		}
		e.text(62, colour)
		e.text(6, "CONTINUOUS")
	}
	e.text(0, "ENDTAB")
	e.text(0, "TABLE")
	e.text(2, "STYLE")
	e.text(70, "1")
	e.text(0, "STYLE")
	for _, g := range []struct {
		code int
		text string
	}{{2, "STANDARD"}, {70, "0"}, {40, "0"}, {41, "1"}, {50, "0"}, {71, "0"}, {42, "2.5"}, {3, "txt"}, {4, ""}} {
		e.text(g.code, g.text)
	}
	e.text(0, "ENDTAB")
	e.text(0, "ENDSEC")
}

func (e *encoder) slots(s *draw.Slots) {
	r := s.WidthMM / 2
	for _, g := range s.Segments {
		if g.Dot() {
			e.begin("CIRCLE")
			e.point(10, draw.Point{X: g.X1, Y: g.Y1})
			e.number(40, r)
			continue
		}
		// Counterclockwise with y up: along the lower side, around the end
		// with a bulge of 1 (a half circle to the left), back, around.
		x1, y1, x2, y2 := g.X1, e.up-g.Y1, g.X2, e.up-g.Y2
		n := math.Hypot(x2-x1, y2-y1)
		dx, dy := (x2-x1)/n*r, (y2-y1)/n*r
		e.begin("POLYLINE")
		e.text(66, "1")
		e.number(10, 0)
		e.number(20, 0)
		e.number(30, 0)
		e.text(70, "1")
		e.vertex(x1+dy, y1-dx, false)
		e.vertex(x2+dy, y2-dx, true)
		e.vertex(x2-dy, y2+dx, false)
		e.vertex(x1-dy, y1+dx, true)
		e.begin("SEQEND")
	}
}

// tolerance is how far lines may stray from the curves they follow.
const tolerance = 0.01

func (e *encoder) path(p *draw.Path) {
	for _, line := range p.Flatten(tolerance) {
		if len(line.Points) < 2 {
			continue
		}
		if p.Fill.A > 0 {
			line.Closed = true
			e.polyline(line)
			continue
		}
		for _, dash := range draw.Dashes(line, p.Stroke.DashMM) {
			e.polyline(dash)
		}
	}
}

func (e *encoder) polyline(line draw.Line) {
	if len(line.Points) == 2 && !line.Closed {
		e.begin("LINE")
		e.point(10, line.Points[0])
		e.point(11, line.Points[1])
		return
	}
	e.begin("POLYLINE")
	e.text(66, "1")
	e.number(10, 0)
	e.number(20, 0)
	e.number(30, 0)
	flag := "0"
	if line.Closed {
		flag = "1"
	}
	e.text(70, flag)
	for _, q := range line.Points {
		e.vertex(q.X, e.up-q.Y, false)
	}
	e.begin("SEQEND")
}

func (e *encoder) words(t *draw.Text) {
	text := escape(t.Text)
	if strings.TrimSpace(text) == "" {
		return
	}
	e.begin("TEXT")
	e.point(10, t.At)
	e.number(40, t.SizeMM*float64(t.Face.CapHeight())/typeface.UnitsPerEm) // the height of capitals
	e.text(1, text)
	if t.TurnDeg != 0 {
		e.number(50, -t.TurnDeg) // counterclockwise with y up
	}
	if t.Anchor != draw.Start {
		e.text(72, [...]string{"0", "1", "2"}[t.Anchor])
		e.point(11, t.At)
	}
}

// textLimit is the longest text of release 12, in bytes.
const textLimit = 255

// escape is text in ASCII: other characters as \U+ and four hexadecimal
// digits, as readers of release 12 know them; beyond four digits as a question
// mark. A caret begins a control and is followed by a blank to mean itself.
func escape(text string) string {
	var b strings.Builder
	for _, r := range typeface.Clean(text) {
		var s string
		switch {
		case r == '^':
			s = "^ "
		case r == '%' && strings.HasSuffix(b.String(), "%"): // two of them begin a control
			s = " %"
		case r == '\\':
			s = `\U+005C`
		case r < 0x7f:
			s = string(r)
		case r <= 0xffff:
			s = fmt.Sprintf(`\U+%04X`, r)
		default:
			s = "?"
		}
		if b.Len()+len(s) > textLimit {
			break
		}
		b.WriteString(s)
	}
	return b.String()
}

// begin starts an entity on the current layer.
func (e *encoder) begin(entity string) {
	e.text(0, entity)
	e.text(8, e.layer)
}

func (e *encoder) vertex(x, y float64, halfCircle bool) {
	e.begin("VERTEX")
	e.number(10, x)
	e.number(20, y)
	e.number(30, 0)
	if halfCircle {
		e.text(42, "1")
	}
}

// point writes a place, given with y down.
func (e *encoder) point(code int, p draw.Point) {
	e.number(code, p.X)
	e.number(code+10, e.up-p.Y)
	e.number(code+20, 0)
}

func (e *encoder) number(code int, v float64) {
	e.buf = strconv.AppendInt(e.buf[:0], int64(code), 10)
	e.buf = append(e.buf, '\n')
	e.buf = draw.AppendMM(e.buf, v)
	if !bytes.ContainsRune(e.buf, '.') { // readers tell reals by their point
		e.buf = append(e.buf, ".0"...)
	}
	e.buf = append(e.buf, '\n')
	e.w.Write(e.buf)
}

func (e *encoder) text(code int, s string) {
	e.buf = strconv.AppendInt(e.buf[:0], int64(code), 10)
	e.buf = append(e.buf, '\n')
	e.buf = append(e.buf, s...)
	e.buf = append(e.buf, '\n')
	e.w.Write(e.buf)
}

func (e *encoder) comment(text string) { e.text(999, escape(text)) }
