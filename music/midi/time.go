package midi

import (
	"cmp"
	"fmt"
	"slices"
)

// What Score.Write counts in. The tempo is the one that holds where a file
// says none, so that a reader that leaves tempos out is right too, and a bar
// of two quarter notes is a second.
const (
	ticksPerQuarter   = 25_000
	tempoMicroseconds = 500_000
	TicksPerSecond    = ticksPerQuarter * 1_000_000 / tempoMicroseconds
	TickSec           = 1.0 / TicksPerSecond
)

// TickAt is the tick nearest to the time sec, in seconds from 0; a time midway
// between two goes to the later. Times before 0 become 0. The product is
// rounded too, by a millionth of a tick at ten hours.
func TickAt(sec float64) uint64 {
	if !(sec > 0) {
		return 0
	}
	return uint64(sec*TicksPerSecond + 0.5)
}

// Clock turns the ticks of a file into seconds.
type Clock struct {
	perSecond float64 // of a time-code division; 0: tempos count
	division  float64
	changes   []change
}

// change is a tempo from a tick on, and what has passed until then, in
// microseconds times the division: a whole number.
type change struct {
	tick, passed uint64
	tempo        uint64 // microseconds a quarter note
}

// NewClock collects the tempos of all tracks. It is an UnsupportedError when f
// is of format 2, whose tracks have a clock each, and a FormatError at offset
// 0 when a tempo is not three bytes long or is zero.
func NewClock(f *File) (*Clock, error) {
	if f.Format == 2 {
		return nil, UnsupportedError("format 2: its tracks share no clock")
	}
	if num, den, ok := f.Division.TimeCode(); ok {
		return &Clock{perSecond: float64(num) / float64(den)}, nil
	}
	ticks, ok := f.Division.Metrical()
	if !ok {
		return nil, FormatError{Reason: fmt.Sprintf("division %#04x means nothing", uint16(f.Division))}
	}
	changes, err := tempos(f)
	if err != nil {
		return nil, err
	}
	for i := 1; i < len(changes); i++ {
		before := changes[i-1]
		changes[i].passed = before.passed + (changes[i].tick-before.tick)*before.tempo
	}
	return &Clock{division: float64(ticks), changes: changes}, nil
}

// tempos are the tempos of f by tick; of several at one tick the last counts.
func tempos(f *File) ([]change, error) {
	changes := []change{{tempo: tempoMicroseconds}} // the tempo of a file that says none
	for _, t := range f.Tracks {
		for _, e := range t.Events {
			if e.Status != Meta || e.A != Tempo {
				continue
			}
			if len(e.Data) != 3 {
				return nil, FormatError{Reason: fmt.Sprintf("a tempo of %d bytes, want 3", len(e.Data))}
			}
			tempo := uint64(e.Data[0])<<16 | uint64(e.Data[1])<<8 | uint64(e.Data[2])
			if tempo == 0 {
				return nil, FormatError{Reason: "a tempo of 0 microseconds a quarter note"}
			}
			changes = append(changes, change{tick: e.Tick, tempo: tempo})
		}
	}
	slices.SortStableFunc(changes, func(a, b change) int { return cmp.Compare(a.tick, b.tick) })
	return changes, nil
}

// Seconds is the time of a tick, summed in whole numbers and rounded at the
// end.
func (c *Clock) Seconds(tick uint64) float64 {
	if c.perSecond > 0 {
		return float64(tick) / c.perSecond
	}
	n, found := slices.BinarySearchFunc(c.changes, tick, func(ch change, t uint64) int {
		return cmp.Compare(ch.tick, t)
	})
	if !found {
		n--
	}
	last := c.changes[n]
	return float64(last.passed+(tick-last.tick)*last.tempo) / (c.division * 1e6)
}

// Note is a note of a file: a start with the end that belongs to it.
type Note struct {
	Track              int // index into File.Tracks
	Channel            int // from 0
	Key                int // 0 to 127; 60 is middle C
	Velocity           int // 1 to 127
	StartTick, EndTick uint64
}

// Notes are the notes of f by track, then start, then order in the track. An
// end belongs to the earliest note of its channel and key still sounding; a
// note without end lasts as long as its track.
func (f *File) Notes() []Note {
	var notes []Note
	for i, t := range f.Tracks {
		open := map[[2]byte][]int{}
		for _, e := range t.Events {
			slot := [2]byte{e.Status & channelMask, e.A}
			switch {
			case e.IsNoteOn():
				open[slot] = append(open[slot], len(notes))
				notes = append(notes, Note{i, e.Channel(), int(e.A), int(e.B), e.Tick, t.EndTick})
			case e.IsNoteOff() && len(open[slot]) > 0:
				notes[open[slot][0]].EndTick = e.Tick
				open[slot] = open[slot][1:]
			}
		}
	}
	return notes
}
