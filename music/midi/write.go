package midi

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"
)

// Encode writes f. Messages of one status share it (running status), and a gap
// that no delta time can hold is bridged by empty text messages. It checks f
// before it writes the first byte: ticks must not fall, and data must be in
// range.
func Encode(w io.Writer, f *File) error {
	if err := f.check(); err != nil {
		return err
	}
	tracks := make([][]byte, len(f.Tracks))
	for i, t := range f.Tracks {
		var c chunk
		for _, e := range t.Events {
			c.event(e)
		}
		if err := c.end(t.EndTick); err != nil {
			return fmt.Errorf("midi: track %d: %w", i+1, err)
		}
		tracks[i] = c.bytes
	}
	return writeChunks(w, f.Format, f.Division, tracks)
}

// writeChunks writes the header and the tracks' bytes.
func writeChunks(w io.Writer, format int, d Division, tracks [][]byte) error {
	head := append(make([]byte, 0, 14), "MThd\x00\x00\x00\x06"...)
	head = binary.BigEndian.AppendUint16(head, uint16(format))
	head = binary.BigEndian.AppendUint16(head, uint16(len(tracks)))
	head = binary.BigEndian.AppendUint16(head, uint16(d))
	if _, err := w.Write(head); err != nil {
		return fmt.Errorf("midi: %w", err)
	}
	for _, t := range tracks {
		head = append(head[:0], "MTrk"...)
		head = binary.BigEndian.AppendUint32(head, uint32(len(t)))
		if _, err := w.Write(head); err != nil {
			return fmt.Errorf("midi: %w", err)
		}
		if _, err := w.Write(t); err != nil {
			return fmt.Errorf("midi: %w", err)
		}
	}
	return nil
}

// check says what of f the format cannot hold.
func (f *File) check() error {
	switch {
	case f.Format < 0 || f.Format > 2:
		return fmt.Errorf("midi: format is %d, want 0, 1 or 2", f.Format)
	case f.Format == 0 && len(f.Tracks) != 1:
		return fmt.Errorf("midi: format 0 has one track, not %d", len(f.Tracks))
	case len(f.Tracks) > math.MaxUint16:
		return fmt.Errorf("midi: %d tracks, want at most %d", len(f.Tracks), math.MaxUint16)
	case !f.Division.valid():
		return fmt.Errorf("midi: division %#04x means nothing", uint16(f.Division))
	}
	for i, t := range f.Tracks {
		if err := t.check(); err != nil {
			return fmt.Errorf("midi: track %d: %w", i+1, err)
		}
	}
	return nil
}

func (t Track) check() error {
	last := uint64(0)
	for i, e := range t.Events {
		if e.Tick < last {
			return fmt.Errorf("message %d at tick %d stands after tick %d", i+1, e.Tick, last)
		}
		last = e.Tick
		if err := e.check(); err != nil {
			return fmt.Errorf("message %d: %w", i+1, err)
		}
	}
	if t.EndTick < last || t.EndTick > maxTicks {
		return fmt.Errorf("ends at tick %d, want %d to %d", t.EndTick, last, uint64(maxTicks))
	}
	return nil
}

func (e Event) check() error {
	switch {
	case e.Status < NoteOff || e.Status > SysEx && e.Status != Escape && e.Status != Meta:
		return fmt.Errorf("status %#02x has no place in a file", e.Status)
	case e.A > maxData || e.B > maxData:
		return fmt.Errorf("data %d %d, want 0 to %d", e.A, e.B, maxData)
	case e.Status == Meta && e.A == EndOfTrack:
		return fmt.Errorf("an end of track among the messages")
	case len(e.Data) > maxQuantity:
		return fmt.Errorf("%d bytes of data, want at most %d", len(e.Data), maxQuantity)
	case e.Status < SysEx && (len(e.Data) > 0 || dataBytes(e.Status) == 1 && e.B != 0),
		e.Status >= SysEx && e.B != 0, (e.Status == SysEx || e.Status == Escape) && e.A != 0:
		return fmt.Errorf("status %#02x with data it does not take", e.Status)
	}
	return nil
}

// chunk is a track's bytes in the making.
type chunk struct {
	bytes   []byte
	tick    uint64
	running byte // the status that the next message may leave out; 0: none
}

// delta moves on to tick. A gap over maxQuantity is bridged by empty text
// messages, the message that means least.
func (c *chunk) delta(tick uint64) {
	gap := tick - c.tick
	for gap > maxQuantity {
		c.bytes = append(appendQuantity(c.bytes, maxQuantity), Meta, Text, 0)
		c.running = 0
		gap -= maxQuantity
	}
	c.bytes = appendQuantity(c.bytes, uint32(gap))
	c.tick = tick
}

// voice appends a channel message.
func (c *chunk) voice(tick uint64, status, a, b byte) {
	if cap(c.bytes)-len(c.bytes) < longestVoice {
		c.bytes = slices.Grow(c.bytes, len(c.bytes)+longestVoice) // twice as much: append alone copies more often
	}
	c.delta(tick)
	if status != c.running {
		c.bytes = append(c.bytes, status)
		c.running = status
	}
	if dataBytes(status) == 1 {
		c.bytes = append(c.bytes, a)
		return
	}
	c.bytes = append(c.bytes, a, b)
}

// longestVoice is the size of a channel message with its delta time.
const longestVoice = 7

// meta appends a Meta message, after which no status runs on.
func (c *chunk) meta(tick uint64, kind byte, data []byte) {
	c.delta(tick)
	c.bytes = append(c.bytes, Meta, kind)
	c.bytes = append(appendQuantity(c.bytes, uint32(len(data))), data...)
	c.running = 0
}

func (c *chunk) event(e Event) {
	switch e.Status {
	case Meta:
		c.meta(e.Tick, e.A, e.Data)
	case SysEx, Escape:
		c.delta(e.Tick)
		c.bytes = append(c.bytes, e.Status)
		c.bytes = append(appendQuantity(c.bytes, uint32(len(e.Data))), e.Data...)
		c.running = 0
	default:
		c.voice(e.Tick, e.Status, e.A, e.B)
	}
}

// end closes the track at tick.
func (c *chunk) end(tick uint64) error {
	c.meta(tick, EndOfTrack, nil)
	if uint64(len(c.bytes)) > math.MaxUint32 {
		return fmt.Errorf("%d bytes, want at most %d", len(c.bytes), uint32(math.MaxUint32))
	}
	return nil
}
