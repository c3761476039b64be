package flicker_test

import (
	"testing"

	"rollwright/internal/flicker"
)

// TestFlashesAreCounted: by hand.
func TestFlashesAreCounted(t *testing.T) {
	for _, c := range []struct {
		h    []float64
		want int
	}{
		{[]float64{0.5, 0.5, 0.5}, 0},
		{[]float64{0.2, 0.5, 0.2, 0.5, 0.2}, 2},
		{[]float64{0.2, 0.25, 0.2, 0.25}, 0},   // too little
		{[]float64{0.85, 0.99, 0.85, 0.99}, 0}, // too bright
		{[]float64{0.9, 0.7, 0.9, 0.7, 0.9}, 2},
		{[]float64{0, 0.05, 0.1, 0.15, 0.1, 0.05, 0}, 1}, // slowly
	} {
		if got := flicker.Flashes(c.h); got != c.want {
			t.Errorf("%v: %d flashes, want %d", c.h, got, c.want)
		}
	}
}

// TestWorstRectangle: of 8 by 4 cells the left half flashes four times; so does all of a
// rectangle that lies in it, and a half of the whole.
func TestWorstRectangle(t *testing.T) {
	wild := []float64{0, 1, 0, 1, 0, 1, 0, 1, 0}
	calm := make([]float64, len(wild))
	var cells [][]float64
	for range 4 {
		cells = append(cells, wild, wild, wild, wild, calm, calm, calm, calm)
	}
	for _, c := range []struct {
		w, h int
		want float64
	}{{4, 4, 1}, {8, 4, 0.5}, {100, 100, 0.5}} {
		if got := flicker.Worst(cells, 8, c.w, c.h); got != c.want {
			t.Errorf("%d by %d: %v, not %v", c.w, c.h, got, c.want)
		}
	}
}
