package read

import "testing"

// TestFinder: the finder of many says of each place what nearest does, between ports that
// are not evenly spaced, on them, half-way, and beyond both ends.
func TestFinder(t *testing.T) {
	ports := []float64{-3, 0, 0.5, 4, 4.25, 11}
	find := newFinder(ports)
	for k := -400; k <= 1500; k++ {
		u := float64(k) / 100
		if _, want := nearest(ports, u); find.off(u) != want {
			t.Errorf("%v lies %v beside a port, nearest says %v", u, find.off(u), want)
		}
	}
}
