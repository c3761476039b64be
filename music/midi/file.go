// Package midi turns performed events into a Standard MIDI File 1.0, which it
// reads back as strictly as it writes.
//
// In memory a file is tracks of messages at absolute ticks. Score.Write makes
// such a file from seconds: a tick is TickSec, 20 microseconds, and TickAt is
// the one place where a second becomes a tick, so that a time is half a tick
// off at most however long the piece. Seconds then returns a tick to seconds
// through the file's tempos, rounded once.
//
// Text is written as UTF-8. The standard asks for ASCII only where a file
// leaves the computer it was made on, and current readers take UTF-8;
// characters that do not print become U+FFFD.
//
// Source of the format: Standard MIDI Files 1.0, MIDI Manufacturers
// Association, RP-001.
package midi

import "fmt"

// File is a Standard MIDI File: a header and its tracks.
type File struct {
	Format   int // 0: one track; 1: tracks that run together; 2: tracks that stand alone
	Division Division
	Tracks   []Track
}

// Track is one chunk of messages, in order of their ticks, with the tick of
// its end.
type Track struct {
	Events  []Event
	EndTick uint64 // of the end-of-track message, which is not in Events
}

// Event is one message at a tick counted from the start of the track.
//
// Status is a channel message (0x80 to 0xEF), SysEx, Escape or Meta. A channel
// message has A and, where its kind has two, B, both 0 to 127. A Meta message
// has its type, 0 to 127, in A. Data belongs to SysEx, Escape and Meta alone.
type Event struct {
	Tick   uint64
	Status byte
	A, B   byte
	Data   []byte
}

// Kinds of message: the upper half of a channel message's status, whose lower
// half is the channel from 0, or the whole status of the others.
const (
	NoteOff       = 0x80
	NoteOn        = 0x90
	KeyPressure   = 0xA0
	Controller    = 0xB0
	Program       = 0xC0
	Pressure      = 0xD0
	PitchBend     = 0xE0
	SysEx         = 0xF0
	Escape        = 0xF7
	Meta          = 0xFF
	kindMask      = 0xF0
	channelMask   = 0x0F
	maxData       = 0x7F
	controlPedal  = 64 // damper pedal, MIDI 1.0
	controlSoft   = 67 // soft pedal, MIDI 1.0
	drumChannel   = 9  // channel 10, which General MIDI gives to drums
	channelsInUse = 16
)

// Types of Meta messages.
const (
	Text          = 0x01
	TrackName     = 0x03
	EndOfTrack    = 0x2F
	Tempo         = 0x51
	TimeSignature = 0x58
	KeySignature  = 0x59
)

// maxTicks keeps sums of ticks times tempo within 64 bits: 24 bits of tempo,
// 40 of ticks. At TicksPerSecond that is 254 days.
const maxTicks = 1<<40 - 1

// Channel is the channel of a channel message, from 0.
func (e Event) Channel() int { return int(e.Status & channelMask) }

// IsNoteOn reports whether e starts a note: a note-on of velocity 0 ends one.
func (e Event) IsNoteOn() bool { return e.Status&kindMask == NoteOn && e.B > 0 }

// IsNoteOff reports whether e ends a note.
func (e Event) IsNoteOff() bool {
	return e.Status&kindMask == NoteOff || e.Status&kindMask == NoteOn && e.B == 0
}

// dataBytes is how many data bytes follow the status of a channel message.
func dataBytes(status byte) int {
	switch status & kindMask {
	case Program, Pressure:
		return 1
	}
	return 2
}

// Division is the header's third number: what a tick is.
type Division uint16

// Metrical is the number of ticks in a quarter note, when the division counts
// so.
func (d Division) Metrical() (ticks int, ok bool) {
	return int(d), d > 0 && d < 0x8000
}

// TimeCode is the number of ticks in a second as the fraction num/den, when
// the division counts frames of 24, 25, 29 (30 drop-frame: 30000/1001 a
// second) or 30 a second and ticks within a frame.
func (d Division) TimeCode() (num, den int, ok bool) {
	perFrame := int(d & 0xFF)
	if d < 0x8000 || perFrame == 0 {
		return 0, 0, false
	}
	switch rate := -int(int8(d >> 8)); rate {
	case 24, 25, 30:
		return rate * perFrame, 1, true
	case 29:
		return 30000 * perFrame, 1001, true
	}
	return 0, 0, false
}

// valid reports whether the standard gives the division a meaning.
func (d Division) valid() bool {
	_, metrical := d.Metrical()
	_, _, code := d.TimeCode()
	return metrical || code
}

// A FormatError says that the bytes are no Standard MIDI File, at which byte
// of the file, and why.
type FormatError struct {
	Offset int
	Reason string
}

func (e FormatError) Error() string {
	return fmt.Sprintf("midi: byte %d: %s", e.Offset, e.Reason)
}

// An UnsupportedError says what a valid file has that this package does not
// take.
type UnsupportedError string

func (e UnsupportedError) Error() string { return "midi: " + string(e) }
