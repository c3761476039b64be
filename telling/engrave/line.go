package engrave

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/notation"
	"rollwright/music/piece"
)

// Manner is what of a part is drawn.
type Manner int8

// The manners of drawing.
const (
	Pitches Manner = iota // heads without values, evenly spaced
	Rhythm                // values on a single line
	Music                 // notes with pitches and values, in bars
)

// Line is a stretch of a part to be drawn.
type Line struct {
	Part   *notation.Part
	Manner Manner
	Bars   []notation.Bar
	Labels bool // number the bars, and the statements of the color where they begin
}

// cell is what stands in one column: a value of a note.
type cell struct {
	note    *notation.Note
	value   notation.Value
	index   int  // of the value in the note
	last    bool // of the note
	bar     *notation.Bar
	opens   bool // the first of its bar
	closes  bool // the last of its bar
	bracket notation.Bracket
	beam    notation.Beam
	metre   notation.Metre // a time signature ahead of the note
	grace   []*grace       // ahead of the note, stroke by stroke
	chords  []*chord       // one a staff
	left    float64        // what stands ahead of the heads
	width   float64        // ahead, heads and space after them
}

// lineWriter draws a Line.
type lineWriter struct {
	*pen
	line   *Line
	staves []notation.Clef
	lines  int     // of a staff
	indent float64 // clefs
	above  float64 // from the top of a system to the top line of its first staff
	gap    float64 // from the lowest line of a staff to the top line of the next
	below  float64 // from the lowest line of the last staff to the end of the system
}

// Draw draws the line from x, y (its upper left corner) in systems of at most
// the given width and returns how high it is. Maximum is how many systems are
// drawn, 0 for all; whether something was left out is told by rest.
func Draw(l *draw.Layer, line *Line, look Look, x, y, width float64, maximum int) (height float64, rest bool) {
	w := &lineWriter{pen: newPen(l, look), line: line, staves: line.Part.Staves, lines: 5}
	if line.Manner == Rhythm {
		w.staves, w.lines = []notation.Clef{{Sign: 'G'}}, 1
	}
	cells := w.cells()
	w.measure(cells)
	systems := w.systems(cells, width)
	for i, s := range systems {
		if maximum > 0 && i == maximum {
			return height, true
		}
		end := width
		full := i+1 < len(systems)
		w.system(s, x, y+height, end, full)
		height += w.height()
	}
	return height, false
}

// cells are the columns in order.
func (w *lineWriter) cells() []cell {
	var cells []cell
	var held notation.Accidentals
	var metre notation.Metre
	for i := range w.line.Bars {
		bar := &w.line.Bars[i]
		brackets, beams := bar.Brackets(), bar.Beams()
		held.NewBar()
		for k := range bar.Notes {
			n := &bar.Notes[k]
			values := n.Values
			if w.line.Manner == Pitches {
				values = []notation.Value{{Log: 2, Actual: 1, Normal: 1}}
			}
			for j, v := range values {
				c := cell{note: n, value: v, index: j, last: j+1 == len(values), bar: bar, opens: k == 0 && j == 0,
					closes: k+1 == len(bar.Notes) && j+1 == len(values)}
				if w.line.Manner != Pitches {
					c.bracket, c.beam = brackets[k][j], beams[k][j]
				}
				if w.line.Manner == Music && c.opens && bar.Metre != metre {
					metre, c.metre = bar.Metre, bar.Metre
				}
				if j == 0 {
					c.grace = w.graceOf(n, &held)
				}
				c.chords = w.chords(n, &held, j == 0)
				cells = append(cells, c)
			}
		}
	}
	w.oneWay(cells)
	for i := range cells {
		w.size(&cells[i])
	}
	return cells
}

// chords are the note's pitches on each staff; accidentals are shown where the
// note begins.
func (w *lineWriter) chords(n *notation.Note, held *notation.Accidentals, begins bool) []*chord {
	if n.Rest() {
		return make([]*chord, len(w.staves))
	}
	if w.line.Manner == Rhythm {
		c := &chord{notes: []placed{{place: 0}}, up: true}
		return []*chord{c}
	}
	pitches := make([][]notation.Pitch, len(w.staves))
	begins = begins && !n.Back
	for _, p := range n.Pitches {
		s := w.line.Part.Staff(p)
		pitches[s] = append(pitches[s], p)
	}
	out := make([]*chord, len(w.staves))
	for s := range out {
		if len(pitches[s]) > 0 {
			out[s] = newChord(w.staves[s], pitches[s], func(p notation.Pitch) bool { return begins && held.Needs(p) })
			switch {
			case n.Gesture == piece.Repeat:
				out[s].strokes = repeatStrokes
			case n.Gesture == piece.Spread && begins:
				out[s].spread = true
			}
		}
	}
	return out
}

