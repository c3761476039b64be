package punching_test

import (
	"testing"

	"rollwright/making/journal"
	"rollwright/making/punching"
)

func TestParts(t *testing.T) {
	head := func(spool, of int, from, to float64) *journal.Head {
		return &journal.Head{Spool: spool, Spools: of, FromSec: from, ToSec: to}
	}
	if got := punching.Part(head(1, 1, 0, 9.5)); got != "the whole piece, 0.000 to 9.500 s" {
		t.Errorf("the whole is %q", got)
	}
	if got := punching.Part(head(2, 3, 4, 9.5)); got != "spool 2 of 3, 4.000 to 9.500 s" {
		t.Errorf("a part is %q", got)
	}
	for _, c := range []struct {
		a, b *journal.Head
		want bool
	}{
		{head(1, 1, 0, 9), head(1, 1, 0, 12), false}, // the piece has become longer
		{head(1, 1, 0, 9), head(1, 2, 0, 4), true},
		{head(1, 2, 0, 4), head(2, 2, 4, 9), false},
		{head(1, 2, 0, 4), head(1, 2, 0, 5), true},
		{head(2, 2, 4, 9), head(2, 2, 4, 12), false},
		{head(2, 2, 4, 9), head(2, 2, 5, 9), true},
	} {
		if got := punching.Apart(c.a, c.b); got != c.want || punching.Apart(c.b, c.a) != c.want {
			t.Errorf("%v and %v: %v", c.a, c.b, got)
		}
	}
}
