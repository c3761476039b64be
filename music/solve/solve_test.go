package solve

import (
	"math/big"
	"testing"

	"rollwright/exact"
)

// x + sqrt(2) y = 3 and x - sqrt(2) y = 1: x = 2, y = 1/sqrt(2). A third equation
// that they contain follows, another one contradicts.
func TestSystem(t *testing.T) {
	root := Exactly(exact.SumOf(exact.Frac(2, 1).Pow(exact.NewRat(1, 2))))
	s := NewSystem(2)
	for i, c := range []struct {
		e    Equation
		want Verdict
	}{
		{Equation{[]Number{Whole(1), root}, Whole(3)}, Independent},
		{Equation{[]Number{Whole(1), root.Neg()}, Whole(1)}, Independent},
		{Equation{[]Number{Whole(2)}, Whole(4)}, Follows},
		{Equation{[]Number{Whole(2)}, Whole(5)}, Contradicts},
	} {
		if got := s.Add(c.e); got != c.want {
			t.Errorf("equation %d: %v, want %v", i, got, c.want)
		}
	}
	for i, want := range []string{"2", "1/2*sqrt(2)"} {
		x, ok := s.Value(i)
		if sum, isExact := x.Exact(); !ok || !isExact || sum.String() != want {
			t.Errorf("unknown %d is %v, want %s", i, sum, want)
		}
	}
}

// parabola is (x - 2)(x - 3), of which the second root is no fraction in 64 bits
// when shifted.
type parabola struct{ shift float64 }

func (p parabola) Near(x float64) (float64, bool) { return (x-2)*(x-3) - p.shift, true }

func (p parabola) At(x exact.Rat) (*big.Float, bool) {
	f := ratFloat(x)
	a, b := newFloat().Sub(f, big.NewFloat(2)), newFloat().Sub(f, big.NewFloat(3))
	return a.Sub(a.Mul(a, b), big.NewFloat(p.shift)), true
}

// x^2 - 5x + 6 - s = 0: x = 5/2 -+ sqrt(1/4 + s). With s = -1/2 there is none,
// and 5/2 comes nearest.
func TestFind(t *testing.T) {
	for _, shift := range []float64{0, 0.5, 1, -0.2499} {
		r := Find(parabola{shift}, 1e-3, 1e3)
		if len(r.Found) != 2 {
			t.Fatalf("shift %v: %d roots", shift, len(r.Found))
		}
		square := newFloat().Sqrt(newFloat().Add(newFloat().SetFloat64(shift), big.NewFloat(0.25)))
		for i, want := range []*big.Float{newFloat().Sub(big.NewFloat(2.5), square),
			newFloat().Add(big.NewFloat(2.5), square)} {
			if d := newFloat().Sub(want, r.Found[i]); d.Sign() != 0 && exponentOf(d) > -80 {
				t.Errorf("shift %v: root %d is off by %.3g", shift, i, d)
			}
		}
	}
	if r := Find(parabola{-0.5}, 1e-3, 1e3); len(r.Found) != 0 || r.Nearest < 2.4 || r.Nearest > 2.6 {
		t.Errorf("no root: %v near %v", r.Found, r.Nearest)
	}
}
