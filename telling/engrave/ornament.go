package engrave

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/music/notation"
	"rollwright/music/piece"
)

// repeatStrokes is how many strokes a repeated note has: three say as fast as can
// be, or unmeasured (common practice, no source).
const repeatStrokes = 3

// glissWord stands above a note that begins a glissando.
const glissWord = "gliss."

// signs are ornaments above, and below where a statement of the color begins.
func (w *lineWriter) signs(c *cell, x, y, high float64) {
	if c.index > 0 || c.note.Back {
		return
	}
	switch g := c.note.Gesture; {
	case w.line.Manner == Rhythm:
	case g == piece.Trill:
		w.sign(x-0.2*w.sp, high-0.8*w.sp, trillSign, w.look.Ink, 1)
	case g == piece.Gliss:
		w.text(x, high-0.7*w.sp, w.look.small(), glissWord, w.look.Second, draw.Start)
	}
	if w.line.Labels && c.note.First && w.line.Manner == Music {
		base := w.staffY(y, len(w.staves)-1) + w.below - w.look.small()*0.25
		x += headWidth * w.sp / 2
		mark := &draw.Path{Fill: w.look.Accent}
		mark.Polygon(draw.Point{X: x - 0.9*w.sp, Y: base}, draw.Point{X: x, Y: base - 1.2*w.sp},
			draw.Point{X: x + 0.9*w.sp, Y: base})
		w.l.Add(mark)
		w.text(x+1.2*w.sp, base, w.look.small(), strconv.Itoa(c.note.Color), w.look.Accent,
			draw.Start).ID = fmt.Sprintf("color-%d", c.note.Color)
	}
}

// grace is a small note or chord ahead of a note.
type grace struct {
	heads []graceHead // ascending
	left  float64     // from where it begins to the head of its note, mm
}

type graceHead struct {
	staff, place int
	sign         rune // accidental; 0: none
}

// graceScale is the size of a grace note beside others.
const graceScale = 0.6

// graceOf are the grace notes of a note, stroke by stroke.
func (w *lineWriter) graceOf(n *notation.Note, held *notation.Accidentals) []*grace {
	if w.line.Manner == Rhythm {
		return nil
	}
	var out []*grace
	for _, stroke := range n.Grace {
		g := &grace{}
		for _, p := range stroke {
			h := graceHead{staff: w.line.Part.Staff(p)}
			h.place = w.staves[h.staff].Place(p)
			if held.Needs(p) {
				h.sign = accidental(p)
			}
			g.heads = append(g.heads, h)
		}
		out = append(out, g)
	}
	return out
}

// signs is the width that accidentals take ahead of the heads.
func (g *grace) signs(p *pen) float64 {
	widest := 0.0
	for _, h := range g.heads {
		if h.sign != 0 {
			widest = max(widest, (p.width(h.sign)+0.15*p.sp)*graceScale)
		}
	}
	return widest
}

// room is the width that it takes ahead of the note and its accidentals.
func (g *grace) room(p *pen) float64 {
	return (headWidth*graceScale+0.9)*p.sp + g.signs(p) // with the flag and a little space
}

// draw draws heads, stem, flag and the stroke through it; x is where its room begins,
// y the top of the system.
func (g *grace) draw(w *lineWriter, x, y float64) {
	head := x + g.signs(w.pen)
	wide := headWidth * graceScale * w.sp
	low, high := math.Inf(-1), math.Inf(1)
	for _, h := range g.heads {
		line := w.staffY(y, h.staff)
		at := w.at(line, h.place)
		if h.sign != 0 {
			w.sign(x, at, h.sign, w.look.Ink, graceScale)
		}
		w.ledgers(head, line, h.place, wide)
		w.sign(head, at, headBlack, w.look.Ink, graceScale)
		low, high = max(low, at), min(high, at)
	}
	stem, end := head+wide-stemLine*w.sp/2, high-3.5*graceScale*w.sp
	w.pen.line(stem, low-0.168*graceScale*w.sp, stem, end, stemLine, w.look.Ink)
	w.sign(stem-stemLine*w.sp/2, end, flag8Up, w.look.Ink, graceScale)
	w.pen.line(stem-0.5*w.sp, end+1.1*w.sp, stem+0.6*w.sp, end+0.35*w.sp, stemLine, w.look.Ink)
}

// spreadRoom is the width of the wave ahead of a spread chord, in spaces.
const spreadRoom = 1.1

// wave draws the upright wave of a spread chord around x, over the heights between
// two heads.
func (p *pen) wave(x, top, bottom float64) {
	const length = 0.5 // of half a wave, in spaces
	top, bottom = top-0.6*p.sp, bottom+0.6*p.sp
	n := max(2, int(math.Round((bottom-top)/(length*p.sp))))
	half := (bottom - top) / float64(n)
	path := &draw.Path{Stroke: draw.Stroke{Ink: p.look.Ink, WidthMM: 0.18 * p.sp, Cap: draw.Round}}
	path.MoveTo(x, top)
	for i := range n {
		y, swing := top+half*float64(i), 0.45*p.sp
		if i%2 == 1 {
			swing = -swing
		}
		path.CurveTo(x+swing, y+half/3, x+swing, y+half*2/3, x, y+half)
	}
	p.l.Add(path)
}
