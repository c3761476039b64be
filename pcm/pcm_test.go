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
		Quantizer{Bits: test.bits}.Ints(got[:], 1, []float32{test.x}, 0, 0)
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
		For(16).Ints(dst, 1, src, 1, 77)
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
		For(16).Ints(whole, 1, src, 0, 1000)
		For(16).Ints(parts, 1, src[:cut], 0, 1000)
		For(16).Ints(parts[cut:], 1, src[cut:], 0, 1000+int64(cut))
		for i := range whole {
			if whole[i] != parts[i] {
				t.Fatalf("frame %d: %d, cut %d", i, whole[i], parts[i])
			}
		}
	})
}

func TestSilenceStaysSilent(t *testing.T) {
	dst := []int32{9, 9, 9}
	For(16).Ints(dst, 1, make([]float32, 3), 0, 0)
	if dst[0] != 0 || dst[1] != 0 || dst[2] != 0 {
		t.Errorf("silence became %v", dst)
	}
}

func ExampleQuantizer() {
	left, right := []float32{0, 0.5, -1}, []float32{0.25, 0, 1}
	frames := make([]int32, 6)
	q := pcm24()
	q.Ints(frames, 2, left, 0, 0)
	q.Ints(frames[1:], 2, right, 1, 0)
	fmt.Println(frames)
	// Output: [0 2097152 4194304 0 -8388608 8388607]
}

func pcm24() Quantizer { return For(24) }

func BenchmarkInts(b *testing.B) {
	src, dst := make([]float32, 1<<16), make([]int32, 1<<16)
	for i := range src {
		src[i] = float32(math.Sin(float64(i)))
	}
	b.SetBytes(int64(len(src)) * 4)
	for b.Loop() {
		For(16).Ints(dst, 1, src, 0, 0)
	}
}
