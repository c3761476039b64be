package sound

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"
)

// What is computed every fourth frame comes to all of them as if it had been computed there:
// beside the wave itself, its mirror images included, is nothing above -77 dB, up to where
// strands are computed so.
func TestQuicken(t *testing.T) {
	for _, hz := range []float64{30, 1000, 2500, slowestFast * testRate} {
		x, y := make([]float32, slowFrames+2*slowReach), make([]float32, segmentFrames)
		wave := func(frame int) float64 { return math.Sin(2 * math.Pi * hz * float64(frame) / testRate) }
		for i := range x {
			x[i] = float32(wave(slow * (i - slowReach)))
		}
		quicken(y, x, make([]float32, slowFrames))
		worst := 0.0
		for i, v := range y {
			worst = max(worst, math.Abs(float64(v)-wave(i)))
		}
		if db := 20 * math.Log10(worst); db > -77 {
			t.Errorf("%.0f Hz: %.1f dB beside it", hz, db)
		}
	}
}

// The strands of a partial that are one, in straight lines, differ from themselves by less than
// a hundredth of the partial, for all partials of three keys that are computed so.
func TestStraightLines(t *testing.T) {
	for _, key := range []int{40, 64, 100} {
		tb := timbre{hammers: Felt, dry: DefaultDry, rate: testRate}
		c := courseOf(t, key)
		all := tb.spectrumOf(c, tb.ringingOf(c), 80)
		for from := 0; from < len(all.of); {
			to := from + 1
			for to < len(all.of) && all.of[to] == all.of[from] {
				to++
			}
			strands := all.strings[from:to]
			if from = to; imag(strands[0].s) < 2*math.Pi*slowestFast*testRate {
				continue
			}
			sp, size := &spectrum{rate: testRate, strings: strands, of: make([]int, len(strands))}, 0.0
			for _, d := range strands {
				size += cmplx.Abs(d.c)
			}
			sp.peak = size
			runs := []wanted{{sp: sp, want: extent{segments: 1}, of: 9}}
			filled(runs)
			for i := softFrames; i < segmentFrames; i++ {
				want := 0.0
				for _, d := range strands {
					want += real(d.c * cmplx.Exp(d.s*complex(float64(i)/testRate, 0)))
				}
				if off := math.Abs(float64(runs[0].out[0][i]) - want); off > 0.01*size {
					t.Errorf("key %d, %.0f Hz, frame %d: off by %.4f of the partial", key, imag(strands[0].s)/2/math.Pi, i, off/size)
					break
				}
			}
		}
	}
}

// Samples of 16 bits stay what they are when they are rounded again, whatever their height, and
// differ from what they were by half of a step of 1/16384 of the highest at most: as noise, that
// is 92 dB below it, 20 log10(16384 sqrt(12)) = 95 less the 3 dB of a sine.
func TestRounded(t *testing.T) {
	for _, height := range []float64{1, 0.7, 32767.0 / 32768, 3e-5, 1.7e9} {
		x := make([]float32, segmentFrames)
		for i := range x {
			x[i] = float32(height * math.Sin(0.37*float64(i)))
		}
		once := slices.Clone(x)
		rounded(once)
		noise, power := 0.0, 0.0
		for i, v := range once {
			off := float64(v - x[i])
			if noise, power = noise+off*off, power+float64(x[i])*float64(x[i]); math.Abs(off) > height/16384/2*1.0001 {
				t.Fatalf("%v: %v became %v", height, x[i], v)
			}
		}
		if db := 10 * math.Log10(power/noise); db < 91.5 {
			t.Errorf("%v: noise %.1f dB below", height, db)
		}
		twice := slices.Clone(once)
		if rounded(twice); !slices.Equal(once, twice) {
			t.Errorf("%v: rounded again, samples change", height)
		}
		again := make([]float32, len(once))
		if !readPiece(again, appendPiece(nil, once)) || !slices.Equal(once, again) {
			t.Errorf("%v: the samples of a file are others", height)
		}
	}
	silent := []float32{0, 1e-20, -1e-20, 0}
	if rounded(silent); !slices.Equal(silent, make([]float32, 4)) {
		t.Errorf("%v is not silence", silent)
	}
}

// A held note ends where it has sunk by 76 dB, in the segment after.
func TestHeldNoteEnds(t *testing.T) {
	for _, key := range []int{24, 60, 100} {
		left := timbre{hammers: Felt, dry: DefaultDry, rate: testRate}.sinks(courseOf(t, key))
		if n := len(left); 20*math.Log10(left[n-2]) < -76 || 20*math.Log10(left[n-1]) > -75.9 {
			t.Errorf("key %d ends between %.1f and %.1f dB", key, 20*math.Log10(left[n-2]), 20*math.Log10(left[n-1]))
		}
	}
}
