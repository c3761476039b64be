// Package draw holds a drawing as layers of marks in millimetres.
//
// x runs to the right and y down, from wherever the drawing puts its origin;
// Frame says which part is shown. Everything is float64 millimetres, sizes of
// text included; formats write four decimals (AppendMM), that is 0.1 µm. The
// package knows no format: each of pdf, svg, dxf, png encodes a Drawing.
package draw

import (
	"errors"
	"fmt"
	"math"
)

// Point is a place in millimetres.
type Point struct{ X, Y float64 }

// Rect is the part of the plane from Min to Max.
type Rect struct{ Min, Max Point }

// Box is the rectangle between two opposite corners.
func Box(x0, y0, x1, y1 float64) Rect {
	return Rect{Point{min(x0, x1), min(y0, y1)}, Point{max(x0, x1), max(y0, y1)}}
}

// W is the width of r.
func (r Rect) W() float64 { return r.Max.X - r.Min.X }

// H is the height of r.
func (r Rect) H() float64 { return r.Max.Y - r.Min.Y }

// Grow is r with every side moved outwards by mm.
func (r Rect) Grow(mm float64) Rect {
	return Rect{Point{r.Min.X - mm, r.Min.Y - mm}, Point{r.Max.X + mm, r.Max.Y + mm}}
}

// Overlaps reports whether r and s have a point in common.
func (r Rect) Overlaps(s Rect) bool {
	return r.Min.X <= s.Max.X && s.Min.X <= r.Max.X && r.Min.Y <= s.Max.Y && s.Min.Y <= r.Max.Y
}

// Ink is a colour of sRGB with its opacity, not premultiplied. The zero Ink
// leaves no trace.
type Ink struct{ R, G, B, A uint8 }

// Hex is the opaque Ink of a number such as 0x1f1b16.
func Hex(rgb uint32) Ink { return Ink{uint8(rgb >> 16), uint8(rgb >> 8), uint8(rgb), 255} }

// Drawing is one sheet.
type Drawing struct {
	Frame  Rect // what is shown; its size is the size of the sheet
	Ground Ink  // of the whole frame; the zero Ink leaves it as it is
	Layers []*Layer

	// UpMM is the y that becomes 0 in formats whose y points up: they write
	// UpMM - y. Of a roll it is the paper's width. Formats without such a
	// tradition ignore it.
	UpMM float64

	Title   string // of the work
	Author  string
	Subject string // what the sheet is, in a sentence
}

// Layer is marks that are shown, hidden or cut together. Later marks lie over
// earlier ones, later layers over earlier ones.
type Layer struct {
	ID    string // names the layer in files: letters, digits, hyphens, beginning with a letter
	Label string // names it to people; empty: the ID
	Off   bool   // hidden until switched on, in formats that can
	Clip  *Rect  // nothing is shown outside it; nil: no bounds
	Hue   Ink    // of the layer, in formats whose lines take theirs from it; the zero Ink: as the format likes
	Marks []Mark
}

// Mark is a *Slots, a *Path or a *Text.
type Mark interface {
	name() *Named
	check() error
}

// Named is what a person can find a mark by.
type Named struct {
	ID    string // unique in the drawing, same letters as a layer's; may be empty
	Title string // what it is; shown on hovering, in formats that can
}

func (n *Named) name() *Named { return n }

// NameOf is the name of a mark.
func NameOf(m Mark) Named { return *m.name() }

// Slots are round-ended openings, or strokes of round pen: from one centre to
// another, half the width beyond both. One with both centres in one place is a
// disc. All of one Slots look alike; batches keep files of many holes small.
type Slots struct {
	Named
	Ink      Ink
	WidthMM  float64
	EdgeMM   float64 // the width of the line where a format follows the outline; 0: a tenth
	Segments []Segment
}

// EdgeStroke is the line where a format follows the outlines of slots.
func (s *Slots) EdgeStroke() Stroke {
	if s.EdgeMM > 0 {
		return Stroke{Ink: s.Ink, WidthMM: s.EdgeMM}
	}
	return Stroke{Ink: s.Ink, WidthMM: 0.1}
}

// Segment is a straight line between two places.
type Segment struct{ X1, Y1, X2, Y2 float64 }

// Dot reports whether the segment has no length.
func (s Segment) Dot() bool { return s.X1 == s.X2 && s.Y1 == s.Y2 }

// Cap is the end of a stroke. Corners are always round.
type Cap uint8

// The ends of strokes: cut off at the end point, or round beyond it.
const (
	Butt Cap = iota
	Round
)

// Stroke is the look of a line.
type Stroke struct {
	Ink     Ink
	WidthMM float64
	DashMM  []float64 // lengths on, off, on, ...; nil: solid
	Cap     Cap       // of the line and of every dash
}

// Widths of lines, in millimetres.
const (
	Hairline = 0.25
	MainLine = 0.5
)

// Hair is a solid hairline.
func Hair(ink Ink) Stroke { return Stroke{Ink: ink, WidthMM: Hairline} }

