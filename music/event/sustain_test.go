package event

import (
	"slices"
	"testing"
)

// TestSustain: pedal down from 1 to 3 and, touching it, from 3 to 4 (up and
// down again at 3), and from 6 to 8 overlapping 7 to 9. Piano 1 has no pedal.
func TestSustain(t *testing.T) {
	spans := []Span{{0, 7, 9}, {0, 1, 3}, {0, 3, 4}, {0, 6, 8}}
	for _, c := range []struct {
		piano     int16
		end, want float64
	}{
		{0, 0.5, 0.5}, // before the pedal
		{0, 1, 3},     // as it goes down
		{0, 2.5, 3},   // while it is down
		{0, 3, 4},     // as it goes up and down
		{0, 4, 4},     // as it goes up
		{0, 6.5, 9},   // two that overlap are one
		{1, 2.5, 2.5}, // another piano
	} {
		events := slices.Values([]Event{{Piano: c.piano, Key: 60, EndSec: c.end}})
		for e := range Sustain(events, spans) {
			if e.EndSec != c.want {
				t.Errorf("piano %d, a note to %v s ends at %v, want %v", c.piano, c.end, e.EndSec, c.want)
			}
		}
	}
}
