// Package pcm turns samples of -1 to 1 into integers of 16 or 24 bits.
//
// Rounding is to nearest, ties to even, after scaling by 2^(bits-1); what lies
// outside is clipped to the range of the integers. At 16 bits triangular dither
// of two steps width is added first (S. P. Lipshitz, R. A. Wannamaker, J.
// Vanderkooy, JAES 40 (1992) 355). The dither is a function of channel and frame,
// so the same frame always comes out the same, wherever a stream was cut.
// Digital silence stays silent: a sample that is exactly 0 gets no dither.
package pcm

import (
	"encoding/binary"
	"math"
)

// A Quantizer makes integers of one width.
type Quantizer struct {
	Bits   int  // 16 or 24
	Dither bool // add triangular dither
}

// For is the quantizer of a width as files are written: dither at 16 bits only,
// for at 24 the noise of any room is louder.
func For(bits int) Quantizer { return Quantizer{bits, bits <= 16} }

// Ints writes the integers of the samples src of one channel, 0 or 1, frame by
// frame from firstFrame, to dst, which has to be as long.
func (q Quantizer) Ints(dst []int32, src []float32, channel int, firstFrame int64) {
	scale := math.Exp2(float64(q.Bits - 1))
	dst = dst[:len(src)]
	for i, x := range src {
		dst[i] = q.one(x, scale, channel, uint64(firstFrame)+uint64(i))
	}
}

func (q Quantizer) one(x float32, scale float64, channel int, frame uint64) int32 {
	v := float64(x) * scale
	if q.Dither && x != 0 {
		v += triangular(mixed(frame) >> (32 * channel))
	}
	return clip(v, scale)
}

// Bytes writes the same integers of one or two channels, interleaved, each the
// fewest bytes, little-endian.
func (q Quantizer) Bytes(dst []byte, left, right []float32, firstFrame int64) {
	switch {
	case q.Bits == 16 && q.Dither && right != nil:
		dithered16(dst, left, right, uint64(firstFrame))
	case q.Bits == 24 && !q.Dither && right != nil:
		plain24(dst, left, right)
	case right == nil:
		q.channelBytes(dst, left, 0, 1, firstFrame)
	default:
		q.channelBytes(dst, left, 0, 2, firstFrame)
		q.channelBytes(dst, right, 1, 2, firstFrame)
	}
}

func (q Quantizer) channelBytes(dst []byte, src []float32, channel, channels int, firstFrame int64) {
	scale := math.Exp2(float64(q.Bits - 1))
	width := q.Bits / 8
	for i, x := range src {
		v := q.one(x, scale, channel, uint64(firstFrame)+uint64(i))
		d := dst[(i*channels+channel)*width:]
		d[0], d[1] = byte(v), byte(v>>8)
		if width == 3 {
			d[2] = byte(v >> 16)
		}
	}
}

// plain24 is a common case, in one pass.
func plain24(dst []byte, left, right []float32) {
	const scale = 1 << 23
	right = right[:len(left)]
	for i, x := range left {
		l, r := uint32(clip(float64(x)*scale, scale)), uint32(clip(float64(right[i])*scale, scale))
		d := dst[6*i : 6*i+6]
		binary.LittleEndian.PutUint32(d, l&0xffffff|r<<24)
		binary.LittleEndian.PutUint16(d[4:], uint16(r>>8))
	}
}

// dithered16 is the commonest case, in one pass.
func dithered16(dst []byte, left, right []float32, frame uint64) {
	const scale = 1 << 15
	right = right[:len(left)]
	dst = dst[:4*len(left)]
	for i, l := range left {
		r := right[i]
		if l == 0 && r == 0 {
			binary.LittleEndian.PutUint32(dst[4*i:], 0)
			continue
		}
		bits := mixed(frame + uint64(i))
		a, b := float64(l)*scale, float64(r)*scale
		if l != 0 {
			a += triangular(bits)
		}
		if r != 0 {
			b += triangular(bits >> 32)
		}
		binary.LittleEndian.PutUint32(dst[4*i:], uint32(uint16(clip(a, scale)))|uint32(clip(b, scale))<<16)
	}
}

// clip rounds to the nearest integer of -scale to scale-1. A number that is none
// becomes silence.
func clip(v, scale float64) int32 {
	if v > -scale && v < scale-1 {
		// Adding and taking away 1.5 * 2^52 leaves the nearest integer, ties to even.
		const magic = 3 << 51
		return int32((v + magic) - magic)
	}
	switch {
	case v > 0:
		return int32(scale - 1)
	case v < 0:
		return int32(-scale)
	}
	return 0
}

// mixed is a well-mixed counter (the finalizer of splitmix64; G. Steele, D. Lea,
// C. Flood, OOPSLA 2014): 32 bits for each of two channels.
func mixed(n uint64) uint64 {
	n *= 0x9e3779b97f4a7c15
	n = (n ^ n>>30) * 0xbf58476d1ce4e5b9
	n = (n ^ n>>27) * 0x94d049bb133111eb
	return n ^ n>>31
}

// triangular is noise between -1 and 1, most often near 0: the difference of two
// numbers of 16 bits.
func triangular(bits uint64) float64 {
	return float64(int32(bits&0xffff)-int32(bits>>16&0xffff)) / (1 << 16)
}
