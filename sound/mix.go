package sound

import (
	"context"
	"errors"
	"iter"
	"runtime"
	"sync"
	"sync/atomic"

	"gonum.org/v1/gonum/blas/blas32"

	"rollwright/loudness"
	"rollwright/perform"
)

// How much is kept in memory: notes, of those the most that one stretch of mixing
// may ask for, and mixed sound. What is longer than that, about three minutes of
// stereo at 48 kHz, goes to a temporary file.
const (
	stockBytes  = 104 << 20
	windowBytes = 48 << 20
	spoolBytes  = 72 << 20
)

// ErrNothing says that no event is heard in the stretch that was asked for.
var ErrNothing = errors.New("sound: nothing sounds there")

// A mixer turns strokes into frames, run by run.
type mixer struct {
	o        *Options
	stock    *stock
	timbreOf []uint8 // by piano
	releases [HighestKey + 1]release
	list     []stroke
	frames   int64
	mu       sync.Mutex
	kept     bool           // all runs together fit into the spool's memory
	slab     []float32      // for which this is the memory
	spare    [][2][]float32 // buffers of runs to be used again
	run      int            // frames of a run: what is mixed and measured at a time
}

func newMixer(o *Options) *mixer {
	m := &mixer{o: o, run: loudness.RunFrames(o.SampleRate)}
	var timbres []timbre
	for _, p := range o.Pianos {
		t := timbre{p.Hammers, p.Dry, o.SampleRate}
		at := -1
		for i := range timbres {
			if timbres[i] == t {
				at = i
			}
		}
		if at < 0 {
			at, timbres = len(timbres), append(timbres, t)
		}
		m.timbreOf = append(m.timbreOf, uint8(at))
	}
	m.stock = newStock(timbres, o.Cache)
	return m
}

