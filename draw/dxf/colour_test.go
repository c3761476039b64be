package dxf

import (
	"testing"

	"rollwright/draw"
)

// TestColour: the hues of numbers 1 to 7 are theirs (Autodesk, DXF reference, group
// 62), others go to the nearest.
func TestColour(t *testing.T) {
	for rgb, want := range map[uint32]int{
		0xff0000: 1, 0xffff00: 2, 0x00ff00: 3, 0x00ffff: 4, 0x0000ff: 5, 0xff00ff: 6, 0x000000: 7,
		0xcc1010: 1, 0x1f1b16: 7, 0x2020e0: 5,
	} {
		if got := Colour(draw.Hex(rgb)); got != want {
			t.Errorf("%06x: %d, want %d", rgb, got, want)
		}
	}
}
