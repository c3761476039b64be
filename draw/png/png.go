// Package png paints a drawing as pixels of a PNG file.
//
// The file says how many pixels make a metre. Large pictures are painted in bands
// (see package raster), so memory stays bounded whatever the size.
package png

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"rollwright/draw"
	"rollwright/draw/raster"
)

// Options say how large the picture becomes.
type Options struct {
	PixelsPerMM float64 // 0: 4, about 100 to the inch
	MaxPixels   int64   // a larger picture is an error; 0: DefaultMaxPixels
}

// DefaultMaxPixels is the bound of a picture's size: about half a minute's
// work.
const DefaultMaxPixels = 400e6

// Size is the picture's size in pixels: the frame, rounded up to whole pixels.
// What is nearer than a thousandth of a pixel to a whole one is that one.
func (o *Options) Size(d *draw.Drawing) (width, height int64) {
	scale := o.scale()
	up := func(mm float64) int64 { return max(1, int64(math.Ceil(mm*scale-1e-3))) }
	return up(d.Frame.W()), up(d.Frame.H())
}

func (o *Options) scale() float64 {
	if o == nil || o.PixelsPerMM == 0 {
		return 4
	}
	return o.PixelsPerMM
}

func (o *Options) maxPixels() int64 {
	if o == nil || o.MaxPixels == 0 {
		return DefaultMaxPixels
	}
	return o.MaxPixels
}

// Encode paints the drawing on its ground, or on white when it has none. It
// returns what is wrong with the drawing or its size, or the first error of w.
func Encode(w io.Writer, d *draw.Drawing, o *Options) error {
	if err := d.Check(); err != nil {
		return fmt.Errorf("png: %w", err)
	}
	scale := o.scale()
	if !(scale > 0 && scale <= 1000) {
		return fmt.Errorf("png: %g pixels a millimetre: want more than 0, up to 1000", scale)
	}
	width, height := o.Size(d)
	if limit := o.maxPixels(); width > limit/height || width > 1<<26 || height > 1<<30 {
		return fmt.Errorf("png: the picture would have %d x %d pixels, over the bound of %d: ask for fewer pixels a millimetre", width, height, limit)
	}
	out := bufio.NewWriterSize(w, 64<<10)
	s := newStream(out, int(width), int(height), scale)
	rows := int(min(height, max(16, bandPixels/width)))
	b := &raster.Canvas{
		Width: int(width), Rows: rows, PixelsPerMM: scale, Origin: d.Frame.Min, RGB: make([]byte, 3*int(width)*rows),
	}
	for top := 0; top < int(height); top += rows {
		b.Top = top
		b.Rows = min(rows, int(height)-top)
		b.Paint(d)
		s.rows(b.RGB[:3*b.Width*b.Rows])
		if s.err != nil {
			break
		}
	}
	if err := s.end(); err != nil {
		return fmt.Errorf("png: %w", err)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("png: %w", err)
	}
	return nil
}

// bandPixels is how much of the picture is in memory at once.
const bandPixels = 8 << 20
