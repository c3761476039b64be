package sound

import (
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"rollwright/music/event"
)

// TestRestrike holds the approximation of a blow on a ringing string, a share of the old
// motion and the blow as if the string had rested, against the simulation of the second blow
// on the moving string: KeptShare is what fits best over many moments of the blow, of felt at
// equal levels, within 0.08.
func TestRestrike(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, key := range []int{24, 36, 48, 60, 72, 84, 96} {
		c := courseOf(t, key)
		fresh := Strike(c, Felt, LevelSpeed(96), testRate)
		common, all := 0.0, 0.0
		for range 60 {
			moving := newBank(c, heads()[Felt].widthM, testRate)
			rang := make([]complex128, len(moving.s))
			after := 0.1 + 0.2*rng.Float64()
			for i, s := range moving.s {
				rang[i] = complex(fresh.bank.re[i], fresh.bank.im[i]) * cmplx.Exp(s*complex(after, 0))
				moving.re[i], moving.im[i] = real(rang[i]), imag(rang[i])
			}
			both := strikeOn(moving, c, Felt, LevelSpeed(96), testRate)
			sec := float64(len(both.bridge)) / testRate
			late := sec - float64(len(fresh.bridge))/testRate
			for i := range moving.heard {
				s := moving.s[i]
				old := rang[i] * cmplx.Exp(s*complex(sec, 0))
				alone := complex(fresh.bank.re[i], fresh.bank.im[i]) * cmplx.Exp(s*complex(late, 0))
				left := complex(moving.re[i], moving.im[i]) - alone
				loud := moving.atBridge[i] * moving.atBridge[i]
				common += loud * real(left*cmplx.Conj(old))
				all += loud * real(old*cmplx.Conj(old))
			}
		}
		if got := common / all; got < c.KeptShare-0.08 || got > c.KeptShare+0.08 {
			t.Errorf("key %d keeps %.3f of its motion, the model says %.3f", key, got, c.KeptShare)
		}
	}
}

// TestDamperEndsTheStroke: what the damper has taken to nothing is not mixed on as silence
// until the key is struck again.
func TestDamperEndsTheStroke(t *testing.T) {
	o := plain(Felt)
	if err := o.complete(); err != nil {
		t.Fatal(err)
	}
	m := newMixer(&o)
	blows, err := o.blows(slices.Values([]event.Event{note1(0, 0.2, 60, 80), note1(5, 5.2, 60, 80)}))
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range m.strokes(blows) {
		if sec := float64(s.end) / testRate; sec < 0.2 || sec > 1 {
			t.Errorf("stroke %d of 0.2 s is mixed for %.2f s", i+1, sec)
		}
	}
}
