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
	if c.index > 0 {
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

// grace is a small note ahead of another one.
type grace struct {
	staff, place int
	sign         rune    // accidental; 0: none
	left         float64 // from where it begins to the head of its note, mm
}

// graceScale is the size of a grace note beside others.
const graceScale = 0.6

// graceOf is the grace note of a note, nil where it has none.
func (w *lineWriter) graceOf(n *notation.Note, held *notation.Accidentals) *grace {
	if n.Gesture != piece.Grace || n.Grace < 0 || w.line.Manner == Rhythm {
		return nil
	}
	p := w.line.Part.Spelling.Pitch(n.Grace)
	g := &grace{staff: w.line.Part.Staff(p)}
	g.place = w.staves[g.staff].Place(p)
	if held.Needs(p) {
		g.sign = accidental(p)
	}
	return g
}

// room is the width that it takes ahead of the note and its accidentals.
func (g *grace) room(p *pen) float64 {
	room := (headWidth*graceScale + 0.9) * p.sp // with the flag and a little space
	if g.sign != 0 {
		room += (p.width(g.sign) + 0.15*p.sp) * graceScale
	}
	return room
}

// draw draws head, stem, flag and the stroke through it; x is where its room begins,
// y the lowest line of its staff.
func (g *grace) draw(p *pen, x, y float64) {
	at := p.at(y, g.place)
	if g.sign != 0 {
		p.sign(x, at, g.sign, p.look.Ink, graceScale)
		x += (p.width(g.sign) + 0.15*p.sp) * graceScale
	}
	w := headWidth * graceScale * p.sp
	p.ledgers(x, y, g.place, w)
	p.sign(x, at, headBlack, p.look.Ink, graceScale)
	stem, end := x+w-stemLine*p.sp/2, at-3.5*graceScale*p.sp
	p.line(stem, at-0.168*graceScale*p.sp, stem, end, stemLine, p.look.Ink)
	p.sign(stem-stemLine*p.sp/2, end, flag8Up, p.look.Ink, graceScale)
	p.line(stem-0.5*p.sp, end+1.1*p.sp, stem+0.6*p.sp, end+0.35*p.sp, stemLine, p.look.Ink)
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
