package sound

import (
	"slices"
	"sync"

	"gonum.org/v1/gonum/blas/blas32"
)

// An adder adds strokes to a piece of sound.
type adder struct {
	out   [2][]float32 // right is nil for one channel
	begin int64        // frame of the piece
	soft  int          // frames over which a note comes in that began before frame 0
	low   [2][]float32 // of the same frames, what dampers leave longer of low partials
	*scratch
}

// softMs is how long what begins in the middle of a note takes to come in: too short
// to be missed, too long to click (assumed).
const softMs = 5

// A scratch has room for what is made of a segment on its way to the sound.
type scratch struct{ strings, body, alone [segmentFrames]float32 }

var scratches = sync.Pool{New: func() any { return new(scratch) }}

// mixPiece adds up what is heard in the frames from begin on, stroke after stroke
// in their order.
func (m *mixer) mixPiece(out, low [2][]float32, begin int64, heard []int32) {
	a := adder{out, begin, m.o.SampleRate * softMs / 1000, low, scratches.Get().(*scratch)}
	defer scratches.Put(a.scratch)
	end := begin + int64(len(out[0]))
	for _, i := range heard {
		s := &m.list[i]
		if s.at >= end || s.at+s.lasts() <= begin {
			continue
		}
		ids := s.layers()
		weight, share := s.low, float32(0)
		n := m.stock.notes[ids[0]]
		var above *note
		if len(ids) == 2 {
			above = m.stock.notes[ids[1]]
			weight, share = s.low*n.mixture(s.low, s.high), s.high/s.low
		}
		of := nuanceOfStroke[s.nuance]
		a.add(s, layered{n, above, share}, weight*of.gain, 0)
		if of.share != 0 {
			delay := int(FrameAt(of.delaySec, m.o.SampleRate))
			a.add(s, layered{n, above, share}, weight*of.gain*of.share, delay)
		}
	}
}

// A layered is a note, to which a share of the same key's next layer may be added.
type layered struct {
	*note
	above *note // nil: none
	share float32
}

// strings are frames of strings and body, in one segment; to scratch they are
// written only if they have to be.
func (n *layered) strings(scratch []float32, from, to int) []float32 {
	segment, in := from/segmentFrames, from%segmentFrames
	x := n.segments[segment][in : in+to-from]
	if n.above == nil {
		return x
	}
	return n.with(scratch, x, n.above.segments[segment][in:])
}

// ownBody are frames of the body by itself, as far as it goes.
func (n *layered) ownBody(scratch []float32, from, to int) []float32 {
	if from >= bodyFrames {
		return nil
	}
	x := n.body[from:to]
	if n.above == nil {
		return x
	}
	return n.with(scratch, x, n.above.body[from:])
}

func (n *layered) with(scratch, x, above []float32) []float32 {
	y := scratch[:copy(scratch, x)]
	blas32.Axpy(n.share, vector(above[:len(y)]), vector(y))
	return y
}

// add adds a stroke of a note, stretch by stretch: until its next act begins, a curve, a
// segment, the strings or the body end. With a delay it is the echo that colours it.
func (a *adder) add(s *stroke, n layered, weight float32, delay int) {
	gain := [2]float32{s.left * weight, s.right * weight}
	at, silent := s.at+int64(delay), int(s.end)
	length := int(s.lasts())
	if delay > 0 {
		length = min(length, echoFrames)
	}
	from, to := a.clip(at, length)
	acting := len(s.acts) - 1
	for acting > 0 && int(s.acts[acting].from) > from {
		acting--
	}
	for from < to {
		now := &s.acts[acting]
		curveEnds := 0
		if now.curve != nil {
			curveEnds = int(now.from) + len(now.curve.high)
		}
		end := min(to, from-from%segmentFrames+segmentFrames)
		for _, edge := range [...]int{silent, bodyFrames, curveEnds} {
			if from < edge {
				end = min(end, edge)
			}
		}
		if acting+1 < len(s.acts) {
			end = min(end, int(s.acts[acting+1].from))
		}
		if end > from {
			a.stretch(s, &n, now, [2]int{from, end}, delay, gain)
		}
		if from = end; acting+1 < len(s.acts) && from >= int(s.acts[acting+1].from) {
			acting++
		}
	}
}

// stretch adds frames of a note in which one act goes on.
func (a *adder) stretch(s *stroke, n *layered, now *act, frames [2]int, delay int, gain [2]float32) {
	from, to := frames[0], frames[1]
	at := s.at + int64(delay+from)
	soft := at < int64(a.soft) && s.at < 0
	if now.curve == nil && now.high == 1 && now.low == 1 && from < int(s.end) && delay == 0 && !soft {
		// Two layers are added one after the other, which is what their mixture would be.
		segment, in := from/segmentFrames, from%segmentFrames
		a.put(a.out, n.segments[segment][in:in+to-from], at, gain)
		if n.above != nil {
			a.put(a.out, n.above.segments[segment][in:in+to-from], at, [2]float32{gain[0] * n.share, gain[1] * n.share})
		}
		return
	}
	var x, low []float32
	if from < int(s.end) {
		x, low = a.taken(n, now, from, to)
	} else {
		x = n.ownBody(a.body[:], from, to)
	}
	if delay > 0 {
		y := a.strings[:copy(a.strings[:], x)]
		for i, fade := range echoFade[from:to] {
			y[i] *= fade
		}
		x, low = y, nil
	}
	if soft {
		x = a.softened(x, int(at))
	}
	a.put(a.out, x, at, gain)
	if low != nil && a.low[0] != nil {
		a.put(a.low, low, at, gain)
	}
}

