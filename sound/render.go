package sound

import (
	"math"
	"math/cmplx"
	"slices"
	"sync"

	"gonum.org/v1/gonum/blas/blas32"

	"rollwright/sound/loudness"
)

// Notes are computed and kept in blocks and segments of frames. A segment is the
// same whatever else is asked for, so what is in the cache never depends on the
// piece that first needed it.
const (
	blockFrames   = 1024
	segmentBlocks = 4
	segmentFrames = blockFrames * segmentBlocks
	bodyBlocks    = 10 // 0.2 s at 48 kHz, faded over the second half of it
	bodyFrames    = blockFrames * bodyBlocks
	bodyFade      = 5 * blockFrames
)

// Strings are left out once below inaudible times the note's beginning, and a
// note ends, faded over its last segment, once all of it is below silence. At
// longestNoteSec it ends in any case.
const (
	inaudible      = 1e-5   // -100 dB
	silence        = 1.6e-4 // -76 dB
	longestNoteSec = 30
)

// sinks is how a note sinks that no damper stops, a share of its beginning at the start of
// each of its segments: it lasts until its first partials, the n-th taken at 1/n of the
// first, are at silence. It is the same for all levels and hammers.
func (t timbre) sinks(c *Course) []float64 {
	const partials = 8
	var strands []damped
	for n := 1; n <= partials; n++ {
		for _, st := range c.strands(n, t.dry) {
			strands = append(strands, damped{st.s, st.share / complex(float64(n), 0)})
		}
	}
	loud := func(sec float64) float64 {
		sum := 0.0
		for _, d := range strands {
			sum += cmplx.Abs(d.c) * math.Exp(real(d.s)*sec)
		}
		return sum
	}
	step := float64(segmentFrames) / float64(t.rate)
	left, limit := []float64{1}, int(longestNoteSec/step)
	for last := 1.0; len(left) <= limit && last > silence; {
		last = loud(float64(len(left))*step) / loud(0)
		left = append(left, last)
	}
	return left
}

// A wanted is one run of segments of one note's strings, to be computed, and of low partials
// of it.
type wanted struct {
	sp         *spectrum
	have, want extent      // from one to the other
	of         int         // segments of the whole note
	out, low   [][]float32 // both, zeros
}

// Low partials by themselves, for dampers that take them later than the rest, have a value
// every lowEvery frames. What is low goes from all of a partial at 0 Hz to nothing at
// lowestHighHz, along a quarter of a cosine, squared: half of it at 300 Hz. Assumed.
const (
	lowEvery     = 8
	lowFrames    = segmentFrames / lowEvery
	lowestHighHz = 600
)

func lowShare(hz float64) float64 {
	if hz >= lowestHighHz {
		return 0
	}
	x := math.Cos(math.Pi / 2 * hz / lowestHighHz)
	return x * x
}

// Strands up to slowestFast of the sample rate are computed every slow frames, which serves
// twice that and more, and brought to all frames by a filter: see quicken.
const (
	slow        = 4
	slowestFast = 1.0 / 13
	slowFrames  = segmentFrames / slow
	slowReach   = 7 // of the filter, to either side
)

// fill computes runs of segments of notes of one key, whose strands are the same at every
// level: what a strand does over a block is tabled once, and each block of each note is that
// table turned and weighted. Low strands have few values a second, and the strands of a high
// partial, which is soon gone, are one that swells and sinks in straight lines. Sums run over
// the strands in their order, so every segment is the same to the bit whatever runs are asked
// for together.
func fill(runs []wanted, rate int) {
	if len(runs) == 0 {
		return
	}
	f := newFiller(runs, rate)
	defer fillers.Put(f)
	strings := runs[0].sp.strings
	for k := 0; k < len(strings); {
		partial := runs[0].sp.partial(k)
		to := k + 1
		for to < len(strings) && runs[0].sp.partial(to) == partial {
			to++
		}
		if imag(strings[k].s) < 2*math.Pi*slowestFast*float64(rate) {
			for ; k < to; k++ {
				f.slowStrand(k)
			}
		} else {
			f.fastStrands(k, to)
		}
		k = to
	}
	for i := range runs {
		for seg, x := range f.slow[i] {
			quicken(runs[i].out[seg], x, f.scratch)
		}
		runs[i].finish()
	}
}

