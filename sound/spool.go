package sound

import (
	"fmt"
	"os"
)

// A spool keeps runs of frames: the first in memory, the rest in a temporary
// file.
type spool struct {
	memory  [][2][]float32
	bytes   int64
	file    *os.File
	runs    []spooled
	size    int64
	scratch []byte
}

// A spooled run lies in the file.
type spooled struct {
	at       int64
	frames   int
	channels int
}

// add keeps a run. If it kept the slices themselves, they are its own from then on.
func (s *spool) add(x [2][]float32) (kept bool, err error) {
	size := int64(4 * (len(x[0]) + len(x[1])))
	if s.file == nil && s.bytes+size <= spoolBytes {
		s.memory, s.bytes = append(s.memory, x), s.bytes+size
		return true, nil
	}
	if s.file == nil {
		f, err := os.CreateTemp("", "rollwright-sound-*")
		if err != nil {
			return false, fmt.Errorf("sound: temporary file: %w", err)
		}
		s.file = f
	}
	r := spooled{s.size, len(x[0]), 1}
	b := appendFloats(s.scratch[:0], x[0])
	if x[1] != nil {
		r.channels = 2
		b = appendFloats(b, x[1])
	}
	s.scratch = b
	if _, err := s.file.WriteAt(b, r.at); err != nil {
		return false, fmt.Errorf("sound: temporary file of the mix: %w", err)
	}
	s.runs, s.size = append(s.runs, r), s.size+int64(len(b))
	return false, nil
}

func (s *spool) len() int { return len(s.memory) + len(s.runs) }

// get is run i, not to be written to, and good until the next.
func (s *spool) get(i int) ([2][]float32, error) {
	if i < len(s.memory) {
		return s.memory[i], nil
	}
	r := s.runs[i-len(s.memory)]
	if size := 4 * r.frames * r.channels; cap(s.scratch) < size {
		s.scratch = make([]byte, size)
	}
	b := s.scratch[:4*r.frames*r.channels]
	if _, err := s.file.ReadAt(b, r.at); err != nil {
		return [2][]float32{}, fmt.Errorf("sound: temporary file of the mix: %w", err)
	}
	x := [2][]float32{floats(b[:4*r.frames]), nil}
	if r.channels == 2 {
		x[1] = floats(b[4*r.frames:])
	}
	return x, nil
}

func (s *spool) close() error {
	s.memory = nil
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if e := os.Remove(s.file.Name()); err == nil {
		err = e
	}
	s.file = nil
	return err
}
