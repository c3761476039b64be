package sound

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/blas/blas32"
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
	inaudible      = 3e-6 // -110 dB
	silence        = 1e-4 // -80 dB
	longestNoteSec = 30
)

// segments is how many segments a note lasts that no damper stops: until its
// first partials, the n-th taken at 1/n of the first, are at silence. It is the
// same for all levels and hammers.
func (t timbre) segments(c *Course) int {
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
	n, limit := 1, int(longestNoteSec/step)
	for n < limit && loud(float64(n)*step) > silence*loud(0) {
		n++
	}
	return n + 1
}

// A wanted is one run of segments of one note's strings, to be computed.
type wanted struct {
	sp          *spectrum
	first, last int         // segments; up to last, not with it
	of          int         // segments of the whole note
	out         [][]float32 // the segments, zeros
}

// fill computes runs of segments of notes of one key, whose strands are the same
// at every level, strand by strand: the shape of a strand over one block is
// tabled once, and each block of each note is that table turned and weighted.
// Sums run over the strands in their order, so every block is the same to the
// bit whatever runs are asked for together.
func fill(runs []wanted, rate int) {
	if len(runs) == 0 {
		return
	}
	cos, sin := make([]float32, blockFrames), make([]float32, blockFrames)
	last := 0
	for _, r := range runs {
		last = max(last, r.last)
	}
	begin := make([]complex128, last) // of a strand, at the start of each segment
	for k, d := range runs[0].sp.strings {
		for seg := range begin {
			begin[seg] = cmplx.Exp(d.s * complex(float64(seg*segmentFrames)/float64(rate), 0))
		}
		block := cmplx.Exp(d.s * complex(float64(blockFrames)/float64(rate), 0))
		tabled := false
		for i := range runs {
			r := &runs[i]
			for seg := r.first; seg < r.last; seg++ {
				c := r.sp.strings[k].c * begin[seg]
				if math.Abs(real(c))+math.Abs(imag(c)) < inaudible*r.sp.peak {
					break
				}
				if !tabled {
					tabled = true
					tableWave(cos, sin, d.s, rate)
				}
				addSegment(r.out[seg-r.first][:segmentFrames], c, block, cos, sin)
			}
		}
	}
	for i := range runs {
		runs[i].finish()
	}
}

// addSegment adds Re(c e^(st)) block by block; turn is what a block does to it.
func addSegment(out []float32, c, turn complex128, cos, sin []float32) {
	for b := range segmentBlocks {
		y := vector(out[b*blockFrames:][:blockFrames])
		blas32.Axpy(float32(real(c)), vector(cos), y)
		blas32.Axpy(float32(-imag(c)), vector(sin), y)
		c *= turn
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
	if r.first == 0 {
		for i, x := range r.sp.head {
			r.out[0][i] = float32(x)
		}
		for i := range softFrames {
			r.out[0][i] *= float32(i) / softFrames
		}
	}
	if r.last == r.of {
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

// of computes the body's part of a note into bodyFrames of zeros: frame by frame
// through the first block, in which the blow ends, and by tables after it.
func (m *bodyMaker) of(out []float32, sp *spectrum) {
	sum := make([]float64, blockFrames)
	n := min(len(sp.head), blockFrames)
	copy(sum, m.t.bodyBefore(sp.body, len(sp.head))[:n])
	for _, d := range sp.body {
		m.ring(sum[n:], out, d, n)
	}
	for _, d := range sp.stop {
		m.ring(sum, out, d, 0)
	}
	for i, x := range sum {
		out[i] = float32(x)
	}
	fadeOut(out[bodyFrames-bodyFade:])
}

// ring adds Re(c e^(st)), t counted from frame at of the first block: to begin
// until that block ends, to all after it.
func (m *bodyMaker) ring(begin []float64, all []float32, d damped, at int) {
	turn := cmplx.Exp(d.s * complex(1/float64(m.t.rate), 0))
	tr, ti := real(turn), imag(turn)
	re, im := real(d.c), imag(d.c)
	for i := range begin {
		begin[i] += re
		re, im = re*tr-im*ti, re*ti+im*tr
	}
	for b := blockFrames; b < len(all); b += blockFrames {
		c := d.c * cmplx.Exp(d.s*complex(float64(b-at)/float64(m.t.rate), 0))
		if cmplx.Abs(c) < 1e-10 {
			return
		}
		y, rt := vector(all[b:b+blockFrames]), m.table[d.s]
		blas32.Axpy(float32(real(c)), vector(rt.cos), y)
		blas32.Axpy(float32(-imag(c)), vector(rt.sin), y)
	}
}

// addBody adds the body to segments of strings, from the first one on.
func (n *note) addBody(first int) {
	for i := first; i < len(n.segments) && i*segmentFrames < bodyFrames; i++ {
		body := n.body[i*segmentFrames : min((i+1)*segmentFrames, bodyFrames)]
		blas32.Axpy(1, vector(body), vector(n.segments[i][:len(body)]))
	}
}
