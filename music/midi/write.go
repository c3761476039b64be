package midi

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"
)

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

// end closes the track at tick.
func (c *chunk) end(tick uint64) error {
	c.meta(tick, EndOfTrack, nil)
	if uint64(len(c.bytes)) > math.MaxUint32 {
		return fmt.Errorf("%d bytes, want at most %d", len(c.bytes), uint32(math.MaxUint32))
	}
	return nil
}
