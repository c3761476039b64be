package raster_test

import (
	"bytes"
	"fmt"
	"testing"

	"rollwright/draw"
	"rollwright/draw/raster"
	"rollwright/internal/drawcases"
)

// TestBands: a picture painted in bands is the picture painted at once.
func TestBands(t *testing.T) {
	d := drawcases.AllMarks()
	const scale, width, height = 5, 600, 300
	canvas := func(top, rows int) *raster.Canvas {
		return &raster.Canvas{
			Width: width, Rows: rows, Top: top, PixelsPerMM: scale, Origin: d.Frame.Min, RGB: make([]byte, 3*width*rows),
		}
	}
	whole := canvas(0, height)
	whole.Paint(d)
	for _, rows := range []int{1, 7, 64} {
		for top := 0; top < height; top += rows {
			n := min(rows, height-top)
			part := canvas(top, n)
			part.Paint(d)
			if want := whole.RGB[3*width*top : 3*width*(top+n)]; !bytes.Equal(part.RGB, want) {
				t.Fatalf("%d rows from %d differ", n, top)
			}
		}
	}
}

// TestOver: marks are laid over what is there, and the ground is not.
func TestOver(t *testing.T) {
	c := &raster.Canvas{Width: 4, Rows: 1, PixelsPerMM: 1, RGB: bytes.Repeat([]byte{10}, 12)}
	d := &draw.Drawing{Frame: draw.Box(0, 0, 4, 1), Ground: draw.White}
	d.Layer("x", "X").Add((&draw.Path{Fill: draw.Ink{R: 210, G: 110, B: 10, A: 255}}).Rect(draw.Box(1, 0, 2.5, 1)))
	c.Over(d)
	// the third pixel is covered by half: (210+10)/2, (110+10)/2
	if want := []byte{10, 10, 10, 210, 110, 10, 110, 60, 10, 10, 10, 10}; !bytes.Equal(c.RGB, want) {
		t.Errorf("got %v, want %v", c.RGB, want)
	}
}

func ExampleCanvas() {
	d := &draw.Drawing{Frame: draw.Box(0, 0, 8, 4)}
	d.Layer("hole", "Hole").Add(&draw.Slots{Ink: draw.Black, WidthMM: 2, Segments: []draw.Segment{{X1: 2, Y1: 2, X2: 6, Y2: 2}}})
	c := &raster.Canvas{Width: 16, Rows: 8, PixelsPerMM: 2, RGB: make([]byte, 3*16*8)}
	c.Paint(d)
	for y := range c.Rows {
		row := ""
		for x := range c.Width {
			row += string("#+-."[c.RGB[3*(y*c.Width+x)]/64])
		}
		fmt.Println(row)
	}
	// Output:
	// ................
	// ................
	// ..-##########-..
	// ..############..
	// ..############..
	// ..-##########-..
	// ................
	// ................
}
