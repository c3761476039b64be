package flac

import (
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac"
)

// A Reader reads a recording as one channel, front to back, a block at a time.
type Reader struct {
	Rate     int // frames a second
	Channels int

	stream *flac.Stream
	scale  float32
	block  []float32 // of the block that was read, what is still to be given
	buffer []float32
}

// NewReader reads the head of a file.
func NewReader(r io.Reader) (*Reader, error) {
	stream, err := flac.New(r)
	if err != nil {
		return nil, fmt.Errorf("flac: %w", err)
	}
	info := stream.Info
	if info.SampleRate < 1 || info.NChannels < 1 {
		return nil, fmt.Errorf("flac: %d channels at %d frames a second", info.NChannels, info.SampleRate)
	}
	return &Reader{
		Rate: int(info.SampleRate), Channels: int(info.NChannels), stream: stream,
		scale: 1 / (float32(info.NChannels) * float32(uint64(1)<<(max(info.BitsPerSample, 1)-1))),
	}, nil
}

// Mono fills dst with the mean of the channels, -1 to 1, and returns how many
// frames there were: fewer than len(dst), with io.EOF, at the end. A file that
// breaks off ends with its last whole block.
func (s *Reader) Mono(dst []float32) (int, error) {
	done := 0
	for done < len(dst) {
		if len(s.block) == 0 {
			if err := s.next(); err != nil {
				return done, err
			}
		}
		n := copy(dst[done:], s.block)
		s.block, done = s.block[n:], done+n
	}
	return done, nil
}

func (s *Reader) next() error {
	f, err := s.stream.ParseNext()
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = io.EOF
	}
	if err == io.EOF {
		return err
	}
	if err != nil {
		return fmt.Errorf("flac: %w", err)
	}
	n := int(f.BlockSize)
	if cap(s.buffer) < n {
		s.buffer = make([]float32, n)
	}
	s.block = s.buffer[:n]
	clear(s.block)
	for _, sub := range f.Subframes {
		for i, x := range sub.Samples[:min(n, len(sub.Samples))] {
			s.block[i] += float32(x) * s.scale
		}
	}
	return nil
}
