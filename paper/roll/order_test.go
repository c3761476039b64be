package roll

import "testing"

// TestSortFarApart: an order far from sorted takes the other way and comes out
// the same.
func TestSortFarApart(t *testing.T) {
	var slots []Slot
	for i := range 2000 {
		slots = append(slots, Slot{LeadMM: float64((i * 7919) % 2000), Port: int32(i % 3)})
	}
	sortSlots(slots)
	for i := range slots {
		if slots[i].LeadMM != float64(i) {
			t.Fatalf("slot %d lies at %v", i, slots[i].LeadMM)
		}
	}
}