// Mix mixes events, measures the sound and keeps it, in memory or in a temporary
// file, until Close. Events may come in any order. Errors: an event outside the
// keys (*KeyError) or with senseless numbers, ErrNothing, options that make no
// sense, a full disk, a context that ends.
func Mix(ctx context.Context, events iter.Seq[perform.Event], o Options) (*Sound, error) {
	if err := o.complete(); err != nil {
		return nil, err
	}
	m := newMixer(&o)
	blows, err := o.blows(events)
	if err != nil {
		return nil, err
	}
	m.list = m.strokes(blows)
	if len(m.list) == 0 {
		return nil, ErrNothing
	}
	m.frames = o.length
	for i := range m.list {
		m.frames = max(m.frames, m.list[i].at+m.list[i].lasts())
	}
	s := &Sound{o: o, frames: m.frames, strokes: len(m.list), run: m.run, record: loudness.NewRecord(o.SampleRate, m.frames)}
	channels := int64(2)
	if o.Mono {
		channels = 1
	}
	m.kept = 4*channels*m.frames <= spoolBytes
	s.spool.inMemory = m.kept
	if err := m.all(ctx, s); err != nil {
		s.Close()
		return nil, err
	}
	o.Cache.trim()
	m.stock, m.spare = nil, nil // not needed while the loudness is worked out
	if err := s.master(); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// A window is a stretch of runs whose notes fit in memory together.
type window struct {
	from, to int       // runs
	heard    [][]int32 // by run: indices of strokes, in order
	notes    map[noteID]int
	mixed    map[noteID]bool // notes that are mixed with the next layer
}

// all mixes window after window.
func (m *mixer) all(ctx context.Context, s *Sound) error {
	runs := int((m.frames + int64(m.run) - 1) / int64(m.run))
	var carry []int32
	next := 0
	for from := 0; from < runs; {
		w := m.window(from, runs, &carry, &next)
		if err := m.stock.need(ctx, w.notes, func(done float64) { m.tell(Notes, done) }); err != nil {
			return err
		}
		m.stock.compare(w.mixed)
		if err := m.mixWindow(ctx, w, runs, s); err != nil {
			return err
		}
		from = w.to
	}
	return nil
}

func (m *mixer) tell(stage Stage, done float64) {
	if m.o.Progress != nil {
		m.o.Progress(stage, done)
	}
}

// window goes on from a run for as long as the notes fit. carry are the strokes
// still heard, next the first that has not begun.
func (m *mixer) window(from, runs int, carry *[]int32, next *int) *window {
	w := &window{from: from, to: from, notes: map[noteID]int{}, mixed: map[noteID]bool{}}
	bytes := int64(0)
	for ; w.to < runs; w.to++ {
		begin, end := int64(w.to)*int64(m.run), int64(w.to+1)*int64(m.run)
		var heard []int32
		for _, i := range *carry {
			if s := &m.list[i]; s.at+s.lasts() > begin {
				heard = append(heard, i)
			}
		}
		n := *next
		for ; n < len(m.list) && m.list[n].at < end; n++ {
			if s := &m.list[n]; s.at+s.lasts() > begin {
				heard = append(heard, int32(n))
			}
		}
		more := int64(0)
		for _, i := range heard {
			more += m.list[i].adds(w.notes)
			if len(m.list[i].layers()) == 2 {
				w.mixed[m.list[i].id] = true
			}
		}
		if bytes += more; bytes > windowBytes && w.to > from {
			// The notes of this run stay listed though it is not mixed now: at most
			// one run too many.
			return w
		}
		w.heard = append(w.heard, heard)
		*carry, *next = heard, n
	}
	return w
}

// adds puts the notes of a stroke on the list and returns by how many bytes that
// makes it longer.
func (s *stroke) adds(notes map[noteID]int) int64 {
	bytes := int64(0)
	for _, id := range s.layers() {
		have, ok := notes[id]
		if !ok {
			bytes += noteBytes(0)
		}
		if n := s.segments(); n > have || !ok {
			bytes += noteBytes(n) - noteBytes(have)
			notes[id] = n
		}
	}
	return bytes
}

// layers are the notes a stroke is mixed from, one or two.
func (s *stroke) layers() []noteID {
	up := s.id
	up.layer++
	switch {
	case s.high == 0:
		return []noteID{s.id}
	case s.low == 0:
		return []noteID{up}
	}
	return []noteID{s.id, up}
}

// mixWindow mixes and measures the runs of a window, some at a time on all cores,
// and hands them on in order.
func (m *mixer) mixWindow(ctx context.Context, w *window, runs int, s *Sound) error {
	batch := 8 * runtime.GOMAXPROCS(0)
	for from := w.from; from < w.to; from += batch {
		to := min(from+batch, w.to)
		made := make([][2][]float32, to-from)
		parallel(len(made), func(i int) {
			made[i] = m.mixRun(from+i, w.heard[from+i-w.from])
		})
		found := make([]loudness.Analysis, len(made))
		parallel(len(made), func(i int) {
			before := s.last
			if i > 0 {
				before = made[i-1]
			}
			found[i] = loudness.Analyse(m.o.SampleRate, before, made[i], nearPeak)
		})
		for i, x := range made {
			s.record.Append(found[i])
			if err := s.spool.add(x); err != nil {
				return err
			}
			if !m.kept {
				m.spare = append(m.spare, s.last)
			}
			s.last = x
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		m.tell(Mixing, float64(to)/float64(runs))
	}
	return nil
}

// parallel does n things on all cores.
func parallel(n int, do func(i int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wg.Wait()
}

// mixRun adds up what is heard in a run, stroke after stroke in their order.
func (m *mixer) mixRun(run int, heard []int32) [2][]float32 {
	begin := int64(run) * int64(m.run)
	n := int(min(int64(m.run), m.frames-begin))
	out := m.buffer(n)
	if run == 0 && len(heard) > 0 && m.list[heard[0]].at < 0 {
		defer fadeIn(out, m.o.SampleRate)
	}
	a := adder{out: out, begin: begin, scratch: make([]float32, segmentFrames)}
	for _, i := range heard {
		s := &m.list[i]
		ids := s.layers()
		whole := float32(1)
		if len(ids) == 2 {
			whole = m.stock.notes[s.id].mixture(s.low, s.high)
		}
		for _, id := range ids {
			weight := s.low * whole
			if id != s.id {
				weight = s.high * whole
			}
			a.add(s, m.stock.notes[id], weight, m.releases[s.stop])
		}
	}
	return out
}

// buffer is silence of n frames: from the memory that the spool will keep, as long
// as there is some, then in buffers that are no longer needed.
func (m *mixer) buffer(n int) [2][]float32 {
	channels := 2
	if m.o.Mono {
		channels = 1
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.slab == nil && m.kept {
		m.slab = make([]float32, m.frames*int64(channels))
		advise(m.slab)
	}
	if last := len(m.spare) - 1; len(m.slab) < n*channels && last >= 0 && cap(m.spare[last][0]) >= n {
		x := m.spare[last]
		m.spare = m.spare[:last]
		for ch := range channels {
			x[ch] = x[ch][:n]
			clear(x[ch])
		}
		return x
	}
	var x [2][]float32
	for ch := range channels {
		if len(m.slab) >= n {
			x[ch], m.slab = m.slab[:n:n], m.slab[n:]
		} else {
			x[ch] = make([]float32, n)
		}
	}
	return x
}

// fadeIn softens, over 5 ms, a beginning in the middle of notes.
func fadeIn(x [2][]float32, rate int) {
	n := rate / 200
	for _, ch := range x {
		for i := range ch[:min(n, len(ch))] {
			ch[i] *= float32(i) / float32(n)
		}
	}
}

// An adder adds notes to one run.
type adder struct {
	out     [2][]float32
	begin   int64 // frame of the run
	scratch []float32
}

func (a *adder) add(s *stroke, n *note, weight float32, stop release) {
	gain := [2]float32{s.left * weight, s.right * weight}
	from, to := a.clip(s.at, bodyFrames)
	if from < to {
		a.put(n.body[from:to], s.at+int64(from), gain)
	}
	from, to = a.clip(s.at, int(s.end))
	for from < to {
		in := from % segmentFrames
		end := min(to, from-in+segmentFrames)
		if from < int(s.hold) && end > int(s.hold) {
			end = int(s.hold)
		}
		x := n.segments[from/segmentFrames][in : in+end-from]
		if from >= int(s.hold) {
			x = damp(a.scratch, x, stop[from-int(s.hold):])
		}
		a.put(x, s.at+int64(from), gain)
		from = end
	}
}

// clip is the part of a note of some length that lies in the run, in the note's
// frames.
func (a *adder) clip(at int64, length int) (from, to int) {
	offset := a.begin - at
	return int(max(0, offset)), int(min(int64(length), offset+int64(len(a.out[0]))))
}

// damp writes x times the release to scratch.
func damp(scratch, x, stop []float32) []float32 {
	scratch, stop = scratch[:len(x)], stop[:len(x)]
	for i, v := range x {
		scratch[i] = v * stop[i]
	}
	return scratch
}

func (a *adder) put(x []float32, at int64, gain [2]float32) {
	i := int(at - a.begin)
	for ch, g := range gain {
		if g != 0 && a.out[ch] != nil {
			blas32.Axpy(g, vector(x), vector(a.out[ch][i:i+len(x)]))
		}
	}
}