// A filler is what fill works with.
type filler struct {
	runs     []wanted
	rate     int
	segments int           // of the longest run
	slow     [][][]float32 // by run and segment: low strands, from slowReach values before
	memory   []float32     // of these
	begin    []complex128  // of strands, at the start of each segment
	cos, sin []float32     // tables of a block
	up, down []float32     // the same, swelling
	scratch  []float32
}

func newFiller(runs []wanted, rate int) *filler {
	f := fillers.Get().(*filler)
	f.runs, f.rate, f.segments, f.slow = runs, rate, 0, f.slow[:0]
	const size = slowFrames + 2*slowReach
	n := 0
	for _, r := range runs {
		f.segments = max(f.segments, r.want.segments, r.want.low)
		n += len(r.out)
	}
	f.memory = slices.Grow(f.memory[:0], n*size)[:n*size]
	clear(f.memory)
	left := f.memory
	for _, r := range runs {
		x := make([][]float32, len(r.out))
		for seg := range x {
			x[seg], left = left[:size:size], left[size:]
		}
		f.slow = append(f.slow, x)
	}
	f.begin = make([]complex128, f.segments)
	return f
}

// fillers are used again: what they work in is as large as the notes.
var fillers = sync.Pool{New: func() any {
	x := func(n int) []float32 { return make([]float32, n) }
	const size = max(blockFrames, slowFrames+2*slowReach)
	return &filler{cos: x(size), sin: x(size), up: x(blockFrames), down: x(blockFrames), scratch: x(slowFrames)}
}}

// sec is the time of a segment.
func (f *filler) sec(segment int) complex128 {
	return complex(float64(segment*segmentFrames)/float64(f.rate), 0)
}

// slowStrand adds one strand at the low rate, and to the low partials.
func (f *filler) slowStrand(k int) {
	s := f.runs[0].sp.strings[k].s
	for seg := range f.begin {
		f.begin[seg] = cmplx.Exp(s * f.sec(seg))
	}
	before := cmplx.Exp(-s * complex(slowReach*slow/float64(f.rate), 0))
	n := slowFrames + 2*slowReach
	tabled := false
	for i := range f.runs {
		r := &f.runs[i]
		for seg := r.have.segments; seg < r.want.segments; seg++ {
			c := r.sp.strings[k].c * f.begin[seg]
			if magnitude(c) < inaudible*r.sp.peak {
				break
			}
			if !tabled {
				tabled = true
				tableWave(f.cos[:n], f.sin[:n], s*slow, f.rate)
			}
			addWave(f.slow[i][seg-r.have.segments], c*before, f.cos, f.sin)
		}
	}
	share := complex(lowShare(imag(s)/(2*math.Pi)), 0)
	if share == 0 {
		return
	}
	tabled = false
	for i := range f.runs {
		r := &f.runs[i]
		for seg := r.have.low; seg < r.want.low; seg++ {
			c := r.sp.strings[k].c * f.begin[seg] * share
			if magnitude(c) < inaudible*r.sp.peak {
				break
			}
			if !tabled {
				tabled = true
				tableWave(f.cos[:lowFrames], f.sin[:lowFrames], s*lowEvery, f.rate)
			}
			addWave(r.low[seg-r.have.low], c, f.cos, f.sin)
		}
	}
}

