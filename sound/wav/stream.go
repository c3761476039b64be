package wav

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// A Reader reads a recording as one channel, front to back, keeping none of it.
// It takes more kinds than Decode: integers of 8, 16, 24 and 32 bits, floats of
// 32 and 64, up to 64 channels. A recorder that lost its power leaves a size of 0
// or too large, and a last frame cut short: what is there counts.
type Reader struct {
	Rate     int // frames a second
	Channels int

	r     *bufio.Reader
	bits  int
	float bool
	left  int64 // bytes of data to come; below 0: to the end
	frame []byte
}

// NewReader reads up to the first sample. The error is a FormatError, or
// ErrUnsupported wrapped.
func NewReader(r io.Reader) (*Reader, error) {
	s := &Reader{r: bufio.NewReaderSize(r, 1<<16)}
	var head [12]byte
	if _, err := io.ReadFull(s.r, head[:]); err != nil {
		return nil, FormatError("no RIFF header: " + err.Error())
	}
	kind := string(head[:4])
	if kind != "RIFF" && kind != "RF64" || string(head[8:]) != "WAVE" {
		return nil, FormatError(fmt.Sprintf("begins with %q, wanted RIFF or RF64 and WAVE", head))
	}
	long := int64(-1)
	for {
		var chunk [8]byte
		if _, err := io.ReadFull(s.r, chunk[:]); err != nil {
			return nil, FormatError("no data chunk")
		}
		size := int64(binary.LittleEndian.Uint32(chunk[4:]))
		switch id := string(chunk[:4]); id {
		case "data":
			return s, s.data(size, long)
		case "fmt ", "ds64":
			body, err := s.body(id, size)
			if err != nil {
				return nil, err
			}
			if id == "ds64" && size >= 16 {
				long = int64(binary.LittleEndian.Uint64(body[8:]))
			} else if id == "fmt " {
				if err := s.format(body); err != nil {
					return nil, err
				}
			}
		default:
			if _, err := io.CopyN(io.Discard, s.r, size+size%2); err != nil {
				return nil, FormatError(fmt.Sprintf("chunk %q is cut short", id))
			}
		}
	}
}

func (s *Reader) body(id string, size int64) ([]byte, error) {
	if size > 1<<16 {
		return nil, FormatError(fmt.Sprintf("chunk %q of %d bytes", id, size))
	}
	body := make([]byte, size+size%2)
	if _, err := io.ReadFull(s.r, body); err != nil {
		return nil, FormatError(fmt.Sprintf("chunk %q is cut short", id))
	}
	return body[:size], nil
}

// data begins the samples; long is the size by ds64, or -1.
func (s *Reader) data(size, long int64) error {
	if s.frame == nil {
		return FormatError("data before fmt")
	}
	switch {
	case size == math.MaxUint32 && long > 0:
		s.left = long
	case size == math.MaxUint32, size == 0: // of a recording that was never closed
		s.left = -1
	default:
		s.left = size
	}
	return nil
}

func (s *Reader) format(b []byte) error {
	if len(b) < 16 {
		return FormatError("chunk fmt is too short")
	}
	le := binary.LittleEndian
	code := le.Uint16(b)
	if code == formatExtensible && len(b) >= 26 {
		code = le.Uint16(b[24:])
	}
	s.Channels, s.Rate, s.bits, s.float = int(le.Uint16(b[2:])), int(le.Uint32(b[4:])), int(le.Uint16(b[14:])),
		code == formatFloat
	switch {
	case code != formatPCM && code != formatFloat:
		return fmt.Errorf("wav: sample format %d: %w", code, ErrUnsupported)
	case s.Channels < 1 || s.Channels > 64:
		return fmt.Errorf("wav: %d channels: %w", s.Channels, ErrUnsupported)
	case s.Rate < 1 || s.Rate > 1<<20:
		return fmt.Errorf("wav: sample rate %d: %w", s.Rate, ErrUnsupported)
	case s.float && s.bits != 32 && s.bits != 64, !s.float && s.bits != 8 && s.bits != 16 && s.bits != 24 && s.bits != 32:
		return fmt.Errorf("wav: %d bits: %w", s.bits, ErrUnsupported)
	}
	s.frame = make([]byte, s.Channels*s.bits/8)
	return nil
}

// Mono fills dst with the mean of the channels, -1 to 1, and returns how many
// frames there were: fewer than len(dst), with io.EOF, at the end. What is not a
// number counts as 0.
func (s *Reader) Mono(dst []float32) (int, error) {
	for i := range dst {
		if s.left >= 0 && s.left < int64(len(s.frame)) {
			return i, io.EOF
		}
		switch _, err := io.ReadFull(s.r, s.frame); {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return i, io.EOF
		case err != nil:
			return i, fmt.Errorf("wav: %w", err)
		}
		if s.left >= 0 {
			s.left -= int64(len(s.frame))
		}
		dst[i] = s.mean()
	}
	return len(dst), nil
}

// mean is the mean of the frame's channels.
func (s *Reader) mean() float32 {
	sum, width := 0.0, s.bits/8
	for b := s.frame; len(b) > 0; b = b[width:] {
		sum += s.sample(b)
	}
	x := float32(sum / float64(s.Channels))
	if x != x || x > 1e6 || x < -1e6 {
		return 0
	}
	return x
}

func (s *Reader) sample(b []byte) float64 {
	le := binary.LittleEndian
	switch {
	case s.float && s.bits == 64:
		return math.Float64frombits(le.Uint64(b))
	case s.float:
		return float64(math.Float32frombits(le.Uint32(b)))
	case s.bits == 8: // of this width alone the integers have no sign
		return (float64(b[0]) - 128) / (1 << 7)
	case s.bits == 16:
		return float64(int16(le.Uint16(b))) / (1 << 15)
	case s.bits == 24:
		return float64(int32(b[0])|int32(b[1])<<8|int32(int8(b[2]))<<16) / (1 << 23)
	}
	return float64(int32(le.Uint32(b))) / (1 << 31)
}
