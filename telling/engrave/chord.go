package engrave

import (
	"math"
	"slices"

	"rollwright/draw"
	"rollwright/music/notation"
)

// placed is a pitch on a staff.
type placed struct {
	pitch notation.Pitch
	place int
	sign  rune    // accidental; 0: none
	shift float64 // of the head, in head widths: seconds stand side by side
	x, y  float64 // of the head's origin, once it is drawn
	accX  float64 // of the accidental, relative to the chord
}

// chord is notes on one staff with one stem.
type chord struct {
	notes   []placed // from the lowest
	up      bool     // stem
	strokes int      // of a note that is repeated
	spread  bool     // a wave stands ahead of it
	reach   float64  // how far its accidentals reach to the left, mm
	beamed  bool     // its stem ends at a beam, at the height end, and has no flag
	end     float64
}

// newChord puts pitches on a staff; needs says which carry their accidental.
func newChord(clef notation.Clef, pitches []notation.Pitch, needs func(notation.Pitch) bool) *chord {
	c := &chord{}
	for _, p := range pitches {
		n := placed{pitch: p, place: clef.Place(p)}
		if needs(p) {
			n.sign = accidental(p)
		}
		c.notes = append(c.notes, n)
	}
	slices.SortStableFunc(c.notes, func(a, b placed) int { return a.place - b.place })
	if len(c.notes) == 0 {
		return c
	}
	// The stem points to the middle line from the note that is farthest from it.
	low, high := c.notes[0].place, c.notes[len(c.notes)-1].place
	c.up = 4-low > high-4
	c.seconds()
	return c
}

// seconds moves every other head of neighbouring places to the other side of
// the stem, counted from the end where the stem begins.
func (c *chord) seconds() {
	order := make([]int, len(c.notes))
	for i := range order {
		order[i] = i
		if !c.up {
			order[i] = len(c.notes) - 1 - i
		}
	}
	for k := 1; k < len(order); k++ {
		a, b := &c.notes[order[k-1]], &c.notes[order[k]]
		if d := b.place - a.place; (d == 1 || d == -1 || d == 0) && a.shift == 0 {
			b.shift = 1
			if !c.up {
				b.shift = -1
			}
		}
	}
}

// point lets heads stand as for a stem that points up, or down.
func (c *chord) point(up bool) {
	c.up = up
	for i := range c.notes {
		c.notes[i].shift = 0
	}
	c.seconds()
}

// left is how far the chord reaches to the left of its head column, in mm, and
// puts its accidentals in columns: a sign takes three spaces of height.
func (c *chord) left(p *pen) float64 {
	reach := 0.0
	for _, n := range c.notes {
		if n.shift < 0 {
			reach = headWidth * p.sp
		}
	}
	widest := reach
	var columns [][]int // places of the signs in each column
	for i := len(c.notes) - 1; i >= 0; i-- {
		n := &c.notes[i]
		if n.sign == 0 {
			continue
		}
		k := 0
		for ; k < len(columns); k++ {
			if lowest := columns[k][len(columns[k])-1]; lowest-n.place >= 6 { // notes go down
				break
			}
		}
		if k == len(columns) {
			columns = append(columns, nil)
		}
		columns[k] = append(columns[k], n.place)
		w := p.width(n.sign)
		n.accX = -reach - 0.25*p.sp - w - float64(k)*(w+0.15*p.sp)
		widest = max(widest, -n.accX)
	}
	c.reach = widest
	if c.spread {
		widest += spreadRoom * p.sp
	}
	return widest
}

// draw draws heads, stem, flag, dots, accidentals and strokes of a value; x is the
// left of the head column, y the lowest line of the staff. It returns how far the
// stem, heads or strokes reach upwards and downwards, as heights on the drawing.
func (c *chord) draw(p *pen, x, y float64, v notation.Value, stem bool) (top, bottom float64) {
	if len(c.notes) == 0 {
		return y - 4*p.sp, y
	}
	sign := head(v)
	w := p.width(sign)
	top, bottom = math.Inf(1), math.Inf(-1)
	for i := range c.notes {
		n := &c.notes[i]
		n.x, n.y = x+n.shift*w, p.at(y, n.place)
		p.ledgers(n.x, y, n.place, w)
		p.sign(n.x, n.y, sign, p.look.Ink, 1)
		if n.sign != 0 {
			p.sign(x+n.accX, n.y, n.sign, p.look.Ink, 1)
		}
		top, bottom = min(top, n.y-p.sp/2), max(bottom, n.y+p.sp/2)
	}
	c.dots(p, x, y, w, v, stem && v.Log >= 3 && !c.beamed)
	if c.spread {
		p.wave(x-c.reach-spreadRoom*p.sp/2, top+p.sp/2, bottom-p.sp/2)
	}
	if stem && v.Log >= 1 {
		end := c.stem(p, x, y, w, v)
		return min(top, end), max(bottom, end)
	}
	if c.strokes > 0 {
		p.strokes(x+w/2, top-strokesHigh(c.strokes)*p.sp/2-0.4*p.sp, c.strokes)
		top -= (strokesHigh(c.strokes) + 0.4) * p.sp
	}
	return top, bottom
}