// fastStrands adds the strands of one partial as a single one, whose amplitude goes in straight
// lines from what it is where a stretch begins to what it is where it ends: a block, or so
// much less that no strand drifts from their mean by more than straightest meanwhile.
func (f *filler) fastStrands(from, to int) {
	strings := f.runs[0].sp.strings[from:to]
	mean, drift := complex128(0), 0.0
	for _, d := range strings {
		mean += d.s
	}
	mean /= complex(float64(to-from), 0)
	for _, d := range strings {
		drift = max(drift, cmplx.Abs(d.s-mean))
	}
	step := blockFrames
	for step > shortestStep && drift*float64(step)/float64(f.rate) > straightest {
		step /= 2
	}
	sec := complex(float64(step)/float64(f.rate), 0)
	back := cmplx.Exp(-mean * sec)
	var turn [maxStrands]complex128
	for j, d := range strings {
		turn[j] = cmplx.Exp(d.s * sec)
	}
	cos, sin, up, down := f.cos[:step], f.sin[:step], f.up[:step], f.down[:step]
	tabled := false
	for i := range f.runs {
		r := &f.runs[i]
		var z [maxStrands]complex128
		for seg := r.have.segments; seg < r.want.segments; seg++ {
			loud := 0.0
			for j, d := range r.sp.strings[from:to] {
				z[j] = d.c * cmplx.Exp(d.s*f.sec(seg))
				loud += magnitude(z[j])
			}
			if loud < inaudible*r.sp.peak {
				break
			}
			if !tabled {
				tabled = true
				tableWave(cos, sin, mean, f.rate)
				for j := range up {
					x := float32(j) / float32(step)
					up[j], down[j] = cos[j]*x, sin[j]*x
				}
			}
			out := r.out[seg-r.have.segments]
			for b := 0; b < segmentFrames; b += step {
				now, then := complex128(0), complex128(0)
				for j := range to - from {
					now += z[j]
					z[j] *= turn[j]
					then += z[j]
				}
				y := out[b : b+step]
				addWave(y, now, cos, sin)
				if swell := then*back - now; magnitude(swell) >= inaudible*r.sp.peak {
					addWave(y, swell, up, down)
				}
			}
		}
	}
}

// A straight line misses what turns by straightest, in radians or as a share, by straightest
// squared through 8: 40 dB down and more.
const (
	straightest  = 0.28
	shortestStep = 128
)

// maxStrands is the most that a partial has: three strings, and one along the board.
const maxStrands = 4

// magnitude is |re| + |im|.
func magnitude(c complex128) float64 { return math.Abs(real(c)) + math.Abs(imag(c)) }

// addWave adds Re(c e^(st)) to out, e^(st) being tabled.
func addWave(out []float32, c complex128, cos, sin []float32) {
	y := vector(out)
	blas32.Axpy(float32(real(c)), vector(cos[:len(out)]), y)
	blas32.Axpy(float32(-imag(c)), vector(sin[:len(out)]), y)
}

// quickTaps are the weights by which quicken finds the values between: a sinc under a window
// that leaves 77 dB between a wave of up to slowestFast and its errors.
var quickTaps = func() (taps [slow][2 * slowReach]float32) {
	const beta = 8.5
	for phase := 1; phase < slow; phase++ {
		for i := range taps[phase] {
			x := float64(i-slowReach+1) - float64(phase)/slow
			taps[phase][i] = float32(math.Sin(math.Pi*x) / (math.Pi * x) * loudness.Kaiser(beta, x/slowReach))
		}
	}
	return taps
}()

// quicken adds x, a value every slow frames that begins slowReach values before out, to out:
// a value each frame. scratch is as long as out has values of x.
func quicken(out, x, scratch []float32) {
	n := len(out) / slow
	for i, v := range x[slowReach:][:n] {
		out[slow*i] += v
	}
	for phase := 1; phase < slow; phase++ {
		clear(scratch)
		for i, w := range quickTaps[phase] {
			blas32.Axpy(w, vector(x[i+1:][:n]), vector(scratch))
		}
		for i, v := range scratch {
			out[slow*i+phase] += v
		}
	}
}

