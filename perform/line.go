package perform

import (
	"iter"
	"slices"

	"rollwright/exact"
	"rollwright/piece"
	"rollwright/tempo"
)

// Line is one voice as performed: how much of it there is, how fast and when.
// Its items are found on demand; a Line may be read by several goroutines.
type Line struct {
	Voice  int // index into piece.Piece.Voices
	Items  int // sounding and silent
	Notes  int // sounding items
	Events int // strokes of keys: chord tones and strokes of gestures counted one by one

	Taleae  Statements // of the talea
	Colores Statements // of the color

	Units      exact.Sum // written length, silences included; when UnitsExact
	UnitsExact bool      // false where durations have no common measure that whole numbers hold
	Length     float64   // the same, nearest

	Path       *tempo.Path // seconds from the voice's start, the voice's speed and lasts included
	Speed      exact.Real  // of the voice; where SpeedExact is false within 2^-100 of what lasts asks for
	SpeedExact bool

	Start      exact.Sum // of the first item in seconds of the piece, after the shift; when StartExact
	StartExact bool
	StartSec   float64 // the same, nearest
	EndSec     float64 // of the last written duration, held sound not counted

	// Placed is Start before the whole piece was moved: as times in the file
	// are counted. The distance between two lines is the difference of either.
	Placed      exact.Sum
	PlacedExact bool

	voice    *piece.Voice
	material *material
	ruler    ruler
	clock    clock
	length   amount // units
	lengthDD dd
	placed   amount // seconds, before the shift
	start    dd     // seconds, after it
}

// Statements counts the times through a cycle.
type Statements struct {
	Whole, Begun int
}

func statements(n, size int) Statements { return Statements{n / size, (n + size - 1) / size} }

// Item is a member of the talea as performed.
type Item struct {
	N          int     // from 0, in the order of performance
	Note       int     // counts the sounding items from 1; 0: silent
	Silent     bool    // Note is 0
	At, Units  float64 // where it begins and its written duration, in units from the voice's start
	StartSec   float64 // written start and end, in seconds of the piece
	EndSec     float64
	Talea      int // statement of the talea, from 0, in the order of writing
	Color      int // statement of the color; that of the note before for a silence
	TaleaPlace int // index into piece.Voice.Talea
	ColorPlace int // index into piece.Voice.Color; -1: silent
	Level      int // 1 to 127; 0: silent
}

// All are the items from first to last, in the order of performance.
func (l *Line) All() iter.Seq[Item] {
	return func(yield func(Item) bool) {
		var cells []cell
		for block := range l.blocks() {
			cells = l.load(block, cells)
			for i := range cells {
				if !yield(l.item(&cells[i])) {
					return
				}
			}
		}
	}
}

// Item is item n, from 0 to Items-1, in the order of performance.
func (l *Line) Item(n int) Item {
	n = l.performed(n)
	cells := l.loadWritten(n-n%blockItems, nil)
	return l.item(&cells[n%blockItems])
}

// Keys appends the keys that item sounds to keys, ascending, each once; none
// for a silence.
func (l *Line) Keys(it Item, keys []int) []int {
	if it.Silent {
		return keys
	}
	member := turn(it.ColorPlace-l.material.colorTurn, len(l.material.color))
	return l.material.soundingKeys(keys, member, it.Color, it.Talea)
}

// SecondsPerUnit is the exact duration of a unit, when the line keeps one
// tempo and its speed is known exactly.
func (l *Line) SecondsPerUnit() (exact.Real, bool) {
	return l.clock.perUnit, l.clock.constant && l.SpeedExact
}

func (l *Line) item(c *cell) Item {
	it := Item{
		N: l.performed(int(c.item)), Silent: c.silent, At: c.at.hi, Units: c.width.hi,
		StartSec: c.from, EndSec: c.to,
		Talea: int(c.statement), Color: int(c.color),
		TaleaPlace: l.material.taleaPlace(int(c.place)), ColorPlace: -1,
	}
	if !c.silent {
		it.Note = l.noteNumber(int(c.note))
		it.ColorPlace = l.material.colorPlace(int(c.member))
		it.Level = int(l.material.levelOf(l.material.color[c.member].level, int(c.note), it.Color, it.Talea))
	}
	return it
}

// performed is where the item that is written as number n is performed, and
// the other way round; both from 0.
func (l *Line) performed(n int) int {
	if l.voice.Backward {
		return l.Items - 1 - n
	}
	return n
}

// noteNumber is the number, from 1, under which note n, from 0 in the order of
// writing, is performed.
func (l *Line) noteNumber(n int) int {
	if l.voice.Backward {
		return l.Notes - n
	}
	return n + 1
}

// itemOfNote is the item, in the order of writing, of note number n.
func (l *Line) itemOfNote(n int) int {
	if l.voice.Backward {
		return l.material.itemOf(l.Notes - n)
	}
	return l.material.itemOf(n - 1)
}

// onset is where note number n begins and ends, in units as performed.
func (l *Line) onset(n int) (from, to amount) {
	item := l.itemOfNote(n)
	from, to = l.ruler.at(item), l.ruler.at(item+1)
	if l.voice.Backward {
		from, to = l.length.sub(to), l.length.sub(from)
	}
	return from, to
}

// timeAt is the time in the piece at u units from the voice's start. This is
// where exact places become float64: rounded once, to nearest.
func (l *Line) timeAt(u dd) float64 { return l.clock.seconds(u).add(l.start).hi }

// cell is an item as it is worked on.
type cell struct {
	from, to         float64 // written, seconds of the piece
	at, width        dd      // units
	item             int32   // in the order of writing, from 0
	note             int32   // notes before it, in the order of writing
	member           int32   // of the color, rotated
	place            int32   // in the talea, rotated
	color, statement int32
	silent           bool
}

// blocks is how many calls of load there are.
func (l *Line) blocks() int { return (l.Items + blockItems - 1) / blockItems }

// load writes the items of a block over cells, in the order of performance.
// The blocks of a voice that goes backward are those of the voice as written,
// from the last to the first, each reversed.
func (l *Line) load(block int, cells []cell) []cell {
	if !l.voice.Backward {
		return l.loadWritten(block*blockItems, cells)
	}
	cells = l.loadWritten((l.blocks()-1-block)*blockItems, cells)
	slices.Reverse(cells)
	return cells
}

// loadWritten writes the items from first to the end of its block over cells,
// in the order of writing but with their places as performed.
func (l *Line) loadWritten(first int, cells []cell) []cell {
	n := min(blockItems, l.Items-first)
	cells = slices.Grow(cells[:0], n)[:n]
	var places [blockItems + 1]dd
	l.ruler.fill(first, places[:n+1])
	if l.voice.Backward {
		for i, p := range places[:n+1] {
			places[i] = l.lengthDD.sub(p)
		}
	}
	w, sec := l.material.walkFrom(first), l.timeAt(places[0])
	for i := range cells {
		next := l.timeAt(places[i+1])
		c := cell{
			from: sec, to: next, at: places[i], width: places[i+1].sub(places[i]),
			item: int32(first + i), place: int32(w.place), statement: int32(w.statement),
		}
		if l.voice.Backward {
			c.from, c.to, c.at, c.width = next, sec, places[i+1], places[i].sub(places[i+1])
		}
		c.to = max(c.from, c.to) // a path may err by more than a tiny duration
		c.silent = !w.enter()
		c.note, c.member, c.color = int32(w.note-1), int32(w.member), int32(w.color)
		w.leave()
		cells[i] = c
		sec = next
	}
	return cells
}
