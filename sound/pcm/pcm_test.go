package pcm

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestRounding(t *testing.T) {
	tests := []struct {
		bits int
		x    float32
		want int32
	}{
		{16, 0, 0}, {16, 0.5, 16384}, {16, 1, 32767}, {16, -1, -32768}, {16, 7, 32767}, {16, -7, -32768},
		{16, 1.5 / 32768, 2}, {16, 2.5 / 32768, 2}, {16, -1.5 / 32768, -2}, // ties to even
		{24, 0.5, 1 << 22}, {24, 1, 1<<23 - 1}, {24, -1, -1 << 23},
		{16, float32(math.NaN()), 0}, {16, float32(math.Inf(1)), 32767}, {16, float32(math.Inf(-1)), -32768},
	}
	for _, test := range tests {
		var got [1]int32
		Quantizer{Bits: test.bits}.Ints(got[:], []float32{test.x}, 0, 0)
		if got[0] != test.want {
			t.Errorf("%d bits of %v: %d, wanted %d", test.bits, test.x, got[0], test.want)
		}
	}
}

// Triangular dither of two steps: mean 0, variance 1/6 of a step squared of its
// own, 1/4 with the rounding, whatever the sample (Lipshitz et al. 1992).
func TestDither(t *testing.T) {
	const n = 200000
	for _, level := range []float64{0.1, 0.5, 3.25, -7.9} {
		src := make([]float32, n)
		for i := range src {
			src[i] = float32(level / 32768)
		}
		dst := make([]int32, n)
		For(16).Ints(dst, src, 1, 77)
		mean, square := 0.0, 0.0
		for _, v := range dst {
			mean += float64(v) / n
			square += (float64(v) - level) * (float64(v) - level) / n
		}
		if math.Abs(mean-level) > 0.005 || math.Abs(square-0.25) > 0.005 {
			t.Errorf("level %v: mean %v, noise %v, wanted %v and 0.25", level, mean, square, level)
		}
	}
}

// However a stream is cut, its integers are the same.
func TestCutting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.SliceOfN(rapid.Float32Range(-1.2, 1.2), 1, 60).Draw(t, "src")
		cut := rapid.IntRange(0, len(src)).Draw(t, "cut")
		whole, parts := make([]int32, len(src)), make([]int32, len(src))
		For(16).Ints(whole, src, 0, 1000)
		For(16).Ints(parts, src[:cut], 0, 1000)
		For(16).Ints(parts[cut:], src[cut:], 0, 1000+int64(cut))
		for i := range whole {
			if whole[i] != parts[i] {
				t.Fatalf("frame %d: %d, cut %d", i, whole[i], parts[i])
			}
		}
	})
}

func TestSilenceStaysSilent(t *testing.T) {
	dst := []int32{9, 9, 9}
	For(16).Ints(dst, make([]float32, 3), 0, 0)
	if dst[0] != 0 || dst[1] != 0 || dst[2] != 0 {
		t.Errorf("silence became %v", dst)
	}
}

// Bytes are the integers of Ints, interleaved, for every width and number of
// channels.
func TestBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "n")
		sample := rapid.OneOf(rapid.Just(float32(0)), rapid.Float32Range(-1.1, 1.1))
		channels := [][]float32{rapid.SliceOfN(sample, n, n).Draw(t, "left"), rapid.SliceOfN(sample, n, n).Draw(t, "right")}
		if rapid.Bool().Draw(t, "mono") {
			channels[1] = nil
		}
		bits := rapid.SampledFrom([]int{16, 24}).Draw(t, "bits")
		q := Quantizer{bits, rapid.Bool().Draw(t, "dither")}
		got := make([]byte, 6*n)
		q.Bytes(got, channels[0], channels[1], 99)
		at := 0
		ints := make([][]int32, 2)
		for ch, x := range channels {
			ints[ch] = make([]int32, len(x))
			q.Ints(ints[ch], x, ch, 99)
		}
		for i := range n {
			for ch := range channels {
				if channels[ch] == nil {
					continue
				}
				for b := range bits / 8 {
					if want := byte(ints[ch][i] >> (8 * b)); got[at] != want {
						t.Fatalf("frame %d, channel %d: byte %d is %#x, wanted %#x", i, ch, b, got[at], want)
					}
					at++
				}
			}
		}
	})
}

func ExampleQuantizer() {
	frames := make([]int32, 3)
	q := For(24)
	q.Ints(frames, []float32{0.5, -0.25, 1}, 0, 0)
	fmt.Println(frames)
	// Output: [4194304 -2097152 8388607]
}

func BenchmarkInts(b *testing.B) {
	src, dst := make([]float32, 1<<16), make([]int32, 1<<16)
	for i := range src {
		src[i] = float32(math.Sin(float64(i)))
	}
	b.SetBytes(int64(len(src)) * 4)
	for b.Loop() {
		For(16).Ints(dst, src, 0, 0)
	}
}

func BenchmarkBytes(b *testing.B) {
	src, dst := make([]float32, 1<<16), make([]byte, 6<<16)
	for i := range src {
		src[i] = float32(math.Sin(float64(i)))
	}
	for _, bits := range []int{16, 24} {
		b.Run(fmt.Sprint(bits), func(b *testing.B) {
			b.SetBytes(int64(len(src)) * 8)
			for b.Loop() {
				For(bits).Bytes(dst, src, src, 0)
			}
		})
	}
}
