package show

import (
	"fmt"
	"io"
	"strings"

	"rollwright/draw"
	"rollwright/draw/png"
	"rollwright/draw/svg"
	"rollwright/draw/typeface"
	"rollwright/telling/figure"
)

// A slide is 480 by 270 mm: at 4 pixels a millimetre 1920 by 1080.
const (
	slideWide   = 480.0
	slideHigh   = 270.0
	slidePixels = 4
	slideMargin = 18.0
	pagePixels  = 1280 / slideWide // of the lecture's page, a millimetre
)

// FileName is the step's number and name, as its files are called without their
// extensions.
func (s *Step) FileName() string {
	name := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r <= ' ' {
			return '-'
		}
		return r
	}, s.Name)
	return fmt.Sprintf("%02d-%s", s.Number, name)
}

// Slide is one step as a still picture.
type Slide struct{ Drawing *draw.Drawing }

// WritePNG writes the slide as a picture of 1920 by 1080 pixels.
func (s *Slide) WritePNG(w io.Writer) error {
	return png.Encode(w, s.Drawing, &png.Options{PixelsPerMM: slidePixels})
}

// WriteSVG writes the slide as SVG that looks alike everywhere.
func (s *Slide) WriteSVG(w io.Writer) error { return svg.Encode(w, s.Drawing, nil) }

// Slide draws a step: number and title, its text, its figure, or large text
// where it has none.
func (l *Lecture) Slide(s *Step) (*Slide, error) {
	d := &draw.Drawing{
		Frame: draw.Box(0, 0, slideWide, slideHigh), Ground: draw.Hex(0xfbf7ee),
		Title: fmt.Sprintf("%s · %d %s", l.Title, s.Number, s.Title), Author: l.Composer, Subject: strings.Join(s.Text, " "),
	}
	if s.Figure != nil {
		d.Subject = strings.TrimSpace(d.Subject + " " + s.Figure.Caption)
	}
	words := &draw.Layer{ID: "words"}
	y := slideText(words, s)
	if s.Figure != nil {
		card := draw.Box(slideMargin, y, slideWide-slideMargin, slideHigh-slideMargin/1.5)
		words.Add((&draw.Path{Fill: draw.White}).Rect(card))
		d.Layers = append(d.Layers, words)
		in := card.Grow(-3)
		place(d, panel{in.W() * pagePixels, in.H() * pagePixels, true}.fit(s.Figure), in)
	} else {
		d.Layers = append(d.Layers, words)
	}
	return &Slide{d}, d.Check()
}

// slideText sets number, title and text, and returns where the figure may begin.
func slideText(layer *draw.Layer, s *Step) float64 {
	titleMM, textMM := 19.0, 11.5
	if s.Kind == Title {
		titleMM = 27
	} else if s.Figure == nil {
		textMM = 14
	}
	number := itoa(s.Number) + " "
	x, y := slideMargin, slideMargin+titleMM*0.8
	width := slideWide - 2*slideMargin
	if s.Kind != Title {
		layer.Add(&draw.Text{At: draw.Point{X: x, Y: y}, Text: number, SizeMM: titleMM, Face: typeface.Serif,
			Ink: draw.Brass})
		x += typeface.Serif.Width(number+" ", titleMM)
	}
	for _, line := range typeface.Serif.Wrap(s.Title, titleMM, slideWide-slideMargin-x) {
		layer.Add(&draw.Text{At: draw.Point{X: x, Y: y}, Text: line, SizeMM: titleMM, Face: typeface.Serif,
			Ink: draw.InkDark})
		y += titleMM * 1.15
	}
	room := slideHigh - slideMargin
	if s.Figure != nil {
		room = slideHigh * 0.5
	}
	for fitted := false; !fitted; textMM *= 0.92 { // smaller where there is much to say
		fitted = textHeight(s.Text, textMM, width) <= room-y || textMM < 6
		if !fitted {
			continue
		}
		for _, p := range s.Text {
			for _, line := range typeface.Sans.Wrap(p, textMM, width) {
				layer.Add(&draw.Text{At: draw.Point{X: slideMargin, Y: y}, Text: line, SizeMM: textMM, Face: typeface.Sans,
					Ink: draw.InkDark})
				y += textMM * 1.3
			}
			y += textMM * 0.4
		}
	}
	return y - 4
}

func textHeight(paragraphs []string, size, width float64) float64 {
	high := 0.0
	for _, p := range paragraphs {
		high += float64(len(typeface.Sans.Wrap(p, size, width)))*size*1.3 + size*0.4
	}
	return high
}

