package perform

import (
	"iter"
	"sort"

	"rollwright/exact"
)

// Lattice is where the items of a line stand, exactly: at whole multiples of
// one step, from the voice's start. In seconds, where the line keeps one tempo,
// item n begins at Start + Item(n) * Step * SecondsPerUnit.
type Lattice struct {
	line  *Line
	ruler *counted
}

// Lattice is false for a line whose durations have no common measure that
// whole numbers hold (UnitsExact is false then too).
func (l *Line) Lattice() (Lattice, bool) {
	c, ok := l.ruler.(*counted)
	return Lattice{l, c}, ok
}

// Step is the length of a step in units.
func (t Lattice) Step() exact.Real { return t.ruler.step }

// Length is the written length of the line in steps.
func (t Lattice) Length() int64 { return t.ruler.total }

// Item is where item n begins, in steps; n is from 0 to Items, and the last is
// the end of the line.
func (t Lattice) Item(n int) int64 {
	if t.line.voice.Backward {
		return t.ruler.total - t.ruler.position(t.line.Items-n)
	}
	return t.ruler.position(n)
}

// Note is where note n begins, in steps; n is from 1 to Notes.
func (t Lattice) Note(n int) int64 {
	return t.Item(t.line.performed(t.line.itemOfNote(n)))
}

// Search is the first item that begins at or after place x, in steps; Items
// when there is none. Item(Search(x)) == x says that one begins there.
func (t Lattice) Search(x int64) int {
	if !t.line.voice.Backward {
		return t.ruler.search(x)
	}
	// Item n as performed begins where item Items-n as written does, counted
	// from the end.
	return t.line.Items - t.ruler.searchLast(t.ruler.total-x)
}

// NoteAt is the note that begins at place x, in steps, and false when none
// does.
func (t Lattice) NoteAt(x int64) (note int, ok bool) {
	n := t.Search(x)
	if n >= t.line.Items || t.Item(n) != x {
		return 0, false
	}
	written := t.line.performed(n)
	if t.line.material.silentItem(written) {
		return 0, false
	}
	return t.line.noteNumber(t.line.material.notesBefore(written)), true
}

// Notes are the numbers of the notes, from 1, and where they begin, in steps,
// in the order of performance.
func (t Lattice) Notes() iter.Seq2[int, int64] {
	return func(yield func(int, int64) bool) {
		var places [blockItems]int64
		for n := range t.line.blocks() {
			written := n
			if t.line.voice.Backward {
				written = t.line.blocks() - 1 - n
			}
			if !t.notesOfBlock(written*blockItems, places[:], yield) {
				return
			}
		}
	}
}

func (t Lattice) notesOfBlock(first int, places []int64, yield func(int, int64) bool) bool {
	r := t.ruler.from(first)
	n := min(len(places), t.line.Items-first)
	backward := t.line.voice.Backward
	sounding := make([]bool, n)
	for i := range n {
		places[i] = r.position
		sounding[i], _ = r.next()
		if backward {
			places[i] = t.ruler.total - r.position
		}
	}
	for i := range n {
		j := i
		if backward {
			j = n - 1 - i
		}
		note := t.line.noteNumber(t.line.material.notesBefore(first + j))
		if sounding[j] && !yield(note, places[j]) {
			return false
		}
	}
	return true
}

// Beyond are the notes that would follow the last one if the voice went on,
// numbered on, and where they would begin, in steps from the voice's start. It
// has no end but that of what whole numbers hold. A voice that goes backward
// has nothing beyond its end.
func (t Lattice) Beyond() iter.Seq2[int, int64] {
	return func(yield func(int, int64) bool) {
		if t.line.voice.Backward {
			return
		}
		c := t.ruler
		if c.grows() {
			return // its tables reach no further
		}
		r := c.from(c.items - c.items%blockItems)
		for {
			at, note := r.position, r.note
			sounds, ok := r.next()
			switch {
			case !ok:
				return
			case sounds && r.item > c.items && !yield(note+1, at):
				return
			}
		}
	}
}

// Period is after how many items, and so many steps, the durations of the line
// come again, and whether they do: not where they grow or shrink, nor where a
// silence ahead of the first note would belong to another statement the next
// time. It may be longer than the line.
func (t Lattice) Period() (items int, steps int64, ok bool) {
	l := t.ruler.lengths
	if l.grows() || l.perColor.period() > 1 && l.silent[l.taleaOrder.place(0, 0)] {
		return 0, 0, false
	}
	// A whole number of taleae for the talea's own cycle, and of colores for
	// the color's.
	taleae := int(lcm(int64(max(l.perTalea.period(), 1)), int64(l.taleaOrder.period())))
	if n := l.perColor.period(); n > 1 {
		colores := n * len(l.color) // notes
		taleae = int(lcm(int64(taleae), int64(colores)/gcd(int64(colores), int64(len(l.sounding)))))
	}
	items = taleae * len(l.durations)
	if items > maxPeriod {
		return 0, 0, false
	}
	r := t.ruler.from(0)
	for range items {
		if _, fits := r.next(); !fits {
			return 0, 0, false
		}
	}
	return items, r.position, true
}

// maxPeriod bounds a period that is worth adding up.
const maxPeriod = 20_000_000

func lcm(a, b int64) int64 { return a / gcd(a, b) * b }

// search is the first item as written that begins at or after x.
func (c *counted) search(x int64) int {
	return c.find(func(position int64) bool { return position >= x })
}

// searchLast is the last item as written, or the end, that begins at or before
// x; 0 when x is before the first.
func (c *counted) searchLast(x int64) int {
	n := c.find(func(position int64) bool { return position > x })
	if n == c.items && c.total <= x {
		return n
	}
	return max(n-1, 0)
}

// find is the first item whose position passes; items when none does.
func (c *counted) find(passes func(position int64) bool) int {
	block := sort.Search(len(c.marks), func(i int) bool { return passes(c.marks[i]) })
	if block == 0 {
		return 0
	}
	r := c.from((block - 1) * blockItems)
	for r.item < c.items && !passes(r.position) {
		r.next()
	}
	return r.item
}
