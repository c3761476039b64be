package sound

import (
	"math"
	"testing"

	"rollwright/music/event"
	"rollwright/sound/loudness"
)

// Every key is as loud as its neighbours, and as all others, at low levels as at high ones:
// momentary loudness of the first 0.2 s, of felt, within 2.5 LU of C4.
func TestEvenAtEveryLevel(t *testing.T) {
	for _, level := range []int16{16, 64, 112} {
		of := func(key int16) float64 {
			o := plain(Felt)
			o.Mono = true
			x, _, _ := played(t, []event.Event{note1(0, 1, key, level)}, o)
			m, err := loudness.NewMeter(testRate)
			if err != nil {
				t.Fatal(err)
			}
			for i := range x { // so soft a note would be below the standard's gate
				x[i] *= 10
			}
			m.Write(x[:9600], nil)
			r := m.Record()
			return r.Integrated()
		}
		middle := of(60)
		low, high := math.Inf(1), math.Inf(-1)
		for key := int16(LowestKey); key <= HighestKey; key += 3 {
			x := of(key) - middle
			low, high = min(low, x), max(high, x)
		}
		t.Logf("level %d: from %.1f to %.1f LU about C4", level, low, high)
		if low < -2.5 || high > 2.5 {
			t.Errorf("level %d: from %.1f to %.1f LU about C4", level, low, high)
		}
	}
}

// What the knock adds from 62 to 125 Hz is heard beside a treble string: 17 to 25 dB below
// the whole of the first half second, at C5 to C7 (the sampled piano of Debian's
// fluid-soundfont-gm, as measured with this window: 14, 17 and 21).
func TestKnockBesideTreble(t *testing.T) {
	o := plain(Felt)
	o.Mono = true
	o.Pianos[0].Dry = 0
	for _, key := range []int16{72, 84, 96} {
		x, _, _ := played(t, []event.Event{note1(0, 2, key, 80)}, o)
		below, all := 0.0, 0.0
		for i, p := range powerOf(fallingOff(x[:24000])) {
			hz := float64(i) * testRate / 24000
			if all += p; hz >= 62 && hz < 125 {
				below += p
			}
		}
		if db := 10 * math.Log10(below/all); db < -25 || db > -12 {
			t.Errorf("key %d: %.1f dB from 62 to 125 Hz", key, db)
		} else {
			t.Logf("key %d: %.1f dB", key, db)
		}
	}
}

// Hammers differ below 4 kHz: at C4, level 80, metal has 4 dB more from 2 to 4 kHz than felt,
// against the whole; A0 of felt at ff has its energy from 1 to 2 kHz less than 18 dB below
// the whole.
func TestHammersDiffer(t *testing.T) {
	share := func(h Hammers, key, level int16, from, to float64) float64 {
		o := plain(h)
		o.Mono = true
		x, _, _ := played(t, []event.Event{note1(0, 2, key, level)}, o)
		some, all := 0.0, 0.0
		for i, p := range powerOf(fallingOff(x[:24000])) {
			hz := float64(i) * testRate / 24000
			if all += p; hz >= from && hz < to {
				some += p
			}
		}
		return 10 * math.Log10(some/all)
	}
	felt, metal := share(Felt, 60, 80, 2000, 4000), share(Metal, 60, 80, 2000, 4000)
	if t.Logf("felt %.1f, metal %.1f dB", felt, metal); metal < felt+4 {
		t.Errorf("from 2 to 4 kHz felt has %.1f dB, metal %.1f", felt, metal)
	}
	bass := share(Felt, 21, 112, 1000, 2000)
	if t.Logf("A0 %.1f dB", bass); bass < -18 {
		t.Errorf("A0 at ff has %.1f dB from 1 to 2 kHz", bass)
	}
}

// The first wave along C4 lies where H. A. Conklin has it: 2500/L Hz for plain wire, 4032 Hz
// at 0.62 m; ours is 0.63 m long. In the bass it is 12 to 20 times the first partial, or a little more.
func TestLengthwise(t *testing.T) {
	c := courseOf(t, 60)
	if got, want := c.lengthwiseHz(), 2500/c.LengthM; math.Abs(got/want-1) > 0.03 {
		t.Errorf("C4: %.0f Hz, wanted %.0f", got, want)
	}
	for _, key := range []int{21, 30, 36, 44} {
		c := courseOf(t, key)
		if ratio := c.lengthwiseHz() / c.FirstHz; ratio < 10 || ratio > 22 {
			t.Errorf("key %d: %.1f times the first partial", key, ratio)
		}
	}
}

// fallingOff is x under the falling half of a Hann window, which keeps its attack.
func fallingOff(x []float32) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = float64(v) * (0.5 + 0.5*math.Cos(math.Pi*float64(i)/float64(len(x))))
	}
	return y
}
