package long

import "testing"

// TestOf: few without the switch, many with it.
func TestOf(t *testing.T) {
	t.Setenv(Variable, "")
	if n := Of(1, 20); n != 1 {
		t.Errorf("%d without the switch", n)
	}
	t.Setenv(Variable, "1")
	if n := Of(1, 20); n != 20 {
		t.Errorf("%d with the switch", n)
	}
}