// size gives a cell its width: what it needs, and space that grows with the
// logarithm of its length.
func (w *lineWriter) size(c *cell) {
	for _, ch := range c.chords {
		if ch != nil {
			c.left = max(c.left, ch.left(w.pen))
		}
	}
	for i := len(c.grace) - 1; i >= 0; i-- {
		c.left += c.grace[i].room(w.pen)
		c.grace[i].left = c.left
	}
	after := 2.4 * w.sp
	if w.line.Manner != Pitches {
		after = (1.3 + 0.75*max(0, math.Log2(c.value.Length().Float64()*64))) * w.sp
	}
	if c.index == 0 && c.note.Gesture == piece.Gliss && w.line.Manner != Rhythm { // the word ends ahead of the next note
		after = max(after, typeface.Sans.Width(glissWord, w.look.small())-headWidth*w.sp+0.6*w.sp)
	}
	c.left += 0.3 * w.sp
	if c.opens && w.line.Manner == Music {
		c.left += 0.9*w.sp + w.metreWidth(c.metre)
	}
	c.width = c.left + headWidth*w.sp + after + 0.6*float64(c.value.Dots)*w.sp
}

// measure finds how much room systems need above, between and below staves.
func (w *lineWriter) measure(cells []cell) {
	top, bottom := make([]int, len(w.staves)), make([]int, len(w.staves))
	for s := range w.staves {
		top[s] = 8
	}
	brackets, signs := false, false
	for _, c := range cells {
		brackets = brackets || c.bracket.Starts
		signs = signs || w.line.Manner != Rhythm && (c.note.Gesture == piece.Trill || c.note.Gesture == piece.Gliss)
		for s, ch := range c.chords {
			if ch == nil {
				continue
			}
			for _, n := range ch.notes {
				high, low := n.place+2, n.place-2
				if w.line.Manner == Music && ch.up {
					high = n.place + 8
				} else if w.line.Manner == Music {
					low = n.place - 8
				}
				if c.beam.Before > 0 || c.beam.After > 0 { // a beam takes stems farther
					high, low = high+2, low-2
				}
				if ch.strokes > 0 && w.line.Manner == Music { // a longer stem, or strokes above the head
					high, low = high+5, low-5
				} else if ch.strokes > 0 {
					high += 6
				}
				top[s], bottom[s] = max(top[s], high), min(bottom[s], low)
			}
			for _, g := range c.grace {
				for _, h := range g.heads {
					if h.staff == s {
						top[s], bottom[s] = max(top[s], h.place+6), min(bottom[s], h.place-2)
					}
				}
			}
		}
	}
	half := w.sp / 2
	if w.lines == 1 {
		w.above, w.below = 4.4*w.sp, 1.6*w.sp
	} else {
		clef := 1.5 * w.sp // what a clef takes above a staff
		if w.staves[0].Octaves > 0 {
			clef = 3.2 * w.sp
		}
		w.above = max(clef, float64(top[0]-8)*half+0.6*w.sp)
		w.below = max(1.7*w.sp, float64(-bottom[len(bottom)-1])*half+0.6*w.sp)
		if len(w.staves) == 2 {
			w.gap = max(3.2*w.sp, float64(-bottom[0]+top[1]-8)*half*0.7+w.sp)
		}
	}
	if brackets {
		w.above += 2 * w.sp
	}
	if signs {
		w.above += 2 * w.sp
		if len(w.staves) == 2 {
			w.gap += 1.5 * w.sp
		}
	}
	if w.line.Labels {
		w.above += w.look.small() * 1.3
		w.below += w.look.small() * 1.5
	}
	w.indent = 0.5 * w.sp
	if w.lines == 5 {
		w.indent = 3.9 * w.sp
	}
}

func (w *lineWriter) height() float64 {
	n := float64(len(w.staves))
	return w.above + n*float64(w.lines-1)*w.sp + (n-1)*w.gap + w.below
}

