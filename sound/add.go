package sound

import (
	"sync"

	"gonum.org/v1/gonum/blas/blas32"
)

// An adder adds strokes to a piece of sound.
type adder struct {
	out   [2][]float32 // right is nil for one channel
	begin int64        // frame of the piece
	soft  int          // frames over which a note comes in that began before frame 0
	*scratch
}

// softMs is how long what begins in the middle of a note takes to come in: too short
// to be missed, too long to click (assumed).
const softMs = 5

// A scratch has room for what is made of a segment on its way to the sound.
type scratch struct{ strings, body [segmentFrames]float32 }

var scratches = sync.Pool{New: func() any { return new(scratch) }}

// mixPiece adds up what is heard in the frames from begin on, stroke after stroke
// in their order.
func (m *mixer) mixPiece(out [2][]float32, begin int64, heard []int32) {
	a := adder{out, begin, m.o.SampleRate * softMs / 1000, scratches.Get().(*scratch)}
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
		a.add(s, layered{n, above, share}, weight, m.releases[s.stop])
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

// add adds a stroke of a note, stretch by stretch: until the damper comes down, the
// strings are silent, a segment or the body ends.
func (a *adder) add(s *stroke, n layered, weight float32, stop release) {
	gain := [2]float32{s.left * weight, s.right * weight}
	hold, silent := int(s.hold), int(s.end)
	from, to := a.clip(s.at, int(s.lasts()))
	for from < to {
		end := min(to, from-from%segmentFrames+segmentFrames)
		for _, edge := range [...]int{hold, silent, bodyFrames} {
			if from < edge {
				end = min(end, edge)
			}
		}
		var x []float32
		switch {
		case from >= silent:
			x = n.ownBody(a.body[:], from, end)
		case from >= hold:
			body := n.ownBody(a.body[:], from, end)
			x = damp(a.strings[:], n.strings(a.strings[:], from, end), body, stop[from-hold:])
		default:
			x = n.strings(a.strings[:], from, end)
		}
		if s.at < 0 && s.at+int64(from) < int64(a.soft) {
			x = a.softened(x, int(s.at)+from)
		}
		a.put(x, s.at+int64(from), gain)
		from = end
	}
}

// clip is the part of a note of some length that lies in the piece, in the note's
// frames.
func (a *adder) clip(at int64, length int) (from, to int) {
	offset := a.begin - at
	return int(max(0, offset)), int(min(int64(length), offset+int64(len(a.out[0]))))
}

// damp writes x, of which the body is not damped, times the release to out. The body
// may have ended.
func damp(out, x, body, stop []float32) []float32 {
	out, stop = out[:len(x)], stop[:len(x)]
	if body == nil {
		for i, v := range x {
			out[i] = v * stop[i]
		}
		return out
	}
	body = body[:len(x)]
	for i, v := range x {
		out[i] = body[i] + (v-body[i])*stop[i]
	}
	return out
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

func (a *adder) put(x []float32, at int64, gain [2]float32) {
	i := int(at - a.begin)
	for ch, g := range gain {
		if g != 0 && a.out[ch] != nil {
			blas32.Axpy(g, vector(x), vector(a.out[ch][i:i+len(x)]))
		}
	}
}
