package overhear

import (
	"math"
	"testing"

	"rollwright/sound/take"
)

// TestWindow: what a tone has of its strength, seen through Hann's window that
// covers a share of it, and the window's response beside a tone, both against
// sums over the window itself.
func TestWindow(t *testing.T) {
	const n = 20_000
	for _, x := range []float64{-0.6, -0.3, -0.1, 0, 0.2, 0.49, 0.7} {
		part, all := 0.0, 0.0
		for i := range n {
			u := (float64(i)+0.5)/n - 0.5 // place in the window, whose middle is 0
			w := 0.5 + 0.5*math.Cos(2*math.Pi*u)
			all += w
			if u > -x { // the tone begins x windows before the middle
				part += w
			}
		}
		close(t, "risen", risen(x), part/all, 1e-3)
	}
	for _, x := range []float64{0, 0.3, 1, 1.5, 2.5} {
		re, all := 0.0, 0.0
		for i := range n {
			u := (float64(i)+0.5)/n - 0.5
			w := 0.5 + 0.5*math.Cos(2*math.Pi*u)
			all += w
			re += w * math.Cos(2*math.Pi*x*u)
		}
		close(t, "hann", hann(x), math.Abs(re/all), 1e-3)
	}
}

// TestStrengths: a tone of amplitude 0.5 that begins at 1 s is seen at half of it
// (a one-sided spectrum), half-way up where it begins.
func TestStrengths(t *testing.T) {
	const rate = 12_000
	tk := &take.Take{Rate: rate, Samples: make([]float32, 2*rate)}
	for i := rate; i < 2*rate; i++ {
		tk.Samples[i] = float32(0.5 * math.Sin(2*math.Pi*440*float64(i)/rate))
	}
	m := &meter{take: tk, bank: newBank(1, rate), list: []stroke{{key: 69, near: 1}},
		floor: func(float64) float64 { return 1e-6 }}
	a := m.strengths(440, 0.9, 101, nil)
	close(t, "before", a[0], 0, 1e-3)
	close(t, "beginning", a[50], 0.125, 0.01)
	close(t, "after", a[100], 0.25, 1e-3)
	heard, rise := m.onset(0, 1.02, 0.05)
	close(t, "onset", heard, 1, 0.003)
	if rise < 0.3 {
		t.Errorf("rise %v", rise)
	}
}

// strokesOf60 are n strokes of one key with the same evidence.
func strokesOf60(n int, odds, could float64) *engine {
	e := &engine{}
	e.faint[60] = 20
	for i := range n {
		e.list = append(e.list, stroke{
			slot: i, key: 60, odds: [moments]float64{odds, odds}, could: [moments]float64{could, could}, inTake: true,
		})
	}
	for i := range 40 { // and another key that sounds
		e.list = append(e.list, stroke{
			slot: n + i, key: 62, odds: [moments]float64{30, 30}, could: [moments]float64{30, 30}, inTake: true,
		})
	}
	e.settle()
	return e
}

// TestSettle: clear evidence decides a stroke; doubtful evidence decides a key of
// many strokes, not one of four; strokes without evidence stay likely to sound.
func TestSettle(t *testing.T) {
	if s := strokesOf60(1, -25, 30).list[0]; s.verdict() != Silent || s.sounded > 0.01 {
		t.Errorf("clear silence: %v, %v", s.verdict(), s.sounded)
	}
	if s := strokesOf60(1, 28, 30).list[0]; s.verdict() != Sounded || s.sounded < 0.99 {
		t.Errorf("clear sound: %v, %v", s.verdict(), s.sounded)
	}
	if s := strokesOf60(1, 0, 0).list[0]; s.sounded < 0.9 || s.sounded > 0.995 {
		t.Errorf("nothing told: %v", s.sounded)
	}
	many, few := strokesOf60(20, -5, 14), strokesOf60(4, -5, 14)
	if many.list[0].sounded >= few.list[0].sounded || many.list[0].dead < 0.9 {
		t.Errorf("twenty strokes: %v, dead %v; four: %v", many.list[0].sounded, many.list[0].dead, few.list[0].sounded)
	}
	if few.list[0].dead != 0 {
		t.Error("four strokes make a dead key")
	}
}

// TestBestPath: a jump of three steps is followed, one of ten is not for a single
// block.
func TestBestPath(t *testing.T) {
	gain := make([][2*warpSteps + 1]float32, 9)
	for b := range gain {
		at := warpSteps
		if b >= 5 {
			at += 3
		}
		gain[b][at] = 4
	}
	gain[2][warpSteps], gain[2][warpSteps+10] = 0, 8
	path := bestPath(gain)
	for b, k := range path {
		want := warpSteps
		if b >= 5 {
			want += 3
		}
		if k != want && b != 4 {
			t.Errorf("block %d at %d, want %d", b, k-warpSteps, want-warpSteps)
		}
	}
}
