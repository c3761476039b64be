// Package transcribe turns the notes of another file, MIDI or MusicXML, into lines
// and into a piece.
//
// ReadMIDI and ReadMusicXML give a File: parts of notes with their places as whole
// ticks, and one tempo map for all of them. File.Piece is that as a piece that plays
// the same, a voice for each line; File.Excerpt is one line, or a stretch of it, for a
// tune that takes it. Nothing is rounded: a tick is an exact fraction of a whole note,
// a tempo an exact number of quarter notes a minute, so seconds arise where a piece is
// performed and nowhere before. Levels are MIDI velocities, 1 to 127.
//
// Where several notes sound at once, those that begin and end together are a chord. In
// order of onset, and of several the highest first, each takes the line with the lowest
// number that is free, and a line is free once its last note has ended.
package transcribe

import (
	"fmt"

	"rollwright/exact"
)

// The bounds of what is read.
const (
	MaxNotes = 5_000_000
	maxLines = 1_000 // of a part: notes that sound at once
)

// File is the notes of a file.
type File struct {
	Name     string // as complaints call it
	Title    string
	Composer string
	Parts    []Part
	Tempos   []Tempo   // in order; none: 120
	Tick     exact.Rat // of a whole note
	Said     []string  // what was left out or taken otherwise, as sentences without a point
}

// Part is a track or part.
type Part struct {
	Name   string // may be empty
	Number int    // by which it can be asked for, from 1
	Notes  []Note // in order of start
	Bars   []int64
	// FirstBar is the number of the first of Bars, each of which begins at a tick; the
	// last entry is where the last bar ends.
	FirstBar int
	Pedal    []Span
	Soft     []Span
	Tempos   []Tempo // in place of the file's; nil: the file's
}

// Note is a note. Ticks count from the beginning of the file.
type Note struct {
	From, To int64 // To is after From
	Key      uint8
	Level    uint8 // 1 to 127; 0: the file does not say
	Grace    uint8 // of a grace note, which leads to the notes with its From and To: 1 is the nearest to them; 0: none
	Letter   byte  // by which it is spelled; 0: not known
}

// Span is a stretch of ticks in which a pedal is down.
type Span struct{ From, To int64 }

// Tempo is quarter notes a minute from a tick on.
type Tempo struct {
	Tick     int64
	Quarters exact.Real
}

// times is a fraction n times. It panics beyond what a Rat holds, which the bounds on
// ticks (2^40) and on what a tick is keep far away.
func times(x exact.Rat, n int64) exact.Rat {
	if n == 1 {
		return x
	}
	y, ok := x.Mul(exact.Int(n))
	if !ok {
		panic(fmt.Sprintf("transcribe: %d times %v", n, x))
	}
	return y
}

// say keeps a sentence, once.
func (f *File) say(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	for _, said := range f.Said {
		if said == text {
			return
		}
	}
	f.Said = append(f.Said, text)
}
