// Package notation turns a performed voice into written music: bars at each
// statement of the talea, notes with note values, ties, tuplets, spelled
// pitches and clefs.
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
	Spelling Spelling
	Staves   []Clef // one, or two with the upper first
	StartSec float64
	EndSec   float64
	Bars     []Bar
}

// Bar is one statement of the talea.
type Bar struct {
	Number int       // from 1, in the order of performance
	Talea  int       // statement of the talea, from 1, in the order of writing
	Length exact.Rat // of the whole bar in whole notes; 0 where it does not fit
	Notes  []Note
}

// Note is one item of the talea: a note, a chord, or a rest.
type Note struct {
	Number   int   // of the sounding item, from 1; 0: a rest
	Keys     []int // ascending; of a trill or glissando the first stroke's alone
	Grace    int   // the key of a note ahead of it, -1: none
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

// Of writes the voice of a performance with the given index.
func Of(perf *perform.Performance, voice int) *Part {
	l, v := perf.Lines[voice], &perf.Piece.Voices[voice]
	p := &Part{Voice: voice, Name: v.Name, StartSec: l.StartSec, EndSec: l.EndSec}
	lengths := newLengths(l, v)
	p.Manner = lengths.manner
	heard := map[int]int{}
	at, color, statement := -1, -1, 0
	var keys []int
	for it := range l.All() {
		if it.Talea != at || len(p.Bars) == 0 {
			at = it.Talea
			p.Bars = append(p.Bars, Bar{Number: len(p.Bars) + 1, Talea: it.Talea + 1})
		}
		n := Note{Number: it.Note, Level: it.Level, StartSec: it.StartSec, EndSec: it.EndSec, Grace: -1}
		n.Length, n.Values = lengths.of(it)
		if !it.Silent {
			keys = l.Keys(it, keys[:0])
			member := v.Color[it.ColorPlace]
			n.Gesture = member.Gesture.Kind
			n.First = it.Color != color
			if n.First {
				color, statement = it.Color, statement+1
			}
			n.Keys, n.Grace = written(member, keys, v.Invert != nil)
			for _, k := range n.Keys {
				heard[k]++
			}
		}
		n.Color = statement
		bar := &p.Bars[len(p.Bars)-1]
		bar.Notes = append(bar.Notes, n)
	}
	for i := range p.Bars {
		p.Bars[i].Length = total(p.Bars[i].Notes)
	}
	p.Spelling = SpellingOf(heard)
	p.Staves = StavesFor(heard, p.Spelling)
	return p
}

// written are the keys that stand for a member of the color: all of a chord,
// the first stroke of a trill or glissando, what a grace note leads to. Keys are
// those that sound, ascending; turned says that the voice is mirrored.
func written(p piece.Pitch, keys []int, turned bool) (out []int, grace int) {
	out = append(out, keys...)
	kind := p.Gesture.Kind
	if kind != piece.Trill && kind != piece.Gliss && kind != piece.Grace || len(keys) < 2 {
		return out, -1
	}
	rank := 0 // of the first stroke among the different keys
	seen := map[int]bool{}
	for _, k := range p.Keys {
		if k < p.Keys[0] && !seen[k] {
			seen[k] = true
			rank++
		}
	}
	if turned {
		rank = len(keys) - 1 - rank
	}
	rank = min(max(rank, 0), len(keys)-1)
	if kind == piece.Grace {
		grace = out[rank]
		return append(out[:rank], out[rank+1:]...), grace
	}
	return out[rank : rank+1], -1
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