func vector(x []float32) blas32.Vector { return blas32.Vector{N: len(x), Inc: 1, Data: x} }

// tableWave tables the real and imaginary part of e^(st) over one block, restarted
// every 64 frames so that rounding does not gather.
func tableWave(cos, sin []float32, s complex128, rate int) {
	dt := complex(1/float64(rate), 0)
	turn := cmplx.Exp(s * dt)
	tr, ti := real(turn), imag(turn)
	for i := 0; i < len(cos); i += 64 {
		z := cmplx.Exp(s * dt * complex(float64(i), 0))
		re, im := real(z), imag(z)
		for j := i; j < min(i+64, len(cos)); j++ {
			cos[j], sin[j] = float32(re), float32(im)
			re, im = re*tr-im*ti, re*ti+im*tr
		}
	}
}

// finish lays the blow over the note's beginning and fades its last segment.
func (r *wanted) finish() {
	if len(r.out) == 0 {
		return // only the body is wanted
	}
	if r.have.segments == 0 {
		for i, x := range r.sp.head {
			r.out[0][i] = float32(x)
		}
		for i := range softFrames {
			r.out[0][i] *= float32(i) / softFrames
		}
	}
	if r.want.segments == r.of {
		fadeOut(r.out[len(r.out)-1][:segmentFrames])
	}
}

// fadeOut takes x to nothing along half a cosine.
func fadeOut(x []float32) {
	for i := range x {
		x[i] *= float32(0.5 + 0.5*math.Cos(math.Pi*float64(i+1)/float64(len(x))))
	}
}

// A ringTable is what a resonance does over one block, by itself: the same for
// every note.
type ringTable struct{ cos, sin []float32 }

// bodyMaker computes the parts of notes that no damper stops: board, case, metal.
type bodyMaker struct {
	t     timbre
	table map[complex128]ringTable
}

func newBodyMaker(t timbre) *bodyMaker {
	m := &bodyMaker{t, map[complex128]ringTable{}}
	b := t.body()
	for _, list := range [][]resonance{b.board, b.knock, b.tick} {
		for _, r := range list {
			rt := ringTable{make([]float32, blockFrames), make([]float32, blockFrames)}
			tableWave(rt.cos, rt.sin, r.pole, t.rate)
			m.table[r.pole] = rt
		}
	}
	return m
}

// of computes the body's part of a note into bodyFrames of zeros: what is its own during the
// blow, the board from there on, knock and tick from the beginning.
func (m *bodyMaker) of(out []float32, sp *spectrum) {
	n := len(sp.head)
	for i, x := range m.t.bodyBefore(sp.body, n) {
		out[i] = float32(x)
	}
	for _, d := range sp.body {
		m.ring(out[n:], d)
	}
	for _, d := range sp.knock {
		m.ring(out, d)
	}
	for _, d := range sp.tick {
		m.ring(out, d)
	}
	fadeOut(out[bodyFrames-bodyFade:])
}

// ring adds Re(c e^(st)) until it has faded.
func (m *bodyMaker) ring(out []float32, d damped) {
	rt := m.table[d.s]
	block := cmplx.Exp(d.s * complex(blockFrames/float64(m.t.rate), 0))
	for c := d.c; len(out) > 0 && magnitude(c) >= faded; c *= block {
		n := min(blockFrames, len(out))
		addWave(out[:n], c, rt.cos, rt.sin)
		out = out[n:]
	}
}

// faded is where what rings in the body is let go: 140 dB below C4 at mf.
const faded = 2e-8

// addBody adds the body to segments of strings, from the first one on.
func (n *note) addBody(first int) {
	for i := first; i < len(n.segments) && i*segmentFrames < bodyFrames; i++ {
		body := n.body[i*segmentFrames : min((i+1)*segmentFrames, bodyFrames)]
		blas32.Axpy(1, vector(body), vector(n.segments[i][:len(body)]))
	}
}
