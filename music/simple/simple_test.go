package simple

import (
	"math"
	"slices"
	"testing"

	"rollwright/exact"
)

// From 4/3 to 3/2 with p + q at most 12: 4/3 (7), 7/5 (12), 3/2 (5) and nothing
// else; beside roots p + q is at most 3: 1, 2, 1/2 times each, of which sqrt(2) =
// 1.414, cbrt(3) = 1.442 and e/2 = 1.359 lie between.
func TestBetween(t *testing.T) {
	want := []string{"4/3", "e/2", "7/5", "sqrt(2)", "cbrt(3)", "3/2"}
	got := Between(4.0/3, 1.5, 12)
	if len(got) != len(want) {
		t.Fatalf("%d numbers: %v", len(got), got)
	}
	for i, n := range got {
		if n.Value.String() != want[i] || math.Abs(n.Decimal-n.Value.Float64()) > 1e-15 {
			t.Errorf("number %d is %v, not %s", i, n.Value, want[i])
		}
	}
}

// The simplest first: within a hundredth of sqrt(2) lie 17/12 and 24/17, which
// take more bits; an equal semitone is 2^(1/12) = 1.05946.
func TestNamed(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      []string
	}{
		{1.414213, 1.414214, []string{"sqrt(2)"}},
		{1.3999, 1.4001, []string{"7/5"}},
		{0.6665, 0.6668, []string{"2/3"}},
		{1.618033, 1.618035, []string{"phi"}},
		{1.0594, 1.0595, []string{"root(12, 2)", "107/101"}},
	} {
		got := Named(c.low, c.high, 8)
		for i, want := range c.want {
			if i >= len(got) || !slices.ContainsFunc(got, func(x exact.Real) bool { return x.String() == want }) {
				t.Errorf("%g to %g: %v, want %s", c.low, c.high, got, want)
			}
		}
		if got[0].String() != c.want[0] {
			t.Errorf("%g to %g: the simplest is %v, not %s", c.low, c.high, got[0], c.want[0])
		}
	}
	if got := Named(1, 2, 3); len(got) != 3 || got[0].String() != "1" || got[1].String() != "2" || got[2].String() != "sqrt(2)" {
		t.Errorf("1 to 2: %v", got)
	}
}
