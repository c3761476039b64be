// Package loudness turns frames of sound into their programme loudness and true
// peak, as ITU-R BS.1770-5 defines them.
//
// Loudness is in LUFS (the standard's LKFS), true peak in dB above full scale
// (dBTP), full scale being a sample of 1. One or two channels, each weighted 1.
// Arithmetic is float64; the filters of other sample rates than 48 kHz are the
// same analogue filters by the bilinear transform, so they agree to about 0.01 LU.
// The result does not depend on how the frames were cut into pieces.
package loudness

import (
	"fmt"
	"math"
)

// RunFrames is how many frames a Meter analyses at a time, each run by itself
// after a run-up over the frames before it: about 1.4 s, a whole number of slices.
func RunFrames(rate int) int { return 1024 * SliceFrames(rate) }

// runUp is how many frames before a run its filters need to forget where they
// began: the slowest pole, 0.995 a frame at 48 kHz, falls to 1e-9, below what the
// float32 of a Record shows.
func runUp(rate int) int { return 4096 * max(1, (rate+47999)/48000) }

// A Meter measures a stream. Its zero value is not usable; see NewMeter.
type Meter struct {
	rate    int
	pending [2][]float32
	before  [2][]float32
	high    float32 // of all samples so far
	record  Record
	ended   bool
}

// NewMeter makes a meter for a sample rate of 8 to 192 kHz.
func NewMeter(rate int) (*Meter, error) {
	if rate < 8000 || rate > 192000 {
		return nil, fmt.Errorf("loudness: sample rate %d, wanted 8000 to 192000", rate)
	}
	return &Meter{rate: rate, record: NewRecord(rate, 0)}, nil
}

// Write adds frames. right is nil for one channel, always or never, and as long
// as left otherwise.
func (m *Meter) Write(left, right []float32) {
	m.pending[0] = append(m.pending[0], left...)
	m.pending[1] = append(m.pending[1], right...)
	for n := RunFrames(m.rate); len(m.pending[0]) >= n; {
		m.take(n)
	}
}

func (m *Meter) take(n int) {
	now := [2][]float32{m.pending[0][:n], nil}
	if len(m.pending[1]) > 0 {
		now[1] = m.pending[1][:n]
	}
	a := Analyse(m.rate, m.before, now)
	m.high = max(m.high, a.Highest())
	a.Between(m.before, now, m.high/4)
	m.record.Append(a)
	for ch := range now {
		all := append(m.before[ch], now[ch]...)
		m.before[ch] = append([]float32(nil), all[max(0, len(all)-runUp(m.rate)):]...)
		m.pending[ch] = append(m.pending[ch][:0], m.pending[ch][len(now[ch]):]...)
	}
}

// Record is what has been measured. It ends the stream: nothing may be written
// after it.
func (m *Meter) Record() Record {
	if !m.ended {
		m.ended = true
		m.Write(make([]float32, tapCount), make([]float32, tapCount*min(1, len(m.pending[1])+len(m.before[1]))))
		if len(m.pending[0]) > 0 {
			m.take(len(m.pending[0]))
		}
		m.record.Frames -= tapCount
	}
	return m.record
}

// A Record is a measured stretch in slices of about 1.3 ms, from which loudness
// and true peak follow, also for another gain.
type Record struct {
	Rate   int
	Frames int64
	// Energy is, a slice each, the sum over frames and channels of the square of
	// the weighted signal.
	Energy []float32
	// Peak is, a slice each, the highest magnitude at and between samples. Slices
	// that lie well below others before them may have that at samples only: those of
	// a Meter 12 dB below.
	Peak []float32
}

// NewRecord is an empty record at a sample rate, with room for about so many
// frames.
func NewRecord(rate int, frames int64) Record {
	slices := frames/int64(SliceFrames(rate)) + 1
	return Record{Rate: rate, Energy: make([]float32, 0, slices), Peak: make([]float32, 0, slices)}
}

// SliceFrames is the length of a slice: the largest divisor, up to 64, of the
// 100 ms by which the standard's blocks advance.
func SliceFrames(rate int) int {
	hop := rate / 10
	for n := 64; n > 1; n-- {
		if hop%n == 0 {
			return n
		}
	}
	return 1
}

// Append adds the analysis of the frames that follow.
func (r *Record) Append(next Analysis) {
	r.Frames += int64(next.frames)
	r.Energy = append(r.Energy, next.energy...)
	r.Peak = append(r.Peak, next.peak...)
}

// Integrated is the gated loudness, LUFS: blocks of 400 ms that overlap by three
// quarters, those above -70 LUFS, of these those not more than 10 LU below their
// mean. -Inf when there is nothing above -70 LUFS.
func (r *Record) Integrated() float64 { return r.IntegratedWith(nil) }

// IntegratedWith is Integrated as if slice i were multiplied by gain(i). nil
// leaves all as they are.
func (r *Record) IntegratedWith(gain func(slice int) float64) float64 {
	blocks := r.blocks(gain)
	absolute := mean(blocks, fromLUFS(-70))
	if absolute == 0 {
		return math.Inf(-1)
	}
	return toLUFS(mean(blocks, max(fromLUFS(-70), absolute/10)))
}

// blocks are the mean squares of all 400 ms blocks. A stretch shorter than one
// block counts as one, with silence after it.
func (r *Record) blocks(gain func(int) float64) []float64 {
	perHop := r.Rate / 10 / SliceFrames(r.Rate)
	// What is left at the end makes no block (Annex 1, "incomplete gating block").
	whole := int(r.Frames / int64(r.Rate/10))
	if whole < 4 {
		whole = 4
	}
	var hops []float64
	for i, e := range r.Energy {
		if i%perHop == 0 {
			if len(hops) == whole {
				break
			}
			hops = append(hops, 0)
		}
		g := 1.0
		if gain != nil {
			g = gain(i)
		}
		hops[len(hops)-1] += float64(e) * g * g
	}
	for len(hops) < 4 {
		hops = append(hops, 0)
	}
	frames := float64(r.Rate/10) * 4
	var blocks []float64
	for i := range len(hops) - 3 {
		blocks = append(blocks, (hops[i]+hops[i+1]+hops[i+2]+hops[i+3])/frames)
	}
	return blocks
}

// mean of those above the gate, 0 if none is.
func mean(blocks []float64, gate float64) float64 {
	sum, n := 0.0, 0
	for _, b := range blocks {
		if b > gate {
			sum += b
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// The offset of the standard: a 997 Hz sine at full scale in one channel reads
// -3.01.
func toLUFS(square float64) float64 { return -0.691 + 10*math.Log10(square) }
func fromLUFS(l float64) float64    { return math.Pow(10, (l+0.691)/10) }

// TruePeak is the highest magnitude between samples, 1 at full scale.
func (r *Record) TruePeak() float64 {
	p := float32(0)
	for _, x := range r.Peak {
		p = max(p, x)
	}
	return float64(p)
}

// DB is 20 log10 of a magnitude, -Inf for 0.
func DB(x float64) float64 { return 20 * math.Log10(x) }
