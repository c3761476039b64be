package simple

import (
	"math"
	"testing"
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
