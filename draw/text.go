package draw

import (
	"math"

	"rollwright/draw/typeface"
)

// Text is one line of text.
type Text struct {
	Named
	At      Point
	Text    string  // controls are replaced by typeface.Clean wherever it is drawn
	SizeMM  float64 // the em
	Face    typeface.Face
	Ink     Ink
	Anchor  Anchor
	TurnDeg float64 // clockwise, around At
}

// WidthMM is how far the text runs.
func (t *Text) WidthMM() float64 { return t.Face.Width(t.Text, t.SizeMM) }

// StartMM is where the first glyph begins, before turning: so far to the right
// of At.
func (t *Text) StartMM() float64 {
	switch t.Anchor {
	case Middle:
		return -t.WidthMM() / 2
	case End:
		return -t.WidthMM()
	}
	return 0
}

// Turn is the cosine and sine of TurnDeg, exact for quarter turns.
func (t *Text) Turn() (cos, sin float64) {
	switch quarter := math.Mod(t.TurnDeg, 360); quarter {
	case 0:
		return 1, 0
	case 90, -270:
		return 0, 1
	case 180, -180:
		return -1, 0
	case 270, -90:
		return 0, -1
	default:
		sin, cos = math.Sincos(quarter * math.Pi / 180)
		return cos, sin
	}
}

// Bounds is the rectangle around the text as turned, from the face's descent
// to the height of its capitals.
func (t *Text) Bounds() Rect {
	cos, sin := t.Turn()
	em := t.SizeMM / typeface.UnitsPerEm
	top, bottom := -float64(t.Face.CapHeight())*em, float64(t.Face.Descent())*em
	x0 := t.StartMM()
	x1 := x0 + t.WidthMM()
	r := Rect{Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}}
	for _, q := range []Point{{x0, top}, {x1, top}, {x0, bottom}, {x1, bottom}} {
		x, y := t.At.X+q.X*cos-q.Y*sin, t.At.Y+q.X*sin+q.Y*cos
		r.Min.X, r.Min.Y = min(r.Min.X, x), min(r.Min.Y, y)
		r.Max.X, r.Max.Y = max(r.Max.X, x), max(r.Max.Y, y)
	}
	return r
}

// Outline is the text as a filled path, for formats and readers without its
// face.
func (t *Text) Outline() *Path {
	p := &Path{Named: t.Named, Fill: t.Ink}
	cos, sin := t.Turn()
	em := t.SizeMM / typeface.UnitsPerEm
	pen := t.StartMM()
	at := func(x, y float64) Point {
		x, y = pen+x*em, -y*em
		return Point{t.At.X + x*cos - y*sin, t.At.Y + x*sin + y*cos}
	}
	for _, g := range t.Face.Set(t.Text) {
		outline := t.Face.Outline(g)
		var from Point
		for i, s := range outline {
			q := at(s.X, s.Y)
			switch s.Op {
			case typeface.Move:
				if i > 0 {
					p.Close()
				}
				p.MoveTo(q.X, q.Y)
			case typeface.Line:
				p.LineTo(q.X, q.Y)
			case typeface.Quad:
				c := at(s.CX, s.CY)
				p.CurveTo(from.X+(c.X-from.X)*2/3, from.Y+(c.Y-from.Y)*2/3, q.X+(c.X-q.X)*2/3, q.Y+(c.Y-q.Y)*2/3, q.X, q.Y)
			}
			from = q
		}
		if len(outline) > 0 {
			p.Close()
		}
		pen += float64(t.Face.Advance(g)) * em
	}
	return p
}