// taken are frames of a note as an act leaves them: all, and what more is left of low
// partials; nil if there is no difference.
func (a *adder) taken(n *layered, now *act, from, to int) (all, more []float32) {
	x := n.strings(a.strings[:], from, to)
	c, since := now.curve, from-int(now.from)
	if c != nil && since >= len(c.high) { // struck again, and ringing on
		now = &act{high: now.high * c.high[len(c.high)-1], low: now.low * c.low[len(c.low)-1]}
		c = nil
	}
	if c == nil && now.high == 1 && now.low == 1 {
		return x, nil
	}
	out, other, body := a.strings[:len(x)], a.alone[:len(x)], n.ownBody(a.body[:], from, to)
	alone := x // the strings by themselves
	if body != nil {
		alone = other
		for i, v := range x {
			alone[i] = v - body[i]
		}
	}
	high, low := now.high, now.low
	switch {
	case c == nil && low == high:
		for i, v := range alone {
			out[i] = v * high
		}
	case c == nil:
		more = other
		for i, v := range alone {
			out[i], more[i] = v*high, v*(low-high)
		}
	case &c.high[0] == &c.low[0] && low == high:
		for i, left := range c.high[since:][:len(alone)] {
			out[i] = alone[i] * high * left
		}
	default:
		more = other
		h, l := c.high[since:][:len(alone)], c.low[since:][:len(alone)]
		for i, v := range alone {
			x := v * high * h[i]
			out[i], more[i] = x, v*low*l[i]-x
		}
	}
	if body != nil {
		blas32.Axpy(1, vector(body), vector(out))
	}
	return out, more
}

// A nuance is how a stroke differs from others of its key and level, chosen by ear: a little
// louder or softer, and coloured in its first 43 ms by an echo of itself, so early that
// it is heard as a colour: partials differ by up to 1.6 dB.
type nuance struct {
	gain, share float32
	delaySec    float64
}

var nuanceOfStroke = [nuances]nuance{{1, 0, 0}, {0.98, 0.09, 0.48e-3}, {1.02, -0.08, 0.86e-3}, {0.99, 0.07, 1.4e-3}}

// echoFrames is how long a stroke is coloured, echoFade how the colour goes.
const echoFrames = segmentFrames / 2

var echoFade = func() []float32 {
	x := make([]float32, echoFrames)
	for i := range x {
		x[i] = 1
	}
	fadeOut(x[echoFrames/2:])
	return x
}()

// clip is the part of a note of some length that lies in the piece, in the note's
// frames.
func (a *adder) clip(at int64, length int) (from, to int) {
	offset := a.begin - at
	return int(max(0, offset)), int(min(int64(length), offset+int64(len(a.out[0]))))
}

// softened lets frames come in softly that are the middle of a note where the sound
// begins. at is the frame of the first.
func (a *adder) softened(x []float32, at int) []float32 {
	y := a.strings[:copy(a.strings[:], x)]
	for i := range y[:min(len(y), a.soft-at)] {
		y[i] *= float32(at+i) / float32(a.soft)
	}
	return y
}

func (a *adder) put(out [2][]float32, x []float32, at int64, gain [2]float32) {
	i := int(at - a.begin)
	for ch, g := range gain {
		if g != 0 && out[ch] != nil {
			blas32.Axpy(g, vector(x), vector(out[ch][i:i+len(x)]))
		}
	}
}

// dampedLowHz is where what dampers leave longer of low partials ends, chosen by ear.
const dampedLowHz = 300

// A lowPass takes what is left of low partials, and nothing of high ones: one pole, over the
// frames in their order.
type lowPass struct{ share, state float32 }

// add adds x, filtered, to out. x is left as silence. What has faded far below what is
// heard becomes nothing, and nothing costs little.
func (f *lowPass) add(out, x []float32) {
	const block = 256
	state, share := f.state, f.share
	for at := 0; at < len(x); at += block {
		x := x[at:min(at+block, len(x))]
		out := out[at:][:len(x)]
		if state == 0 && !slices.ContainsFunc(x, func(v float32) bool { return v != 0 }) {
			continue
		}
		for i, v := range x {
			state += share * (v - state)
			out[i] += state
			x[i] = 0
		}
		if max(state, -state) < 1e-12 {
			state = 0
		}
	}
	f.state = state
}
