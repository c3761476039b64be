package sheet

import (
	"strings"
	"testing"

	"rollwright/draw"
)

// The times along a strip lie on the bench above it, and not over the strip before, however
// long the roll and so however large its letters.
func TestRulerBesideStrips(t *testing.T) {
	for _, length := range []float64{500, 5_000, 40_000} {
		r := scattered(t, "88-note", 300, length)
		d, _, err := Preview(r, &Look{Title: "Ruler"})
		if err != nil {
			t.Fatal(err)
		}
		var strips []draw.Rect
		for _, m := range d.Layer("paper", "").Marks {
			if p, ok := m.(*draw.Path); ok {
				if b, drawn := p.Bounds(); drawn && b.Max.Y-b.Min.Y > r.Instrument.Paper.WidthMM*0.9 {
					strips = append(strips, b)
				}
			}
		}
		times := 0
		for _, m := range d.Layer(MarksLayer, "").Marks {
			n, ok := m.(*draw.Text)
			if !ok || !strings.Contains(n.Text, ":") {
				continue
			}
			times++
			for _, s := range strips {
				// Capitals are some seven tenths of the size high.
				if n.At.Y > s.Min.Y+0.01 && n.At.Y-0.72*n.SizeMM < s.Max.Y-0.01 {
					t.Fatalf("%g mm: %q at %.1f mm, %.1f high, lies over a strip from %.1f to %.1f", length, n.Text, n.At.Y,
						0.72*n.SizeMM, s.Min.Y, s.Max.Y)
				}
			}
		}
		if times == 0 || len(strips) == 0 {
			t.Fatalf("%g mm: %d times, %d strips", length, times, len(strips))
		}
	}
}