// staffY is the lowest line of staff s of a system whose top is at y.
func (w *lineWriter) staffY(y float64, s int) float64 {
	return y + w.above + float64(w.lines-1)*w.sp + float64(s)*(float64(w.lines-1)*w.sp+w.gap)
}

// systems breaks the columns into systems no wider than width.
func (w *lineWriter) systems(cells []cell, width float64) [][]cell {
	var out [][]cell
	from, x := 0, w.indent
	for i, c := range cells {
		if x+c.width > width && i > from {
			// Rather break where a bar begins, when that is not far back.
			at := i
			for k := i; k > from+(i-from)*2/3; k-- {
				if cells[k].opens {
					at = k
					break
				}
			}
			out = append(out, cells[from:at])
			from, x = at, w.indent
			for _, d := range cells[at:i] {
				x += d.width
			}
		}
		x += c.width
	}
	return append(out, cells[from:])
}

// held is a head that a tie goes on from.
type held struct {
	x, y  float64
	below bool
}

// system draws columns from x; full ones are stretched to the width.
func (w *lineWriter) system(cells []cell, x, y, width float64, full bool) {
	natural := w.indent
	for _, c := range cells {
		natural += c.width
	}
	stretch := 0.0 // added to every column
	if full && len(cells) > 0 {
		stretch = min((width-natural)/float64(len(cells)), 3*w.sp)
	}
	end := x + natural + stretch*float64(len(cells))
	for s, clef := range w.staves {
		w.staff(x, end, w.staffY(y, s), w.lines)
		if w.lines == 5 {
			w.clef(x+0.5*w.sp, w.staffY(y, s), clef)
		}
	}
	top, bottom := w.staffY(y, 0)-float64(w.lines-1)*w.sp, w.staffY(y, len(w.staves)-1)
	if len(w.staves) > 1 {
		w.upright(x, top, bottom, barLine)
	}
	ties := map[int]held{}
	at := x + w.indent
	heads := make([]float64, len(cells))
	for i := range cells {
		heads[i] = at + cells[i].left
		at += cells[i].width + stretch
	}
	for _, r := range w.runs(cells) {
		w.beams(cells, w.under(cells, r, heads, w.staffY(y, r.staff)))
	}
	at = x + w.indent
	var open *bracketSpan
	for i := range cells {
		c := &cells[i]
		if c.opens && w.line.Manner == Music {
			w.bar(c, at, top, bottom, i == 0)
			if c.metre.Value > 0 {
				for s := range w.staves {
					w.metre(at+0.9*w.sp, w.staffY(y, s), c.metre)
				}
			}
		}
		high := w.cell(c, at+c.left, y, ties)
		at += c.width + stretch
		open = w.brackets(c, open, at-stretch-c.width+c.left, high, top)
	}
	if open != nil {
		w.bracket(open)
	}
	if w.line.Manner == Music && len(cells) > 0 && cells[len(cells)-1].closes {
		w.closing(cells[len(cells)-1].bar, end, top, bottom)
	}
	for _, key := range slices.Sorted(maps.Keys(ties)) { // ties that go on in the next system
		t := ties[key]
		w.tie(t.x, end, t.y, t.below)
	}
}

func (w *lineWriter) upright(x, top, bottom, width float64) {
	w.pen.line(x, top, x, bottom, width, w.look.Ink)
}

// bar draws a bar line ahead of the first column of a bar, and its number.
func (w *lineWriter) bar(c *cell, x, top, bottom float64, first bool) {
	if !first {
		w.upright(x, top, bottom, barLine)
	}
	if w.line.Labels {
		t := w.text(x, top-(w.above-w.look.small()*1.1), w.look.small(), strconv.Itoa(c.bar.Number), w.look.Second,
			draw.Start)
		t.ID = fmt.Sprintf("bar-%d", c.bar.Number)
	}
}

// closing draws the line at the end of a bar that ends a system: thin and thick
// at the end of the part.
func (w *lineWriter) closing(b *notation.Bar, x, top, bottom float64) {
	all := w.line.Part.Bars
	if len(all) > 0 && b.Number == all[len(all)-1].Number && b.Given == all[len(all)-1].Given {
		w.upright(x-0.9*w.sp, top, bottom, barLine)
		w.upright(x-thickBar*w.sp/2, top, bottom, thickBar)
		return
	}
	w.upright(x, top, bottom, barLine)
}

