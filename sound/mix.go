package sound

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"runtime"
	"sync"
	"sync/atomic"

	"rollwright/music/event"
	"rollwright/sound/loudness"
)

// How much is kept in memory: notes, of those the most that one stretch of mixing
// may ask for, and mixed sound. What is longer than that, about three minutes of
// stereo at 48 kHz, goes to a temporary file.
const (
	stockBytes  = 176 << 20
	windowBytes = 160 << 20
	spoolBytes  = 72 << 20
)

// Runs are measured so many at a time, and mixed in pieces of so many frames, two
// channels of which stay near the core that adds notes to them.
const (
	batchRuns   = 16
	pieceFrames = 4096
)

// mostSec is the most that is mixed: what is measured of a day is half a gigabyte.
const mostSec = 24 * 3600

// ErrNothing says that no event is heard in the stretch that was asked for.
var ErrNothing = errors.New("sound: nothing sounds there")

// A mixer turns strokes into frames, run by run.
type mixer struct {
	o        *Options
	stock    *stock
	timbreOf []uint8 // by piano
	curves   [keys]curves
	acts     []act          // of the last strokes, one after the other
	dampsLow bool           // some damper leaves low partials longer
	low      [][2][]float32 // silence, for these: a value every lowEvery frames
	lowLast  [2]lowTail     // of the run before, by channel
	list     []stroke
	extents  map[noteID]extent // how much of each note they need
	allFit   bool              // into the memory for notes
	frames   int64
	kept     bool           // all runs together fit into the spool's memory
	slab     []float32      // for which this is the memory
	spare    [][2][]float32 // buffers of runs to be used again
	run      int            // frames of a run: what is measured at a time
	mixed    [][2][]float32 // runs that are not yet measured
	last     [2][]float32   // the run that was measured last
	high     float32        // the highest sample of those that are measured
}

