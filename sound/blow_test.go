package sound

import (
	"math"
	"math/cmplx"
	"testing"
)

const testRate = 48000

// A. Askenfelt and E. V. Jansson, JASA 88 (1990) (from memory): a felt hammer is on
// the string for about 4 ms in the bass to less than 1 ms in the treble, the
// shorter the harder it strikes.
func TestContactTime(t *testing.T) {
	bounds := map[int][2]float64{ // ms, at any level
		21: {2, 6}, 36: {2.5, 4.5}, 48: {2.2, 4}, 60: {1.6, 2.8}, 72: {1, 2.2}, 84: {0.7, 1.6}, 96: {0.4, 1.1},
		108: {0.2, 0.9},
	}
	for key, ms := range bounds {
		last := math.Inf(1)
		for _, level := range layerLevels {
			got := 1000 * Strike(courseOf(t, key), Felt, LevelSpeed(level), testRate).ContactSec
			if level >= 16 && (got < ms[0] || got > ms[1]) {
				t.Errorf("key %d at level %d: %.2f ms, wanted %.1f to %.1f", key, level, got, ms[0], ms[1])
			}
			if got > last {
				t.Errorf("key %d at level %d: %.2f ms, longer than %.2f at the level below", key, level, got, last)
			}
			last = got
		}
	}
}

// What the string takes from the hammer is the hammer's: the time integral of the
// force is the change of its momentum, m (v + rebound).
func TestMomentum(t *testing.T) {
	for _, key := range []int{21, 45, 60, 84, 108} {
		for _, h := range []Hammers{Felt, Metal} {
			c := courseOf(t, key)
			b := Strike(c, h, 3, testRate)
			sum := 0.0
			for _, f := range b.ForceN {
				sum += f * b.StepSec
			}
			want := c.FeltMassKg * heads()[h].mass * (b.SpeedMPerS + b.ReboundMPS)
			if math.Abs(sum/want-1) > 0.002 {
				t.Errorf("key %d, %v: impulse %.6f Ns, momentum %.6f Ns", key, h, sum, want)
			}
			if b.ReboundMPS >= b.SpeedMPerS {
				t.Errorf("key %d, %v: came with %.2f m/s, leaves with %.2f", key, h, b.SpeedMPerS, b.ReboundMPS)
			}
		}
	}
}

// A loose tack meets the string more than once.
func TestTacksRattle(t *testing.T) {
	for _, key := range []int{36, 60, 72} {
		if b := Strike(courseOf(t, key), Tacks, 2, testRate); b.Touches < 2 {
			t.Errorf("key %d: %d touch", key, b.Touches)
		}
	}
}

// Twice the steps make the same blow: the string moves exactly and the force is
// solved for, so only the shape of the force within a step is left.
func TestStepsAreFineEnough(t *testing.T) {
	for _, key := range []int{36, 60, 96} {
		for _, h := range []Hammers{Felt, Metal} {
			a := Strike(courseOf(t, key), h, 3, testRate)
			b := Strike(courseOf(t, key), h, 3, 2*testRate)
			pa, pb := 0.0, 0.0
			for _, f := range a.ForceN {
				pa = math.Max(pa, f)
			}
			for _, f := range b.ForceN {
				pb = math.Max(pb, f)
			}
			if math.Abs(pa/pb-1) > 0.02 {
				t.Errorf("key %d, %v: peak %.2f N, with finer steps %.2f N", key, h, pa, pb)
			}
		}
	}
}

// A mode alone under a constant force F comes to rest at F times its compliance:
// Im(1/-s) F = w F/(w^2 + decay^2).
func TestBankUnderConstantForce(t *testing.T) {
	b := &bank{}
	s := complex(-300, 5000)
	b.add(s, 1e-5, 1, 1)
	b.re, b.im = []float64{0}, []float64{0}
	b.heard = 1
	y := 0.0
	for range 20000 { // 0.2 s, 60 time constants
		y = b.advance(2) + b.giveMPerN*2
	}
	if want := 2 * imag(-1/s); math.Abs(y/want-1) > 1e-9 {
		t.Errorf("rests at %v, wanted %v", y, want)
	}
}

// G. Weinreich, JASA 62 (1977) 1474: two strings exactly alike split into one
// motion that loses twice what one string does and one that loses nothing to the
// bridge. Ours are a little apart, so nearly.
func TestSecularRoots(t *testing.T) {
	k := complex(2, 0)
	roots := secularRoots([]complex128{complex(0, -1e-4), complex(0, 1e-4)}, k)
	slow, fast := real(roots[0]), real(roots[1])
	if slow < fast {
		slow, fast = fast, slow
	}
	if math.Abs(fast+4) > 1e-6 || math.Abs(slow) > 1e-6 {
		t.Errorf("rates %v and %v, wanted -4 and 0", fast, slow)
	}
	// Any number of strings: every root satisfies 1 + k sum 1/(x - d) = 0, and their
	// sum is the trace.
	d := []complex128{complex(0, -3), complex(0, 0.4), complex(0, 2.6)}
	sum := complex(0, 0)
	for _, x := range secularRoots(d, k) {
		f := complex(1, 0)
		for _, dj := range d {
			f += k / (x - dj)
		}
		if cmplx.Abs(f) > 1e-9 {
			t.Errorf("root %v misses by %v", x, cmplx.Abs(f))
		}
		sum += x
	}
	if want := d[0] + d[1] + d[2] - 3*k; cmplx.Abs(sum-want) > 1e-9 {
		t.Errorf("sum of the roots %v, trace %v", sum, want)
	}
}

// The strands of a partial begin as the partial.
func TestStrandsSumToOne(t *testing.T) {
	for _, c := range scale() {
		for _, n := range []int{1, 2, 9} {
			sum := complex(0, 0)
			for _, s := range c.strands(n, 1) {
				sum += s.share
				if real(s.s) >= 0 {
					t.Errorf("key %d, partial %d: a strand that grows: %v", c.Key, n, s.s)
				}
			}
			if cmplx.Abs(sum-1) > 1e-9 {
				t.Errorf("key %d, partial %d: strands begin with %v", c.Key, n, sum)
			}
		}
	}
}

func BenchmarkStrike(b *testing.B) {
	for _, key := range []int{36, 60, 96} {
		c := courseOf(b, key)
		b.Run(nameOfC(key), func(b *testing.B) {
			for b.Loop() {
				Strike(c, Felt, 3, testRate)
			}
		})
	}
}

// nameOfC is the name of a C.
func nameOfC(key int) string { return map[int]string{36: "C2", 60: "C4", 96: "C7"}[key] }