// Main is a solid main line.
func Main(ink Ink) Stroke { return Stroke{Ink: ink, WidthMM: MainLine} }

// Anchor says which point of a text lies at its place.
type Anchor uint8

// The anchors, all on the baseline.
const (
	Start Anchor = iota
	Middle
	End
)

// Layer is the layer with the given ID, made at the end when there is none.
func (d *Drawing) Layer(id, label string) *Layer {
	for _, l := range d.Layers {
		if l.ID == id {
			return l
		}
	}
	l := &Layer{ID: id, Label: label}
	d.Layers = append(d.Layers, l)
	return l
}

// Add puts marks over those that are there.
func (l *Layer) Add(marks ...Mark) { l.Marks = append(l.Marks, marks...) }

// Name is what people read: the label, or the ID.
func (l *Layer) Name() string {
	if l.Label != "" {
		return l.Label
	}
	return l.ID
}

// Limit is the largest coordinate that a drawing may have, in millimetres: a
// kilometre of paper.
const Limit = 1e6

// Check reports what no format can draw: a frame without area, a coordinate
// that is no number or lies beyond Limit. Encoders call it first.
func (d *Drawing) Check() error {
	if !(d.Frame.W() > 0 && d.Frame.H() > 0) || !inLimit(d.Frame.Min.X, d.Frame.Min.Y, d.Frame.Max.X, d.Frame.Max.Y,
		d.UpMM) {
		return fmt.Errorf("the frame of the drawing is %g x %g mm: want a positive size up to %g mm", d.Frame.W(),
			d.Frame.H(), float64(Limit))
	}
	for _, l := range d.Layers {
		if !validID(l.ID) {
			return fmt.Errorf("layer ID %q: want a letter, then letters, digits, hyphens", l.ID)
		}
		for _, m := range l.Marks {
			if id := m.name().ID; id != "" && !validID(id) {
				return fmt.Errorf("layer %s: ID %q: want a letter, then letters, digits, hyphens", l.ID, id)
			}
			if err := m.check(); err != nil {
				return fmt.Errorf("layer %s: %w", l.ID, err)
			}
		}
	}
	return nil
}

func validID(id string) bool {
	for i, r := range id {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || r != '-' && (r < '0' || r > '9')) {
			return false
		}
	}
	return id != ""
}

var errCoordinate = errors.New("a coordinate or width is not a number within a kilometre")

func inLimit(vs ...float64) bool {
	for _, v := range vs {
		if !(math.Abs(v) <= Limit) {
			return false
		}
	}
	return true
}

func (s *Slots) check() error {
	if !inLimit(s.WidthMM) || s.WidthMM < 0 {
		return errCoordinate
	}
	for _, g := range s.Segments {
		if !(math.Abs(g.X1) <= Limit && math.Abs(g.Y1) <= Limit && math.Abs(g.X2) <= Limit && math.Abs(g.Y2) <= Limit) {
			return errCoordinate
		}
	}
	return nil
}

func (p *Path) check() error {
	if !inLimit(p.Stroke.WidthMM) || !inLimit(p.Stroke.DashMM...) || p.Stroke.WidthMM < 0 {
		return errCoordinate
	}
	sum := 0.0
	for _, d := range p.Stroke.DashMM {
		if d < 0 {
			return errors.New("a dash of negative length")
		}
		sum += d
	}
	if len(p.Stroke.DashMM) > 0 && sum < 0.01 {
		return errors.New("dashes shorter than 0.01 mm together")
	}
	for i, s := range p.Steps {
		if i == 0 && s.Op != MoveTo {
			return errors.New("a path that does not begin with a MoveTo")
		}
		for _, q := range s.P {
			if !inLimit(q.X, q.Y) {
				return errCoordinate
			}
		}
	}
	return nil
}

func (t *Text) check() error {
	if !inLimit(t.At.X, t.At.Y, t.SizeMM, t.TurnDeg) || t.SizeMM < 0 {
		return errCoordinate
	}
	return nil
}

// AppendMM appends v with at most four decimals, the nearest, ties away from
// zero, without trailing zeros and never -0. It is the one place where lengths
// of drawings are rounded.
func AppendMM(b []byte, v float64) []byte {
	n := int64(math.Round(math.Abs(v) * 1e4))
	if n == 0 {
		return append(b, '0')
	}
	if v < 0 {
		b = append(b, '-')
	}
	b = appendInt(b, n/1e4)
	frac := n % 1e4
	if frac == 0 {
		return b
	}
	digits := [5]byte{'.', byte('0' + frac/1000), byte('0' + frac/100%10), byte('0' + frac/10%10), byte('0' + frac%10)}
	end := 5
	for digits[end-1] == '0' {
		end--
	}
	return append(b, digits[:end]...)
}

func appendInt(b []byte, n int64) []byte {
	var digits [20]byte
	i := len(digits)
	for {
		i--
		digits[i] = byte('0' + n%10)
		n /= 10
		if n == 0 {
			return append(b, digits[i:]...)
		}
	}
}
