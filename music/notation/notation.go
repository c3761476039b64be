// Package notation turns a performed voice into written music: the composer's
// bars, or one at each statement of the talea; notes with note values, ties,
// tuplets and beams, pitches as the composer spells them, clefs.
//
// Durations are exact fractions of a whole note as long as they can be written;
// a Part says in what manner they are. Times are seconds of the piece, nearest
// float64. A note carries both, so what a reader computes from values and
// tempos can be compared with what sounds.
package notation

import (
	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// Manner is how written durations stand to those that sound.
type Manner int8

// The manners, in the order in which they are tried.
const (
	// AsPerformed: what is written is what sounds, at the tempo of the voice.
	AsPerformed Manner = iota
	// AsInTalea: the talea's own durations are written; what stretches or
	// shrinks them is in the tempo of each note.
	AsInTalea
	// Nearest: the nearest plain note value is written, and the tempo of each
	// note makes up for the rest.
	Nearest
)

// Part is one voice as written music.
type Part struct {
	Voice    int // index into piece.Piece.Voices
	Name     string
	Manner   Manner
	Staves   []Clef // one, or two with the upper first
	StartSec float64
	EndSec   float64
	Bars     []Bar
}

// Bar is a bar that the composer gives; where there are none, or what is performed cannot be
// written in them, one statement of the talea.
type Bar struct {
	Number int       // from 1, in the order of performance; 0: an upbeat
	Talea  int       // statement of the talea in which it begins, from 1, in the order of writing
	Given  bool      // the composer's, not a statement of the talea
	Metre  Metre     // of a given bar
	Length exact.Rat // of all in it, in whole notes; 0 where it does not fit
	Notes  []Note
}

// Note is one item of the talea, or what of it falls into one bar: a note, a chord, or a rest.
type Note struct {
	Number   int       // of the sounding item, from 1; 0: a rest
	Pitches  []Pitch   // ascending; of a trill or glissando those of the first stroke alone
	Grace    [][]Pitch // the strokes ahead of it, each a note or chord
	Back, On bool      // it goes on from the bar before; into the next one
	Gesture  piece.GestureKind
	Level    int       // 1 to 127
	Length   exact.Rat // written, in whole notes
	Values   []Value   // that make up Length; tied together when it is a note
	StartSec float64   // written start and end in seconds of the piece
	EndSec   float64
	Color    int  // statement of the color, from 1, in the order of performance
	First    bool // the first note of that statement
}

// Rest reports whether the note is silent.
func (n *Note) Rest() bool { return n.Number == 0 }

// Tempo is the tempo in quarter notes a minute at which the written length
// takes the time that the note takes. It is 0 for a note without length in
// time.
func (n *Note) Tempo() float64 {
	sec := n.EndSec - n.StartSec
	if !(sec > 0) {
		return 0
	}
	return n.Length.Float64() * 240 / sec
}

// Of writes the voice of a performance with the given index, in the bars that its composer
// gives.
func Of(perf *perform.Performance, voice int) *Part { return newPart(perf, voice, true) }

// Statements writes a voice with a bar for each statement of the talea, whatever bars it has.
func Statements(perf *perform.Performance, voice int) *Part { return newPart(perf, voice, false) }

func newPart(perf *perform.Performance, voice int, given bool) *Part {
	l, v := perf.Lines[voice], &perf.Piece.Voices[voice]
	p := &Part{Voice: voice, Name: v.Name, StartSec: l.StartSec, EndSec: l.EndSec}
	lengths, speller := newLengths(l, v), NewSpeller(perf, voice)
	p.Manner = lengths.manner
	ok := false
	if given {
		p.Bars, ok = barred(perf, voice, lengths, speller)
	}
	if !ok {
		p.Bars = statements(l, v, lengths, speller)
	}
	heard := map[Pitch]int{}
	for i := range p.Bars {
		for k := range p.Bars[i].Notes {
			n := &p.Bars[i].Notes[k]
			for _, pitch := range n.Pitches {
				heard[pitch]++
			}
		}
	}
	p.Staves = StavesFor(heard)
	return p
}

// statements are bars at each statement of the talea.
func statements(l *perform.Line, v *piece.Voice, w *lengths, s *Speller) []Bar {
	var bars []Bar
	n, at := noter{line: l, voice: v, speller: s, color: -1}, -1
	for it := range l.All() {
		if it.Talea != at || len(bars) == 0 {
			at = it.Talea
			bars = append(bars, Bar{Number: len(bars) + 1, Talea: it.Talea + 1})
		}
		note := n.note(it)
		note.Length, note.Values = w.of(it)
		last := &bars[len(bars)-1]
		last.Notes = append(last.Notes, note)
	}
	for i := range bars {
		bars[i].Length = total(bars[i].Notes)
	}
	return bars
}

// noter makes notes of the items of a line, one after the other.
type noter struct {
	line             *perform.Line
	voice            *piece.Voice
	speller          *Speller
	color, statement int // of the color
}

// note is an item without its lengths.
func (n *noter) note(it perform.Item) Note {
	note := Note{Number: it.Note, Level: it.Level, StartSec: it.StartSec, EndSec: it.EndSec}
	if !it.Silent {
		note.Gesture = n.voice.Color[it.ColorPlace].Gesture.Manner()
		if note.First = it.Color != n.color; note.First {
			n.color, n.statement = it.Color, n.statement+1
		}
		note.Pitches, note.Grace = n.speller.written(it)
	}
	note.Color = n.statement
	return note
}

// total is the length of notes together, 0 when it does not fit.
func total(notes []Note) exact.Rat {
	var sum exact.Rat
	for _, n := range notes {
		var ok bool
		if sum, ok = sum.Add(n.Length); !ok {
			return exact.Rat{}
		}
	}
	return sum
}

// OneTempo is the tempo of the whole part when every note has the same, within
// a billionth, and whether that is so.
func (p *Part) OneTempo() (quartersAMinute float64, ok bool) {
	for _, b := range p.Bars {
		for i := range b.Notes {
			t := b.Notes[i].Tempo()
			if quartersAMinute == 0 {
				quartersAMinute = t
			}
			if !near(t, quartersAMinute) {
				return 0, false
			}
		}
	}
	return quartersAMinute, quartersAMinute > 0
}

// near reports whether two tempos are one, within a billionth: times of items
// are differences of rounded numbers.
func near(a, b float64) bool { return a-b < 1e-9*b && b-a < 1e-9*b }

// SameTempo reports whether two tempos are within a billionth of each other.
func SameTempo(a, b float64) bool { return near(a, b) }
