// Package roll lays events out on the paper of an instrument: slots and
// punches in exact places.
//
// Across is millimetres from the bass edge of the paper to the centre of the
// hole. Along is millimetres from the row that lies on the middle of the ports
// at time 0, in the direction in which the roll is read. Both are float64;
// places before 0 lie in the leader.
package roll

import (
	"iter"

	"rollwright/instrument"
)

// Roll is the paper of one piano: every slot in its place, each knowing its
// port and the events that caused it.
type Roll struct {
	Piano      int    // index into piece.Piece.Pianos
	Name       string // of the piano; may be empty
	Instrument *instrument.Instrument
	Slots      []Slot  // ordered by LeadMM as printed, then port
	EndSec     float64 // when the music ends
}

// Slot is one continuous passage over a port, from leading to trailing edge.
type Slot struct {
	LeadMM, TrailMM float64 // as cut: first centre - d/2, last centre + d/2
	FirstMM, LastMM float64 // centres of the first and last punch
	OpenMM, ShutMM  float64 // edges a and b that the events ask for, before rows and least length
	Port            int32   // index into Instrument.Bar.Ports
	Punches         int32
	Causes          Causes
}

// Cause is an event that a slot sounds.
type Cause struct {
	Voice int32 // index into piece.Piece.Voices
	Note  int32 // sounding items of the voice, from 1
}

// Causes are the events of one slot: mostly one, so it is kept in place.
type Causes struct {
	First Cause
	More  []Cause // nil for one cause
}

// All are the causes in order. A control port's slot has the causes of the
// notes it serves, if any.
func (c Causes) All() iter.Seq[Cause] {
	return func(yield func(Cause) bool) {
		if c.First.Note > 0 && !yield(c.First) {
			return
		}
		for _, m := range c.More {
			if !yield(m) {
				return
			}
		}
	}
}
