package perform

import (
	"iter"
	"slices"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/tempo"
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

	// Path is seconds from the voice's start, the voice's speed, its section's and lasts
	// included: in nominal time. SecondsAt, UnitsAt and TempoAt know what bends it.
	Path       *tempo.Path
	Speed      exact.Real // of the voice; where SpeedExact is false within 2^-100 of what lasts asks for
	SpeedExact bool
	Rough      bool // a number of the voice was found to 18 digits: neither rational nor irrational

	Start      exact.Sum // of the first item in seconds of the piece, after the shift; when StartExact
	StartExact bool      // false where time is bent, too
	StartSec   float64   // the same, nearest
	EndSec     float64   // of the last written duration, held sound not counted

	// Placed is Start before the whole piece was moved: as times in the file
	// are counted. The distance between two lines is the difference of either.
	// Where time is bent it is in the nominal time of Frame.
	Placed      exact.Sum
	PlacedExact bool

	// Frame is the nominal time in which the line stands: -1 the piece's, else that of a
	// section with a tempo path. In one frame what falls together is heard together.
	Frame int

	voice    *piece.Voice
	material *material
	ruler    ruler
	clock    clock
	length   amount // units
	lengthDD dd
	placed   amount // seconds, before the shift
	start    dd     // seconds, after it; where time is bent, before it
	frame    frame
	loudness []loudness
}

// Bent reports whether a tempo path of the piece or of a section bends the time of the
// line.
func (l *Line) Bent() bool { return l.frame.bent() }

// Steady reports whether a unit of the line lasts as long wherever it stands.
func (l *Line) Steady() bool { return l.clock.constant && !l.Bent() }

// SecondsAt is the time in the piece at so many units from the voice's start.
func (l *Line) SecondsAt(units float64) float64 {
	if !l.Bent() {
		return l.StartSec + l.Path.Seconds(units)
	}
	return l.timeAt(dd{units, 0})
}

// UnitsAt is where the voice is at a time of the piece, in units from its start: the
// inverse of SecondsAt.
func (l *Line) UnitsAt(sec float64) float64 {
	if !l.Bent() {
		return l.Path.Units(sec - l.StartSec)
	}
	return l.Path.Units(l.frame.own(sec) - l.start.hi)
}

// TempoAt is the tempo at a place as it is heard, in quarter notes a minute.
func (l *Line) TempoAt(units float64) float64 {
	if !l.Bent() {
		return l.Path.Tempo(units)
	}
	return l.Path.Tempo(units) * l.frame.rate(l.Path.Seconds(units)+l.start.hi)
}

// Nominal is the time of the line's Frame that is heard at a time of the piece.
func (l *Line) Nominal(sec float64) float64 { return l.frame.own(sec) }

// Heard is the time in the piece at which a time of the line's Frame is heard.
func (l *Line) Heard(nominal float64) float64 { return l.frame.heard(dd{nominal, 0}).hi }

// BendEdges are the times in the piece at which one leg of a tempo path that bends the
// line gives way to the next.
func (l *Line) BendEdges() []float64 {
	var out []float64
	for _, t := range l.frame.inside.edges() {
		out = append(out, l.Heard(t))
	}
	for _, t := range l.frame.piece.edges() {
		out = append(out, l.frame.piece.seconds(dd{t, 0}).add(l.frame.shift).hi)
	}
	return out
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
		var b block
		for n := range l.blocks() {
			l.load(n, &b)
			for i := range b.cells {
				if !yield(l.item(&b.cells[i])) {
					return
				}
			}
		}
	}
}

// Item is item n, from 0 to Items-1, in the order of performance.
func (l *Line) Item(n int) Item {
	n = l.performed(n)
	var b block
	l.loadWritten(n-n%blockItems, &b)
	return l.item(&b.cells[n%blockItems])
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

// Move is how the keys of an item come from those of its member of the color.
func (l *Line) Move(it Item) piece.Move { return l.voice.Move(it.Color, it.Talea) }

// SecondsPerUnit is the exact duration of a unit, when the line keeps one
// tempo and its speed is known exactly.
func (l *Line) SecondsPerUnit() (exact.Real, bool) {
	unit, ok := l.NominalPerUnit()
	return unit, ok && !l.Bent()
}

// NominalPerUnit is SecondsPerUnit in the nominal time of the line's Frame.
func (l *Line) NominalPerUnit() (exact.Real, bool) {
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
		level := l.material.levelOf(l.material.color[c.member].level, int(c.note), it.Color, it.Talea)
		it.Level = int(l.levelAt(level, c.from))
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
func (l *Line) timeAt(u dd) float64 {
	t := l.clock.seconds(u).add(l.start)
	if l.frame.bent() {
		t = l.frame.heard(t)
	}
	return t.hi
}

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

// block is a few items that follow each other.
type block struct {
	cells  []cell
	places [blockItems + 1]dd // where they begin, and where the last one ends, in units
}

// blocks is how many blocks a line has.
func (l *Line) blocks() int { return (l.Items + blockItems - 1) / blockItems }

// load fills b with block n, in the order of performance. The blocks of a
// voice that goes backward are those of the voice as written, from the last to
// the first, each reversed.
func (l *Line) load(n int, b *block) {
	if !l.voice.Backward {
		l.loadWritten(n*blockItems, b)
		return
	}
	l.loadWritten((l.blocks()-1-n)*blockItems, b)
	slices.Reverse(b.cells)
}

// loadWritten fills b with the items from first, a multiple of blockItems, in
// the order of writing but with their places as performed.
func (l *Line) loadWritten(first int, b *block) {
	n := min(blockItems, l.Items-first)
	b.cells = slices.Grow(b.cells[:0], n)[:n]
	l.ruler.fill(first, b.places[:n+1])
	w, sec := l.material.walkFrom(first), 0.0
	for i := range n + 1 {
		place := b.places[i]
		if l.voice.Backward {
			place = l.lengthDD.sub(place)
			b.places[i] = place
		}
		before := sec
		sec = l.timeAt(place)
		if i == 0 {
			continue
		}
		c := &b.cells[i-1]
		*c = cell{
			from: before, to: sec, at: b.places[i-1],
			item: int32(first + i - 1), place: int32(w.place), statement: int32(w.statement),
		}
		c.width = place.sub(c.at)
		if l.voice.Backward {
			c.from, c.to, c.at, c.width = sec, before, place, c.at.sub(place)
		}
		c.to = max(c.from, c.to) // a path may err by more than a tiny duration
		c.silent = !w.enter()
		c.note, c.member, c.color = int32(w.note-1), int32(w.member), int32(w.color)
		w.leave()
	}
}