func newMixer(o *Options) *mixer {
	m := &mixer{o: o, run: loudness.RunFrames(o.SampleRate), extents: map[noteID]extent{}}
	var timbres []timbre
	for _, p := range o.Pianos {
		t := timbre{p.Hammers, p.Dry, o.SampleRate, p.Tuning, p.Copy}
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
// keys (*KeyError) or with senseless numbers, ErrNothing, more than a day of sound,
// options that make no sense, a full disk, a context that ends.
func Mix(ctx context.Context, events iter.Seq[event.Event], o Options) (*Sound, error) {
	if err := o.complete(); err != nil {
		return nil, err
	}
	m := newMixer(&o)
	blows, err := o.blows(events)
	if err != nil {
		return nil, err
	}
	m.list = m.strokes(blows)
	if len(m.list) == 0 && o.length == 0 {
		return nil, ErrNothing
	}
	m.frames = o.length
	for i := range m.list {
		m.frames = max(m.frames, m.list[i].at+m.list[i].lasts())
		m.list[i].adds(m.extents)
	}
	bytes := int64(0)
	for _, e := range m.extents {
		bytes += e.bytes()
	}
	m.allFit = bytes <= windowBytes
	if sec := m.frames / int64(o.SampleRate); sec > mostSec {
		return nil, fmt.Errorf("sound: %d hours of sound, at most %d: hear a stretch of it", sec/3600, mostSec/3600)
	}
	s := &Sound{o: o, frames: m.frames, strokes: len(m.list), run: m.run,
		record: loudness.NewRecord(o.SampleRate, m.frames)}
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
	if err := s.master(ctx); err != nil {
		s.Close()
		return nil, err
	}
	return s, nil
}

// A window is a stretch of runs whose notes fit in memory together.
type window struct {
	from, to int       // runs
	heard    [][]int32 // by run: indices of strokes, in order
	notes    map[noteID]extent
	mixed    map[noteID]bool // notes that are mixed with the next layer
}

// all mixes window after window, and lets go of the notes.
func (m *mixer) all(ctx context.Context, s *Sound) error {
	defer m.stock.arena.close()
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
	w := &window{from: from, to: from, notes: map[noteID]extent{}, mixed: map[noteID]bool{}}
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
			ids := m.list[i].layers()
			for _, id := range ids {
				have, ok := w.notes[id]
				want := have.and(m.list[i].needs())
				if m.allFit { // then no note is read or made twice
					want = m.extents[id]
				}
				if ok && want == have {
					continue
				}
				if more += want.bytes(); ok {
					more -= have.bytes()
				}
				w.notes[id] = want
			}
			if len(ids) == 2 {
				w.mixed[ids[0]] = true
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

// adds lists how much of its notes a stroke needs.
func (s *stroke) adds(notes map[noteID]extent) {
	for _, id := range s.layers() {
		notes[id] = notes[id].and(s.needs())
	}
}

// layers are the notes a stroke is mixed from, one or two.
func (s *stroke) layers() []noteID {
	up := s.id
	up.layer++
	if s.high == 0 {
		return []noteID{s.id}
	}
	return []noteID{s.id, up}
}

// mixWindow mixes the runs of a window, some at a time, and measures them when
// there are enough of them for all cores.
func (m *mixer) mixWindow(ctx context.Context, w *window, runs int, s *Sound) error {
	for from := w.from; from < w.to; {
		to := min(from+batchRuns-len(m.mixed), w.to)
		m.mixed = append(m.mixed, m.mixRuns(w, from, to)...)
		if from = to; len(m.mixed) == batchRuns || to == runs {
			if err := m.measure(s); err != nil {
				return err
			}
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		m.tell(Mixing, float64(to)/float64(runs))
	}
	return nil
}

// measure analyses the runs that are mixed, each by itself on all cores, and hands
// them on in order.
func (m *mixer) measure(s *Sound) error {
	analyse := func(before, now [2][]float32) loudness.Analysis {
		return loudness.Analyse(m.o.SampleRate, before, now)
	}
	found := analysed(analyse, m.last, m.mixed, func(high float32) float32 {
		m.high = max(m.high, high)
		return m.high
	})
	for i, x := range m.mixed {
		s.record.Append(found[i])
		if err := s.spool.add(x); err != nil {
			return err
		}
		if !m.kept {
			m.spare = append(m.spare, m.last)
		}
		m.last = x
	}
	m.mixed = m.mixed[:0]
	return nil
}

// analysed measures runs that follow others on all cores. True peaks are sought
// above what low makes of the highest sample of each run in turn.
func analysed(analyse func(before, now [2][]float32) loudness.Analysis, before [2][]float32, runs [][2][]float32,
	low func(high float32) float32) []loudness.Analysis {
	found, from := make([]loudness.Analysis, len(runs)), make([]float32, len(runs))
	prev := func(i int) [2][]float32 {
		if i > 0 {
			return runs[i-1]
		}
		return before
	}
	parallel(len(runs), func(i int) { found[i] = analyse(prev(i), runs[i]) })
	for i := range found {
		from[i] = low(found[i].Highest())
	}
	parallel(len(runs), func(i int) { found[i].Between(prev(i), runs[i], from[i]) })
	return found
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

// mixRuns mixes runs of a window, piece by piece on all cores: a window of many
// notes may be a single run.
func (m *mixer) mixRuns(w *window, from, to int) [][2][]float32 {
	made := make([][2][]float32, to-from)
	for i := range made {
		made[i] = m.buffer(int(min(int64(m.run), m.frames-int64(from+i)*int64(m.run))))
	}
	low := m.lowBuffers(made)
	pieces := (m.run + pieceFrames - 1) / pieceFrames
	parallel(len(made)*pieces, func(i int) {
		run, begin := i/pieces, i%pieces*pieceFrames
		out, low := made[run], low[run]
		end := min(begin+pieceFrames, len(out[0]))
		if begin >= end {
			return
		}
		for ch := range out {
			if out[ch] != nil {
				out[ch] = out[ch][begin:end]
			}
			if low[ch] != nil {
				low[ch] = low[ch][begin/lowEvery : (end+lowEvery-1)/lowEvery]
			}
		}
		m.mixPiece(out, low, int64(from+run)*int64(m.run)+int64(begin), w.heard[from+run-w.from])
	})
	if !m.dampsLow {
		return made
	}
	before := make([][2]lowTail, len(made))
	for i := range made {
		before[i] = m.lowLast
		for ch := range low[i] {
			m.lowLast[ch].follow(low[i][ch])
		}
	}
	parallel(2*len(made), func(i int) {
		if run, ch := i/2, i%2; made[run][ch] != nil {
			out := made[run][ch]
			addLow(out, before[run][ch], low[run][ch][:(len(out)+lowEvery-1)/lowEvery])
		}
	})
	return made
}

// lowBuffers are silence, as much as runs, for what dampers leave longer of low partials;
// none where no damper does.
func (m *mixer) lowBuffers(runs [][2][]float32) [][2][]float32 {
	out := make([][2][]float32, len(runs))
	if !m.dampsLow {
		return out
	}
	for len(m.low) < len(runs) {
		var x [2][]float32
		for ch := range x {
			if runs[0][ch] != nil {
				x[ch] = make([]float32, (m.run+lowEvery-1)/lowEvery)
			}
		}
		m.low = append(m.low, x)
	}
	copy(out, m.low)
	return out
}

// buffer is silence of n frames: from the memory that the spool will keep, as long
// as there is some, then in buffers that are no longer needed.
func (m *mixer) buffer(n int) [2][]float32 {
	channels := 2
	if m.o.Mono {
		channels = 1
	}
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
