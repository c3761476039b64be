package sound

import (
	"sync"

	"gonum.org/v1/gonum/blas/blas32"
)

// An adder adds strokes to a piece of sound.
type adder struct {
	out   [2][]float32 // right is nil for one channel
	begin int64        // frame of the piece
	low   [2][]float32 // what dampers leave longer of low partials: see addLow; nil: nothing
	*scratch
}

// softMs is how long what begins in the middle of a note takes to come in: too short
// to be missed, too long to click (assumed).
const softMs = 5

// A scratch has room for what is made of a segment on its way to the sound.
type scratch struct{ strings, body, done []float32 }

var scratches = sync.Pool{New: func() any {
	x := func(n int) []float32 { return make([]float32, n) }
	return &scratch{x(segmentFrames), x(segmentFrames), x(segmentFrames)}
}}

// mixPiece adds up what is heard in the frames from begin on, stroke after stroke
// in their order. What began before frame 0 comes in softly.
func (m *mixer) mixPiece(out, low [2][]float32, begin int64, heard []int32) {
	a := adder{out, begin, low, scratches.Get().(*scratch)}
	defer scratches.Put(a.scratch)
	end := begin + int64(len(out[0]))
	soft := begin == 0
	for _, i := range heard {
		s := &m.list[i]
		if soft && s.at >= 0 {
			a.comeIn(m.o.SampleRate * softMs / 1000)
			soft = false
		}
		if s.at >= end || s.at+s.lasts() <= begin {
			continue
		}
		n := m.layered(s)
		of := nuanceOfStroke[s.nuance]
		a.add(s, n.times(of.gain))
		if of.share != 0 {
			a.addColour(s, n.times(of.gain*of.share), int(FrameAt(of.delaySec, m.o.SampleRate)))
		}
	}
	if soft {
		a.comeIn(m.o.SampleRate * softMs / 1000)
	}
}

// comeIn lets what is there so far come in softly.
func (a *adder) comeIn(frames int) {
	for ch := range a.out {
		for i := range a.out[ch][:min(frames, len(a.out[ch]))] {
			a.out[ch][i] *= float32(i) / float32(frames)
		}
		for i := range a.low[ch][:min((frames-lowDelay)/lowEvery, len(a.low[ch]))] {
			a.low[ch][i] *= float32(i*lowEvery+lowDelay) / float32(frames)
		}
	}
}

// A layered is a note, to which a share of the same key's next layer may be added.
type layered struct {
	layers [2]*note // the second is nil if there is one
	weight [2]float32
}

func (m *mixer) layered(s *stroke) layered {
	ids := s.layers()
	n := layered{[2]*note{m.stock.notes[ids[0]], nil}, [2]float32{s.low, 0}}
	if len(ids) == 2 {
		w := n.layers[0].mixture(s.low, s.high)
		n.layers[1] = m.stock.notes[ids[1]]
		n.weight = [2]float32{w * s.low, w * s.high}
	}
	return n
}

func (n layered) times(by float32) layered {
	n.weight[0] *= by
	n.weight[1] *= by
	return n
}

// mixed are the layers as of says of each, and the weight that is still missing: two layers are
// brought together in scratch.
func (n *layered) mixed(scratch []float32, of func(*note) []float32) (x []float32, weight float32) {
	x = of(n.layers[0])
	if n.layers[1] == nil {
		return x, n.weight[0]
	}
	y := scratch[:copy(scratch, x)]
	blas32.Axpy(n.weight[1]/n.weight[0], vector(of(n.layers[1])[:len(y)]), vector(y))
	return y, n.weight[0]
}

// add adds a stroke of a note, act by act: first a curve, then at what it leaves. The strings
// end where the stroke says, and the body goes on.
func (a *adder) add(s *stroke, n layered) {
	from, to := a.clip(s.at, int(s.lasts()))
	strings := min(to, int(s.end))
	for i := range s.acts {
		now := &s.acts[i]
		begin, end := max(from, int(now.from)), strings
		if i+1 < len(s.acts) {
			end = min(end, int(s.acts[i+1].from))
		}
		if begin >= end || now.high == 0 {
			continue
		}
		left := now.high
		if c := now.curve; c != nil {
			curved := min(end, int(now.from)+len(c.high))
			a.curved(s, &n, now, begin, curved)
			begin = max(begin, curved)
			if left *= c.high[len(c.high)-1]; c.damps {
				continue
			}
		}
		a.ringing(s, &n, left, begin, end)
	}
	a.ownBody(s, &n, 1, max(from, int(s.end)), to)
	if s.lowEnd > 0 && a.low[0] != nil {
		a.addLows(s, &n)
	}
}

