package sound

import (
	"context"
	"math"

	"gonum.org/v1/gonum/blas/blas32"

	"rollwright/sound/loudness"
)

// A Sound is mixed and measured, and can be played any number of times. Close it.
type Sound struct {
	o       Options
	frames  int64
	strokes int
	run     int
	record  loudness.Record
	spool   spool
	curve   []float32 // the limiter's gain by slice; nil: none
	report  Report
}

// Report is what is known of the sound.
func (s *Sound) Report() Report { return s.report }

// Close lets go of memory and temporary file. Errors: those of closing the file.
func (s *Sound) Close() error { return s.spool.close() }

// Lower makes what is played softer by so many dB, 0 or more.
func (s *Sound) Lower(db float64) {
	s.report.GainDB -= db
	s.report.LUFS -= db
	s.report.TruePeakDB -= db
}

// Play hands all frames to a sink, in order, some at a time. right is nil for a
// mono sound. The sink must not keep the slices. An error of the sink ends playing
// and is returned as it is.
func (s *Sound) Play(ctx context.Context, sink func(left, right []float32) error) error {
	ctx, cancel := context.WithCancel(ctx)
	type loaded struct {
		x   [2][]float32
		err error
	}
	// One run is made ready while the sink works on the one before. Whatever
	// ends playing waits for the maker, for Close may follow at once.
	ready, free := make(chan loaded, 1), make(chan [2][]float32, 3)
	defer func() {
		cancel()
		for range ready {
		}
	}()
	for range cap(free) {
		free <- [2][]float32{}
	}
	go func() {
		defer close(ready)
		for i := range s.spool.len() {
			var l loaded
			select {
			case l.x = <-free:
			case <-ctx.Done():
				return
			}
			l.x, l.err = s.finished(i, l.x)
			select {
			case ready <- l:
			case <-ctx.Done():
				return
			}
		}
	}()
	done := int64(0)
	for l := range ready {
		if l.err != nil {
			return l.err
		}
		if err := sink(l.x[0], l.x[1]); err != nil {
			return err
		}
		done += int64(len(l.x[0]))
		if s.o.Progress != nil {
			s.o.Progress(Playing, float64(done)/float64(s.frames))
		}
		free <- l.x
	}
	return ctx.Err()
}

// finished is run i with gain and limiter, written over into.
func (s *Sound) finished(i int, into [2][]float32) ([2][]float32, error) {
	x, err := s.spool.get(i)
	if err != nil {
		return into, err
	}
	gain := float32(math.Pow(10, s.report.GainDB/20))
	for ch := range x {
		if x[ch] == nil {
			into[ch] = nil
			continue
		}
		if cap(into[ch]) < len(x[ch]) {
			into[ch] = make([]float32, len(x[ch]))
		}
		into[ch] = into[ch][:len(x[ch])]
		if s.curve != nil {
			s.limit(into[ch], x[ch], i*s.run, gain)
			continue
		}
		clear(into[ch])
		blas32.Axpy(gain, vector(x[ch]), vector(into[ch]))
	}
	return into, nil
}

// limit writes x, frames from one on, with gain and limiter to out, going in a
// straight line from the middle of one slice to the middle of the next.
func (s *Sound) limit(out, x []float32, from int, gain float32) {
	size := loudness.SliceFrames(s.o.SampleRate)
	at := func(i int) float32 { return gain * s.curve[max(0, min(len(s.curve)-1, i))] }
	for i := 0; i < len(x); {
		slice := floorDiv(from+i-size/2, size)
		begin := slice*size + size/2 - from // where the middle of the slice lies in x
		a, b := at(slice), at(slice+1)
		step := (b - a) / float32(size)
		a += float32(i-begin) * step
		end := min(begin+size, len(x))
		for j, v := range x[i:end] {
			out[i+j] = v * (a + float32(j)*step)
		}
		i = end
	}
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
