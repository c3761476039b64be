package midi

import (
	"fmt"
	"io"
	"math"
)

// encode writes f, so that reading can be held against it; what the project writes is
// a Score. Messages of one status share it (running status), and a gap
// that no delta time can hold is bridged by empty text messages. It checks f
// before it writes the first byte: ticks must not fall, and data must be in
// range.
func encode(w io.Writer, f *File) error {
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