// place puts a copy of a figure into a drawing, as large as fits into a box, in
// its middle.
func place(d *draw.Drawing, f *figure.Figure, in draw.Rect) {
	from := inked(f.Drawing)
	scale := min(in.W()/from.W(), in.H()/from.H())
	m := moved{
		scale: scale,
		x:     (in.Min.X+in.Max.X)/2 - scale*(from.Min.X+from.Max.X)/2,
		y:     (in.Min.Y+in.Max.Y)/2 - scale*(from.Min.Y+from.Max.Y)/2,
	}
	for _, l := range f.Drawing.Layers {
		out := &draw.Layer{ID: "figure-" + l.ID, Label: l.Label, Off: l.Off}
		if l.Clip != nil {
			clip := draw.Rect{Min: m.point(l.Clip.Min), Max: m.point(l.Clip.Max)}
			out.Clip = &clip
		}
		for _, mark := range l.Marks {
			out.Add(m.mark(mark))
		}
		d.Layers = append(d.Layers, out)
	}
}

// Picture is the step's figure as high as its marks, for a page of its own; nil:
// the step has none.
func (s *Step) Picture() *draw.Drawing {
	if s.Figure == nil {
		return nil
	}
	d := *s.Figure.Drawing
	part := inked(&d)
	d.Frame.Min.Y, d.Frame.Max.Y = part.Min.Y, part.Max.Y
	return &d
}

// inked is the part of a drawing that has marks, with a little room around them.
func inked(d *draw.Drawing) draw.Rect {
	var all draw.Rect
	found := false
	for _, l := range d.Layers {
		for _, mark := range l.Marks {
			r, ok := boundsOf(mark)
			if !ok || l.Off {
				continue
			}
			if l.Clip != nil {
				r = common(r, *l.Clip)
			}
			if !found {
				all, found = r, true
			}
			all = draw.Box(min(all.Min.X, r.Min.X), min(all.Min.Y, r.Min.Y), max(all.Max.X, r.Max.X), max(all.Max.Y, r.Max.Y))
		}
	}
	if !found {
		return d.Frame
	}
	return common(all.Grow(2), d.Frame)
}

// common is the part of r that lies in s.
func common(r, s draw.Rect) draw.Rect {
	return draw.Rect{
		Min: draw.Point{X: min(max(r.Min.X, s.Min.X), s.Max.X), Y: min(max(r.Min.Y, s.Min.Y), s.Max.Y)},
		Max: draw.Point{X: max(min(r.Max.X, s.Max.X), s.Min.X), Y: max(min(r.Max.Y, s.Max.Y), s.Min.Y)},
	}
}

func boundsOf(mark draw.Mark) (draw.Rect, bool) {
	switch k := mark.(type) {
	case *draw.Text:
		if k.Face == typeface.Music { // a clef reaches beyond any letter
			return k.Outline().Bounds()
		}
		return k.Bounds(), k.Text != ""
	case *draw.Path:
		return k.Bounds()
	case *draw.Slots:
		var all draw.Rect
		for i, s := range k.Segments {
			r := draw.Box(s.X1, s.Y1, s.X2, s.Y2).Grow(k.WidthMM / 2)
			if i == 0 {
				all = r
			}
			all = draw.Box(min(all.Min.X, r.Min.X), min(all.Min.Y, r.Min.Y), max(all.Max.X, r.Max.X), max(all.Max.Y, r.Max.Y))
		}
		return all, len(k.Segments) > 0
	}
	return draw.Rect{}, false
}

// moved is a drawing made larger and put elsewhere.
type moved struct{ scale, x, y float64 }

func (m moved) point(p draw.Point) draw.Point {
	return draw.Point{X: m.x + m.scale*p.X, Y: m.y + m.scale*p.Y}
}

// mark is a copy of a mark in its new place.
func (m moved) mark(mark draw.Mark) draw.Mark {
	switch k := mark.(type) {
	case *draw.Text:
		t := *k
		t.At, t.SizeMM = m.point(k.At), m.scale*k.SizeMM
		return &t
	case *draw.Slots:
		t := *k
		t.WidthMM *= m.scale
		t.Segments = make([]draw.Segment, len(k.Segments))
		for i, s := range k.Segments {
			a, b := m.point(draw.Point{X: s.X1, Y: s.Y1}), m.point(draw.Point{X: s.X2, Y: s.Y2})
			t.Segments[i] = draw.Segment{X1: a.X, Y1: a.Y, X2: b.X, Y2: b.Y}
		}
		return &t
	case *draw.Path:
		t := *k
		t.Steps = make([]draw.Step, len(k.Steps))
		for i, s := range k.Steps {
			for j := range s.P {
				s.P[j] = m.point(s.P[j])
			}
			t.Steps[i] = s
		}
		t.Stroke.WidthMM *= m.scale
		t.Stroke.DashMM = nil
		for _, dash := range k.Stroke.DashMM {
			t.Stroke.DashMM = append(t.Stroke.DashMM, dash*m.scale)
		}
		return &t
	}
	return mark
}
