package sound

import (
	"cmp"
	"fmt"
	"os"
)

// A spool keeps runs of frames, in memory or in a temporary file.
type spool struct {
	inMemory bool
	memory   [][2][]float32
	file     *os.File
	nameless bool // the file goes when it is closed
	runs     []spooled
	size     int64
	out      []byte    // scratch, on the way to the file
	in       []float32 // scratch, on the way from it
}

// A spooled run lies in the file.
type spooled struct {
	at       int64
	frames   int
	channels int
}

// add keeps a run; in memory, the slices themselves.
func (s *spool) add(x [2][]float32) error {
	if s.inMemory {
		s.memory = append(s.memory, x)
		return nil
	}
	if s.file == nil {
		f, err := os.CreateTemp("", "rollwright-sound-*")
		if err != nil {
			return fmt.Errorf("sound: temporary file: %w", err)
		}
		s.file = f
		// Where the system lets an open file lose its name, no end of the program
		// leaves it behind.
		s.nameless = os.Remove(f.Name()) == nil
	}
	r := spooled{s.size, len(x[0]), 1}
	b := appendFloats(s.out[:0], x[0])
	if x[1] != nil {
		r.channels = 2
		b = appendFloats(b, x[1])
	}
	s.out = b
	if _, err := s.file.WriteAt(b, r.at); err != nil {
		return fmt.Errorf("sound: temporary file of the mix: %w", err)
	}
	s.runs, s.size = append(s.runs, r), s.size+int64(len(b))
	return nil
}

func (s *spool) len() int { return len(s.memory) + len(s.runs) }

// get is run i, not to be written to, and good until the next.
func (s *spool) get(i int) ([2][]float32, error) {
	if i < len(s.memory) {
		return s.memory[i], nil
	}
	r := s.runs[i-len(s.memory)]
	if n := r.frames * r.channels; cap(s.in) < n {
		s.in = make([]float32, n)
	}
	all := s.in[:r.frames*r.channels]
	if err := readFloats(s.file, all, r.at); err != nil {
		return [2][]float32{}, fmt.Errorf("sound: temporary file of the mix: %w", err)
	}
	x := [2][]float32{all[:r.frames], nil}
	if r.channels == 2 {
		x[1] = all[r.frames:]
	}
	return x, nil
}

func (s *spool) close() error {
	s.memory, s.in, s.out = nil, nil, nil
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if !s.nameless {
		err = cmp.Or(err, os.Remove(s.file.Name()))
	}
	s.file = nil
	return err
}
