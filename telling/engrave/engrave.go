// Package engrave draws written music: parts of package notation in, marks of a
// draw.Layer out.
//
// Lengths are millimetres, y grows downward, as in package draw; a staff is
// measured in spaces, the distance of its lines. Signs are the glyphs of the
// Music face at the places and with the line widths of the Standard Music Font
// Layout (SMuFL 1.4, engraving defaults of the font's metadata). Notes are
// beamed within the beats of bars that the composer gives; else they carry flags, for a
// talea has no beats. Accidentals hold until the
// next bar line, for their own line or space.
package engrave

import (
	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/notation"
)

// Look is how music is drawn.
type Look struct {
	SpaceMM float64 // between the lines of a staff
	Ink     draw.Ink
	Second  draw.Ink // of staff lines, bar numbers and whatever may be read second
	Accent  draw.Ink // of where a color begins
	Hue     draw.Ink // of the voice
	SmallMM float64  // size of numbers; 0: 1.6 spaces
}

// NewLook is the usual look with staves of the given space.
func NewLook(spaceMM float64) Look {
	return Look{SpaceMM: spaceMM, Ink: draw.InkDark, Second: draw.InkSecond, Accent: draw.Brass, Hue: draw.InkDark}
}

func (k *Look) small() float64 {
	if k.SmallMM > 0 {
		return k.SmallMM
	}
	return 1.6 * k.SpaceMM
}

// Signs at their places in SMuFL.
const (
	gClef         = '\uE050'
	gClef15Below  = '\uE051'
	gClef8Below   = '\uE052'
	gClef8Above   = '\uE053'
	gClef15Above  = '\uE054'
	fClef         = '\uE062'
	fClef15Below  = '\uE063'
	fClef8Below   = '\uE064'
	fClef8Above   = '\uE065'
	fClef15Above  = '\uE066'
	timeDigit     = '\uE080' // then 1 to 9
	headBreve     = '\uE0A0'
	headWhole     = '\uE0A2'
	headHalf      = '\uE0A3'
	headBlack     = '\uE0A4'
	dot           = '\uE1E7'
	flag8Up       = '\uE240' // then 8 down, 16 up, 16 down, ...
	flatSign      = '\uE260'
	naturalSign   = '\uE261'
	sharpSign     = '\uE262'
	sharp2Sign    = '\uE263'
	flat2Sign     = '\uE264'
	restBreve     = '\uE4E2' // then whole, half, quarter, ...
	trillSign     = '\uE566'
	tupletDigit   = '\uE880' // then 1 to 9
	tupletColon   = '\uE88A'
	metronomeBeat = '\uECA5'
)

// Widths of lines in spaces: SMuFL engraving defaults of the font.
const (
	staffLine   = 0.13
	stemLine    = 0.12
	ledgerLine  = 0.16
	ledgerReach = 0.4
	barLine     = 0.16
	thickBar    = 0.5
	tieMiddle   = 0.22
	bracketLine = 0.16
)

// headWidth is the width of a black or half notehead in spaces.
const headWidth = 1.18

// pen draws signs of music on a layer.
type pen struct {
	l    *draw.Layer
	look Look
	sp   float64 // a space
}

func newPen(l *draw.Layer, look Look) *pen { return &pen{l: l, look: look, sp: look.SpaceMM} }

// sign puts a glyph's origin at x, y; scale 1 is the size of the staff.
func (p *pen) sign(x, y float64, r rune, ink draw.Ink, scale float64) *draw.Text {
	t := &draw.Text{At: draw.Point{X: x, Y: y}, Text: string(r), SizeMM: 4 * p.sp * scale, Face: typeface.Music, Ink: ink}
	p.l.Add(t)
	return t
}

// width is how wide a sign is, in millimetres.
func (p *pen) width(r rune) float64 { return typeface.Music.Width(string(r), 4*p.sp) }

func (p *pen) line(x1, y1, x2, y2, spaces float64, ink draw.Ink) {
	p.l.Add((&draw.Path{Stroke: draw.Stroke{Ink: ink, WidthMM: spaces * p.sp}}).Line(x1, y1, x2, y2))
}

// staff draws lines from x0 to x1, the lowest at y: five, or one at y.
func (p *pen) staff(x0, x1, y float64, lines int) {
	path := &draw.Path{Stroke: draw.Stroke{Ink: p.look.Second, WidthMM: staffLine * p.sp}}
	for i := range lines {
		path.Line(x0, y-float64(i)*p.sp, x1, y-float64(i)*p.sp)
	}
	p.l.Add(path)
}

// clef draws a clef on a staff whose lowest line is at y.
func (p *pen) clef(x, y float64, c notation.Clef) {
	if c.Sign == 'F' {
		p.sign(x, y-3*p.sp, [...]rune{fClef15Below, fClef8Below, fClef, fClef8Above, fClef15Above}[c.Octaves+2], p.look.Ink,
			1)
		return
	}
	p.sign(x, y-p.sp, [...]rune{gClef15Below, gClef8Below, gClef, gClef8Above, gClef15Above}[c.Octaves+2], p.look.Ink, 1)
}

// at is the height of a place on a staff whose lowest line is at y.
func (p *pen) at(y float64, place int) float64 { return y - float64(place)*p.sp/2 }

// ledgers draws the ledger lines of a head of the given width at x.
func (p *pen) ledgers(x, y float64, place int, width float64) {
	reach := ledgerReach * p.sp
	for l := -2; l >= place; l -= 2 {
		p.line(x-reach, p.at(y, l), x+width+reach, p.at(y, l), ledgerLine, p.look.Second)
	}
	for l := 10; l <= place; l += 2 {
		p.line(x-reach, p.at(y, l), x+width+reach, p.at(y, l), ledgerLine, p.look.Second)
	}
}

// accidental is the sign for a pitch.
func accidental(p notation.Pitch) rune {
	switch {
	case p.Alter < -1:
		return flat2Sign
	case p.Alter < 0:
		return flatSign
	case p.Alter > 1:
		return sharp2Sign
	case p.Alter > 0:
		return sharpSign
	}
	return naturalSign
}

// text is a line of sans text.
func (p *pen) text(x, y, size float64, s string, ink draw.Ink, a draw.Anchor) *draw.Text {
	t := &draw.Text{At: draw.Point{X: x, Y: y}, Text: s, SizeMM: size, Face: typeface.Sans, Ink: ink, Anchor: a}
	p.l.Add(t)
	return t
}

// head is the notehead of a value.
func head(v notation.Value) rune {
	switch {
	case v.Log < 0:
		return headBreve
	case v.Log == 0:
		return headWhole
	case v.Log == 1:
		return headHalf
	}
	return headBlack
}
