package overhear

import (
	"math"
	"testing"

	"rollwright/sound/take"
)

// TestBrought: what sounds at the first partial of A#4 whenever C4 is struck is known
// from the stroke in which A#4 is not struck: a tone of amplitude 0.02 is -40 dB in a
// one-sided spectrum. A key that is never struck without the other tells nothing.
func TestBrought(t *testing.T) {
	const rate = 12_000
	tk := &take.Take{Rate: rate, Samples: make([]float32, 5*rate)}
	bank := newBank(1, rate)
	for _, from := range []int{rate, 3 * rate} {
		for i := range rate {
			at := float64(i) / rate
			tk.Samples[from+i] = float32(0.5*math.Sin(2*math.Pi*bank[60][0].hz*at) +
				0.02*math.Sin(2*math.Pi*bank[70][0].hz*at))
		}
	}
	m := &meter{take: tk, bank: bank, floor: func(float64) float64 { return 1e-6 }, list: []stroke{
		{key: 60, near: 1, long: 1, inTake: true},
		{key: 60, near: 3, long: 1, inTake: true}, {key: 70, near: 3.004, long: 1, inTake: true},
	}}
	b := m.learnBrought()
	for at := range moments {
		close(t, "C4 at A#4", b[at][pairOf{60, 70}][0], -40, 1)
		if b[at][pairOf{70, 60}] != nil {
			t.Errorf("A#4 is heard without C4: %v", b[at][pairOf{70, 60}])
		}
	}
	// A stroke 50 ms on leaves no time for the later moment.
	m.list = append(m.list[:1], stroke{key: 65, near: 1.05, long: 1, inTake: true})
	if free := m.free(0); free != 1.05 {
		t.Errorf("free until %v", free)
	}
	if e := m.look(0, 1); !math.IsNaN(e.after[later][0]) || math.IsNaN(e.after[soon][0]) {
		t.Errorf("%v", e.after)
	}
}