// ringing adds frames of strings that ring at a share of the note, and its body.
func (a *adder) ringing(s *stroke, n *layered, share float32, from, to int) {
	for at := from; at < to; {
		segment, in := at/segmentFrames, at%segmentFrames
		end := min(to, at-in+segmentFrames)
		for l, layer := range n.layers {
			if layer != nil {
				a.put(layer.segments[segment][in:in+end-at], s.at+int64(at), s.gain(n.weight[l]*share))
			}
		}
		at = end
	}
	if share != 1 {
		a.ownBody(s, n, 1-share, from, to)
	}
}

// ownBody adds frames of a share of the body by itself, as far as it goes.
func (a *adder) ownBody(s *stroke, n *layered, share float32, from, to int) {
	if to = min(to, bodyFrames); from >= to {
		return
	}
	for l, layer := range n.layers {
		if layer != nil {
			a.put(layer.body[from:to], s.at+int64(from), s.gain(n.weight[l]*share))
		}
	}
}

// curved adds frames of strings that go down along the curve of an act, and of the body.
func (a *adder) curved(s *stroke, n *layered, now *act, from, to int) {
	for from < to {
		segment, in := from/segmentFrames, from%segmentFrames
		end := min(to, from-in+segmentFrames)
		if from < bodyFrames {
			end = min(end, bodyFrames)
		}
		x, weight := n.mixed(a.strings, func(of *note) []float32 { return of.segments[segment][in : in+end-from] })
		y, left, share := a.done[:len(x)], now.curve.high[from-int(now.from):][:len(x)], now.high
		if from < bodyFrames {
			body, _ := n.mixed(a.body, func(of *note) []float32 { return of.body[from:end] })
			body = body[:len(x)]
			for i, v := range x {
				y[i] = body[i] + (v-body[i])*(share*left[i])
			}
		} else {
			multiply(y, x, left)
			weight *= share
		}
		a.put(y, s.at+int64(from), s.gain(weight))
		from = end
	}
}

// multiply writes the products of two to y, four at a time.
func multiply(y, a, b []float32) {
	n := len(y) &^ 3
	for i := 0; i < n; i += 4 {
		y, a, b := (*[4]float32)(y[i:]), (*[4]float32)(a[i:]), (*[4]float32)(b[i:])
		y[0], y[1], y[2], y[3] = a[0]*b[0], a[1]*b[1], a[2]*b[2], a[3]*b[3]
	}
	for i := n; i < len(y); i++ {
		y[i] = a[i] * b[i]
	}
}

// addColour adds the echo that colours a stroke, as long as nothing has begun to take it down.
func (a *adder) addColour(s *stroke, n layered, delay int) {
	from, to := a.clip(s.at+int64(delay), echoFrames)
	undamped := echoFrames
	if len(s.acts) > 1 {
		undamped = min(undamped, int(s.acts[1].from))
	}
	if s.end == 0 || from >= to {
		return
	}
	for l, layer := range n.layers {
		if end := min(to, undamped); layer != nil && from < end {
			a.put(layer.colour[from:end], s.at+int64(delay+from), s.gain(n.weight[l]))
		}
	}
	if from = max(from, undamped); from < to {
		x, weight := n.mixed(a.strings, func(of *note) []float32 { return of.colour[from:to] })
		y := a.done[:len(x)]
		for i, v := range x {
			y[i] = v * s.share(int32(from+i))
		}
		a.put(y, s.at+int64(delay+from), s.gain(weight))
	}
}

// share is what is left of the strings of a stroke at a frame.
func (s *stroke) share(frame int32) float32 {
	i := len(s.acts) - 1
	for i > 0 && s.acts[i].from > frame {
		i--
	}
	high, _ := s.acts[i].then(frame)
	return high
}

// gain is that of the channels for a stroke of some weight.
func (s *stroke) gain(weight float32) [2]float32 {
	return [2]float32{s.left * weight, s.right * weight}
}

// A nuance is how a stroke differs from others of its key and level, assumed: a little
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

func (a *adder) put(x []float32, at int64, gain [2]float32) {
	i := int(at - a.begin)
	for ch, g := range gain {
		if g != 0 && a.out[ch] != nil {
			blas32.Axpy(g, vector(x), vector(a.out[ch][i:i+len(x)]))
		}
	}
}
