package perform

import (
	"rollwright/exact"
	"rollwright/music/piece"
)

// cycles are the cycles of a voice, rotated, with what it takes to find the
// way in them without counting through.
type cycles struct {
	durations []exact.Rat // of the talea, rotated
	silent    []bool      // likewise
	sounding  []int       // places of the talea that sound, ascending
	before    []int       // before[i]: how many sounding places lie ahead of place i; one more than places
	color     []pitch     // rotated
	taleaTurn int         // place 0 is this member of the talea as written
	colorTurn int
}

func newCycles(v *piece.Voice) *cycles {
	c := &cycles{
		taleaTurn: turn(v.RotateTalea, len(v.Talea)),
		colorTurn: turn(v.RotateColor, len(v.Color)),
		durations: make([]exact.Rat, 0, len(v.Talea)),
		silent:    make([]bool, 0, len(v.Talea)),
		sounding:  make([]int, 0, len(v.Talea)),
		before:    make([]int, 0, len(v.Talea)+1),
	}
	for i := range v.Talea {
		d := v.Talea[(i+c.taleaTurn)%len(v.Talea)]
		c.durations = append(c.durations, d.Units)
		c.silent = append(c.silent, d.Silent)
		c.before = append(c.before, len(c.sounding))
		if !d.Silent {
			c.sounding = append(c.sounding, i)
		}
	}
	c.before = append(c.before, len(c.sounding))
	return c
}

// turn is the member that a cycle of n begins with when rotated by r, which
// may be negative or beyond n.
func turn(r, n int) int { return ((r % n) + n) % n }

// taleaPlace is the place in the talea as written of place i as rotated.
func (c *cycles) taleaPlace(i int) int { return (i + c.taleaTurn) % len(c.durations) }

// colorPlace is the same for the color.
func (c *cycles) colorPlace(i int) int { return (i + c.colorTurn) % len(c.color) }

// notesBefore is how many notes sound before item n, from 0.
func (c *cycles) notesBefore(n int) int {
	size := len(c.durations)
	return n/size*len(c.sounding) + c.before[n%size]
}

// itemOf is the item that note n is, both from 0.
func (c *cycles) itemOf(n int) int {
	return n/len(c.sounding)*len(c.durations) + c.sounding[n%len(c.sounding)]
}

// walk is a walk over the items of a voice in the order in which they are
// made, before backward.
type walk struct {
	*cycles
	place     int // in the talea, rotated
	statement int // of the talea
	note      int // notes so far, this item included
	member    int // in the color, rotated: of this note, or of the note before a silence; -1 before the first note
	color     int // statement of the color to which this item belongs
}

// walkFrom stands before item n: enter comes next.
func (c *cycles) walkFrom(n int) walk {
	w := walk{cycles: c, place: n % len(c.durations), statement: n / len(c.durations)}
	w.note = c.notesBefore(n)
	w.member = -1
	if w.note > 0 {
		w.color, w.member = (w.note-1)/len(c.color), (w.note-1)%len(c.color)
	}
	return w
}

// enter counts the item at the walk's place and reports whether it sounds.
func (w *walk) enter() bool {
	if w.silent[w.place] {
		return false
	}
	w.note++
	if w.member++; w.member == len(w.cycles.color) {
		w.member = 0
		w.color++
	}
	return true
}

// leave goes on to the next item.
func (w *walk) leave() {
	if w.place++; w.place == len(w.durations) {
		w.place = 0
		w.statement++
	}
}
