package punching_test

import (
	"testing"

	"rollwright/making/punching"
)

// TestElsewhere: a roll that was begun at a crank of 2 mm, went on at a ratchet and comes
// back asks nothing to be patched or added, and the crank is told to be another's.
func TestElsewhere(t *testing.T) {
	crank, ratchet := atOf(t, twoNotes, "crank-2mm"), atOf(t, twoNotes, "ratchet-45")
	j := open(t, t.TempDir())
	cutRows(t, j, crank, 4)
	if punching.Elsewhere(crank, j.State) {
		t.Error("the crank itself is taken for another")
	}
	cutRows(t, j, ratchet, 9)
	if !punching.Elsewhere(crank, j.State) || punching.Elsewhere(ratchet, j.State) {
		t.Error("the ratchet's last row is the crank's")
	}
	got := punching.Compare(crank, j.State)
	for _, p := range got.Patch { // what both cut of one hole lies beside itself, never beside the slot
		if p.AlongMM > crank.AlongMM(crank.Rows[8].Dial)+0.34 {
			t.Errorf("to patch: %+v", p)
		}
	}
	if places(got.Patch) != "" {
		t.Errorf("to patch: %s", places(got.Patch))
	}
}