// dots draws the dots of a chord in one column behind its heads, and behind the
// flag where that hangs beside them. Each stands in a space of its own: a note on a
// line takes the space above it, or the one below where that has a dot; a space is
// never dotted twice.
func (c *chord) dots(p *pen, x, y, w float64, v notation.Value, flag bool) {
	if v.Dots == 0 {
		return
	}
	beside := x + w
	for _, n := range c.notes {
		beside = max(beside, n.x+w)
	}
	if flag && c.up {
		beside = max(beside, x+w+0.75*p.sp)
	}
	taken := map[int]bool{}
	for i := len(c.notes) - 1; i >= 0; i-- {
		space := c.notes[i].place
		if space%2 == 0 {
			if space++; taken[space] {
				space -= 2
			}
		}
		if taken[space] {
			continue
		}
		taken[space] = true
		for k := range v.Dots {
			p.sign(beside+(0.35+0.6*float64(k))*p.sp, p.at(y, space), dot, p.look.Ink, 1)
		}
	}
}

// Strokes through a stem, in spaces: how thick, how wide, how far apart, and how
// much their right end lies higher (common practice, no source).
const (
	strokeThick = 0.45
	strokeWide  = 1.1
	strokeApart = 0.75
	strokeRise  = 0.35
)

// strokesHigh is how high so many strokes are, in spaces.
func strokesHigh(n int) float64 { return strokeApart*float64(n-1) + strokeThick + strokeRise }

// strokes draws the strokes of a repeated note around x, y.
func (p *pen) strokes(x, y float64, n int) {
	path := &draw.Path{Fill: p.look.Ink}
	half, thick, rise := strokeWide*p.sp/2, strokeThick*p.sp/2, strokeRise*p.sp/2
	for i := range n {
		at := y + (float64(i)-float64(n-1)/2)*strokeApart*p.sp
		path.Polygon(draw.Point{X: x - half, Y: at + rise - thick}, draw.Point{X: x + half, Y: at - rise - thick},
			draw.Point{X: x + half, Y: at - rise + thick}, draw.Point{X: x - half, Y: at + rise + thick})
	}
	p.l.Add(path)
}

// stem draws the stem, three and a half spaces beyond the last head and to the
// middle line at least, with the value's flag and strokes, and returns its end.
func (c *chord) stem(p *pen, x, y, w float64, v notation.Value) float64 {
	low, high := p.at(y, c.notes[0].place), p.at(y, c.notes[len(c.notes)-1].place)
	length := 3.5 * p.sp
	if v.Log > 4 {
		length += float64(v.Log-4) * 0.7 * p.sp // room for more flags
	}
	if c.strokes > 0 && v.Log >= 3 {
		length += 2.4 * p.sp // strokes stand between head and flag
	}
	from := 0.7*p.sp + strokesHigh(c.strokes)*p.sp/2 // the middle of the strokes, from the last head
	middle := p.at(y, 4)
	flags := flag8Up + rune(2*(v.Log-3))
	if c.up {
		end := min(high-length, middle)
		if c.beamed {
			end = c.end
		}
		at := x + w - stemLine*p.sp/2
		p.line(at, low-0.168*p.sp, at, end, stemLine, p.look.Ink)
		if c.strokes > 0 {
			p.strokes(at, high-from, c.strokes)
		}
		if v.Log >= 3 && !c.beamed {
			p.sign(at-stemLine*p.sp/2, end, flags, p.look.Ink, 1)
		}
		return end
	}
	end := max(low+length, middle)
	if c.beamed {
		end = c.end
	}
	at := x + stemLine*p.sp/2
	p.line(at, high+0.168*p.sp, at, end, stemLine, p.look.Ink)
	if c.strokes > 0 {
		p.strokes(at, low+from, c.strokes)
	}
	if v.Log >= 3 && !c.beamed {
		p.sign(at-stemLine*p.sp/2, end, flags+1, p.look.Ink, 1)
	}
	return end
}

// tie draws a tie from one place to another at the height of a head; below
// bends it downward.
func (p *pen) tie(x0, x1, y float64, below bool) {
	bend := -1.0
	if below {
		bend = 1
	}
	y += bend * 0.75 * p.sp
	h := bend * min(1.1*p.sp, 0.25*(x1-x0)+0.2*p.sp)
	thick := bend * tieMiddle * p.sp
	third := (x1 - x0) / 3
	path := &draw.Path{Fill: p.look.Ink}
	path.MoveTo(x0, y).CurveTo(x0+third*0.8, y+h, x1-third*0.8, y+h, x1, y).CurveTo(x1-third*0.8, y+h+thick, x0+third*0.8,
		y+h+thick, x0, y).Close()
	p.l.Add(path)
}

// rest draws the rest of a value around the middle of a staff of five lines, or
// on a single line.
func (p *pen) rest(x, y float64, v notation.Value, lines int) {
	middle := y
	if lines == 5 {
		middle = y - 2*p.sp
	}
	at := middle
	if v.Log == 0 && lines == 5 {
		at -= p.sp // the whole rest hangs from the line above
	}
	sign := restBreve + rune(v.Log+1)
	p.sign(x, at, sign, p.look.Ink, 1)
	for i := range v.Dots {
		p.sign(x+p.width(sign)+(0.35+0.6*float64(i))*p.sp, middle-p.sp/2, dot, p.look.Ink, 1)
	}
}