// cell draws a column whose heads are at x and returns how high it reaches.
func (w *lineWriter) cell(c *cell, x, y float64, ties map[int]held) (high float64) {
	high = w.staffY(y, 0) - float64(w.lines-1)*w.sp
	over := 0.0 // where signs above the note stand
	if c.note.Rest() {
		if w.line.Manner != Pitches {
			w.rest(x, w.staffY(y, 0), c.value, w.lines)
		}
		return high
	}
	for _, g := range c.grace {
		g.draw(w, x-g.left, y)
	}
	for s, ch := range c.chords {
		if ch == nil {
			continue
		}
		top, _ := ch.draw(w.pen, x, w.staffY(y, s), c.value, w.line.Manner != Pitches)
		if s == 0 {
			high = min(high, top)
		}
		if over == 0 {
			over = min(top, w.staffY(y, s)-4*w.sp)
		}
		for i := range ch.notes {
			n := &ch.notes[i]
			key := s*1000 + n.place
			goesOn := c.index > 0 || c.note.Back && w.line.Manner == Music
			if t, ok := ties[key]; ok && goesOn {
				w.tie(t.x, n.x-0.1*w.sp, n.y, ch.up)
				delete(ties, key)
			} else if goesOn {
				w.tie(n.x-1.6*w.sp, n.x-0.1*w.sp, n.y, ch.up) // from the system before
			}
			if !c.last || c.note.On && w.line.Manner == Music {
				ties[key] = held{n.x + (headWidth+0.1)*w.sp, n.y, ch.up}
			}
		}
	}
	w.signs(c, x, y, over)
	return high
}

// bracketSpan is a bracket of a tuplet while it is open.
type bracketSpan struct {
	from, to, high float64
	value          notation.Value
}

// brackets opens, widens and closes the bracket at a column.
func (w *lineWriter) brackets(c *cell, open *bracketSpan, x, high, top float64) *bracketSpan {
	if !c.value.Tuplet() {
		return open
	}
	if c.bracket.Starts || open == nil {
		open = &bracketSpan{from: x, high: top - 0.4*w.sp, value: c.value}
	}
	open.to, open.high = x+headWidth*w.sp, min(open.high, high)
	if c.bracket.Stops {
		w.bracket(open)
		return nil
	}
	return open
}

// bracket draws the bracket with its ratio: 3, or 5:4.
func (w *lineWriter) bracket(b *bracketSpan) {
	y := b.high - 1.5*w.sp
	text := ""
	for _, d := range strconv.Itoa(b.value.Actual) {
		text += string(tupletDigit + d - '0')
	}
	if b.value.Actual != 3 {
		text += string(tupletColon)
		for _, d := range strconv.Itoa(b.value.Normal) {
			text += string(tupletDigit + d - '0')
		}
	}
	size := 4 * w.sp * 0.8
	half := typeface.Music.Width(text, size) / 2
	middle := (b.from + b.to) / 2
	w.l.Add(&draw.Text{At: draw.Point{X: middle, Y: y + 0.5*w.sp}, Text: text, SizeMM: size, Face: typeface.Music,
		Ink: w.look.Ink, Anchor: draw.Middle})
	if b.to-b.from < 2*half+2*w.sp {
		return
	}
	for _, side := range [][2]float64{{b.from, middle - half - 0.4*w.sp}, {b.to, middle + half + 0.4*w.sp}} {
		w.pen.line(side[0], y, side[1], y, bracketLine, w.look.Ink)
		w.pen.line(side[0], y, side[0], y+0.7*w.sp, bracketLine, w.look.Ink)
	}
}

// Tempo draws a metronome mark, a quarter note with its number a minute, at x on
// the baseline y, and returns how wide it is.
func Tempo(l *draw.Layer, look Look, x, y float64, text string) float64 {
	p := newPen(l, look)
	p.sign(x, y, metronomeBeat, look.Ink, 0.62)
	at := x + typeface.Music.Width(string(rune(metronomeBeat)), 4*p.sp*0.62) + 0.5*p.sp
	t := p.text(at, y, look.small(), text, look.Ink, draw.Start)
	return at + t.WidthMM() - x
}
