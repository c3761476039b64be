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
	color     []*pitch    // rotated; notes that are alike share one
	taleaTurn int         // place 0 is this member of the talea as written
	colorTurn int

	taleaOrder, colorOrder order // of the members within each statement
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
	c.taleaOrder = newOrder(&v.PerTalea, len(c.durations))
	c.colorOrder = newOrder(&v.PerColor, len(v.Color))
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
	return n/size*len(c.sounding) + c.soundingIn(n/size, n%size)
}

// silentItem reports whether item n, from 0, is silent.
func (c *cycles) silentItem(n int) bool {
	size := len(c.durations)
	return c.silent[c.taleaOrder.place(n/size, n%size)]
}

// soundingIn is how many of the first n items of a statement of the talea sound.
func (c *cycles) soundingIn(statement, n int) int {
	if n == 0 || c.taleaOrder.plain() {
		return c.before[n]
	}
	turn, back := c.taleaOrder.of(statement)
	if back {
		return len(c.sounding) - c.soundingFrom(turn, len(c.durations)-n)
	}
	return c.soundingFrom(turn, n)
}

// soundingFrom is how many of n places from the one at turn on sound, the talea being a
// ring.
func (c *cycles) soundingFrom(turn, n int) int {
	size := len(c.durations)
	if turn+n <= size {
		return c.before[turn+n] - c.before[turn]
	}
	return len(c.sounding) - c.before[turn] + c.before[turn+n-size]
}

// itemOf is the item that note n is, both from 0.
func (c *cycles) itemOf(n int) int {
	statement, rest := n/len(c.sounding), n%len(c.sounding)
	first := statement * len(c.durations)
	if c.taleaOrder.plain() {
		return first + c.sounding[rest]
	}
	turn, back := c.taleaOrder.of(statement)
	if back {
		return first + len(c.durations) - 1 - c.placeFrom(turn, len(c.sounding)-1-rest)
	}
	return first + c.placeFrom(turn, rest)
}

// placeFrom is how many places after the one at turn the sounding place number n lies.
func (c *cycles) placeFrom(turn, n int) int {
	place := c.sounding[(c.before[turn]+n)%len(c.sounding)] - turn
	if place < 0 {
		place += len(c.durations)
	}
	return place
}

// walk is a walk over the items of a voice in the order in which they are
// made, before backward.
type walk struct {
	*cycles
	place     int // in the talea, rotated: of the item that comes next, or has been entered
	statement int // of the talea
	note      int // notes so far, this item included
	member    int // in the color, rotated: of this note, or of the note before a silence; -1 before the first note
	color     int // statement of the color to which this item belongs

	item, pitch int // places in the statements, before what turns these round
}

// walkFrom stands before item n: enter comes next.
func (c *cycles) walkFrom(n int) walk {
	w := walk{cycles: c, item: n % len(c.durations), statement: n / len(c.durations)}
	w.place = c.taleaOrder.place(w.statement, w.item)
	w.note = c.notesBefore(n)
	w.pitch, w.member = -1, -1
	if w.note > 0 {
		w.color, w.pitch = (w.note-1)/len(c.color), (w.note-1)%len(c.color)
		w.member = c.colorOrder.place(w.color, w.pitch)
	}
	return w
}

// enter counts the item at the walk's place and reports whether it sounds.
func (w *walk) enter() bool {
	if w.silent[w.place] {
		return false
	}
	w.note++
	if w.pitch++; w.pitch == len(w.cycles.color) {
		w.pitch = 0
		w.color++
	}
	w.member = w.pitch
	if !w.colorOrder.plain() {
		w.member = w.colorOrder.place(w.color, w.pitch)
	}
	return true
}

// leave goes on to the next item.
func (w *walk) leave() {
	if w.item++; w.item == len(w.durations) {
		w.item = 0
		w.statement++
	}
	w.place = w.item
	if !w.taleaOrder.plain() {
		w.place = w.taleaOrder.place(w.statement, w.item)
	}
}
