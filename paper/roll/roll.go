// Package roll is the paper of an instrument: slots and punches in exact places.
// Composing and reading paper arrive here, everything else leaves from here.
//
// Across is millimetres from the bass edge of the paper to the centre of the
// hole. Along is millimetres from the row that lies on the middle of the ports
// at time 0, in the direction in which the roll is read. Both are float64;
// places before 0 lie in the leader.
//
// Times become rows through the instrument's transport, in float64: the error
// is below a millionth of a millimetre over ten hours. Rows of a perforator's
// step are whole numbers (see nearestRow and rowBefore), so their errors never
// add up. Lengths closer than a tenth of a nanometre count as equal.
package roll

import (
	"iter"
	"math"

	"rollwright/paper/instrument"
)

// Roll is the paper of one piano: every slot in its place, each knowing its
// port and the events that caused it.
type Roll struct {
	Piano      int      // which of several pianos plays it, from 0
	Name       string   // of the piano; may be empty
	Voices     []string // names of the voices that causes point to; nil for a roll that no voice made
	Instrument *instrument.Instrument
	Slots      []Slot  // ordered by LeadMM as printed, then port
	EndSec     float64 // when the music ends

	// What the paper could not take, in order of time.
	Outside []Outside // events whose key has no port
	Clashes []Clash   // strokes that met on one port
	NoPort  []Span    // pedalling for which the bar has no port
	Beyond  []Span    // pedalling that goes on after the end of its voice, by start
}

// Slot is one continuous passage over a port, from leading to trailing edge.
type Slot struct {
	LeadMM, TrailMM float64   // as cut: first centre - d/2, last centre + d/2
	FirstMM, LastMM float64   // centres of the first and last punch
	OpenMM, ShutMM  float64   // edges a and b that the events ask for, before rows and least length
	Own             []float64 // centres of the punches where a bench has arranged them; nil: as the die's rules have it
	Port            int32     // index into Instrument.Bar.Ports
	Punches         int32
	Causes          Causes
}

// Cause is an event that a slot sounds. Of a pedal's slot it is the voice that
// asks for it, with Note 0.
type Cause struct {
	Voice int32 // index into Roll.Voices
	Note  int32 // sounding items of the voice, from 1
	Level int16 // as written, 1 to 127
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

// Outside is an event that the instrument has no port for.
type Outside struct {
	StartSec float64
	Cause    Cause
	Key      int16
}

// Fate is what became of two strokes that met on one port.
type Fate int8

// The fates.
const (
	Shared Fate = iota // began together: one slot sounds both
	Lost               // the later one came too soon after the earlier: one slot, and one stroke less
	Cut                // the earlier one was still held: it ends for the later one and does not come back
)

// Clash is a meeting of two strokes on one port.
type Clash struct {
	Fate           Fate
	Port           int32   // index into Instrument.Bar.Ports
	Earlier, Later Cause   // of a pedal: Note 0
	StartSec       float64 // of the later stroke
	ApartSec       float64 // Lost: from the start of the earlier stroke to that of the later
	HeldSec        float64 // Cut: how much longer the earlier one was to sound
	LeadMM         float64 // leading edge that the later stroke asked for, as cut
}

// Span asks for a pedal, or for a stop, from one time to another.
type Span struct {
	Piano            int
	Voice            int             // that asks for it
	Role             instrument.Role // Sustain, Soft or Register
	Stop             string          // of Register: its name
	StartSec, EndSec float64
	Units            Stretch // as written; zero where the span is a whole voice or in seconds
}

// Stretch is a span in units from the start of its voice, and how long that
// voice is.
type Stretch struct {
	From, To, Of float64
}

// Beyond reports whether the stretch goes on after the end of its voice.
func (s Stretch) Beyond() bool { return s.Of > 0 && s.To > s.Of*(1+1e-12) }

// Outside reports whether none of it is within its voice.
func (s Stretch) Outside() bool { return s.Beyond() && s.From >= s.Of*(1-1e-12) }

// LengthMM is the whole paper: leader, music to the last hole or the end of
// the last note, whichever is later, and trailer.
func (r *Roll) LengthMM() float64 {
	paper := r.Instrument.Paper
	return paper.LeaderMM + r.MusicMM() + paper.TrailerMM
}

// MusicMM is the paper from row 0 to the last hole or the end of the last
// note, whichever is later.
func (r *Roll) MusicMM() float64 {
	end := max(r.Instrument.Transport.AlongMM(r.EndSec), 0)
	for i := range r.Slots {
		end = max(end, r.Slots[i].TrailMM)
	}
	return end
}

// Printed is a length along the paper in ten-thousandths of a millimetre, the
// places of every table, rounded to the nearest, halves up. Slots are ordered
// by it.
func Printed(mm float64) int64 { return int64(math.Floor(mm*1e4 + 0.5)) }

// AppendMM appends mm with four decimals, rounded as Printed rounds, and
// without a sign when that is 0.
func AppendMM(dst []byte, mm float64) []byte {
	n := Printed(mm)
	if n < 0 {
		dst, n = append(dst, '-'), -n
	}
	var digits [20]byte
	i := len(digits)
	for places := 0; n > 0 || places < 5; places++ {
		if places == 4 {
			i--
			digits[i] = '.'
		}
		i--
		digits[i] = byte('0' + n%10)
		n /= 10
	}
	return append(dst, digits[i:]...)
}
