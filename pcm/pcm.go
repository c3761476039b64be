// Package pcm turns samples of -1 to 1 into integers of 16 or 24 bits.
//
// Rounding is to nearest, ties to even, after scaling by 2^(bits-1); what lies
// outside is clipped to the range of the integers. At 16 bits triangular dither
// of two steps width is added first (S. P. Lipshitz, R. A. Wannamaker, J.
// Vanderkooy, JAES 40 (1992) 355). The dither is a function of channel and frame,
// so the same frame always comes out the same, wherever a stream was cut.
// Digital silence stays silent: a sample that is exactly 0 gets no dither.
package pcm

import "math"

// A Quantizer makes integers of one width.
type Quantizer struct {
	Bits   int  // 16 or 24
	Dither bool // add triangular dither
}

// For is the quantizer of a width as files are written: dither at 16 bits only,
// for at 24 the noise of any room is louder.
func For(bits int) Quantizer { return Quantizer{bits, bits <= 16} }

// Ints writes the integers of the samples src, frame by frame from firstFrame,
// of one channel, to dst at every stride-th place from the first. dst has to hold
// them.
func (q Quantizer) Ints(dst []int32, stride int, src []float32, channel int, firstFrame int64) {
	scale := math.Exp2(float64(q.Bits - 1))
	seed := uint64(channel+1) << 56
	for i, x := range src {
		v := float64(x) * scale
		if q.Dither && x != 0 {
			v += triangular(seed + uint64(firstFrame) + uint64(i))
		}
		dst[i*stride] = clip(v, scale)
	}
}

// clip rounds to the nearest integer of -scale to scale-1. A number that is none
// becomes silence.
func clip(v, scale float64) int32 {
	switch {
	case v >= scale-1:
		return int32(scale - 1)
	case v <= -scale:
		return int32(-scale)
	case v != v:
		return 0
	}
	// Adding and taking away 1.5 * 2^52 leaves the nearest integer, ties to even.
	const magic = 3 << 51
	return int32((v + magic) - magic)
}

// triangular is noise between -1 and 1, most often near 0, from the two halves of
// a well-mixed counter (the finalizer of splitmix64; G. Steele, D. Lea, C. Flood,
// OOPSLA 2014).
func triangular(n uint64) float64 {
	n *= 0x9e3779b97f4a7c15
	n = (n ^ n>>30) * 0xbf58476d1ce4e5b9
	n = (n ^ n>>27) * 0x94d049bb133111eb
	n ^= n >> 31
	return float64(int64(n>>32)-int64(n&0xffffffff)) / (1 << 32)
}
