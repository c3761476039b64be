package sound

import (
	"math"
	"testing"
)

// The peak of a note goes with the speed of its hammer, 6.02 dB for twice the speed (C. Palmer,
// J. C. Brown, JASA 90 (1991) 60). Ours goes by 6.7 to 7.1 dB from ppp to fff, a little more,
// as felt hardens. The band held here, 1.1 dB around the published value, was drawn after
// measuring and guards against change.
func TestPeakGoesWithSpeed(t *testing.T) {
	for _, key := range []int{36, 60, 84} {
		peak := func(level int) (high float64) {
			for _, v := range rendered(t, key, Felt, DefaultDry, level, 3) {
				high = max(high, math.Abs(v))
			}
			return high
		}
		db := 20 * math.Log10(peak(126)/peak(33)) / math.Log2(LevelSpeed(126)/LevelSpeed(33))
		if t.Logf("key %d: %.2f dB for twice the speed", key, db); math.Abs(db-6.02) > 1.1 {
			t.Errorf("key %d: %.2f dB for twice the speed, wanted about 6.02", key, db)
		}
	}
}

// The board radiates little of the lowest partials: the first of A0 lies 25 dB below its
// strongest (J. Meyer 1978, in N. H. Fletcher, T. D. Rossing, The Physics of Musical
// Instruments). Ours lies 16 dB below, 9 dB too high: that is known and said in docs/sound.md.
// The band held here, 12 to 29 dB, was drawn after measuring and guards against change.
func TestFirstPartialOfTheLowestString(t *testing.T) {
	x := rendered(t, 21, Felt, 0, 80, 32)
	p := powerOf(windowed(x[:1<<17]))
	const binHz = float64(testRate) / (1 << 18)
	c := courseOf(t, 21)
	partial := func(n int) (high float64) {
		at := int(c.PartialHz(n) / binHz)
		for _, v := range p[at-20 : at+20] {
			high = max(high, v)
		}
		return high
	}
	strongest := 0.0
	for n := 1; n <= 30; n++ {
		strongest = max(strongest, partial(n))
	}
	if db := 10 * math.Log10(strongest/partial(1)); db < 12 || db > 29 {
		t.Errorf("the first partial lies %.1f dB below the strongest", db)
	}
}
