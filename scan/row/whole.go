package row

import (
	"fmt"
	"image"
	"io"
	"sync"
)

// fitsWhole refuses a picture that would have to be held whole and is too large
// for that.
func (p *Picture) fitsWhole(what, hint string) error {
	if err := p.bounded(); err != nil {
		return err
	}
	if bytes := int64(p.Width) * int64(p.Height) * int64(p.Channels); bytes > MostWhole {
		return UnsupportedError{fmt.Sprintf("%s has no rows to be read one after the other, and %d by %d pixels are too many to be held whole",
			what, p.Width, p.Height), hint}
	}
	return nil
}

// whole gives the rows of a picture that is decoded at once, when the first row
// is asked for.
type whole struct {
	decode   func() (image.Image, error)
	width    int
	channels int
	once     sync.Once
	picture  image.Image
	err      error
	at       int
}

func (d *whole) load() error {
	d.once.Do(func() { d.picture, d.err = d.decode() })
	if d.err == io.ErrUnexpectedEOF || d.err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	if d.err != nil {
		return FormatError{"its pixels are damaged: " + d.err.Error()}
	}
	return nil
}

func (d *whole) read(dst []byte) (int, error) {
	if err := d.load(); err != nil {
		return 0, err
	}
	n := d.width * d.channels
	for i := 0; (i+1)*n <= len(dst); i++ {
		y := d.picture.Bounds().Min.Y + d.at
		if y >= d.picture.Bounds().Max.Y {
			return i, io.ErrUnexpectedEOF
		}
		paintRow(dst[i*n:(i+1)*n], d.picture, y, d.channels)
		d.at++
	}
	return len(dst) / n, nil
}

func (d *whole) seek(row int) error {
	d.at = row
	return nil
}

// paintRow writes a row of a picture as grey or RGB.
func paintRow(dst []byte, m image.Image, y, channels int) {
	b := m.Bounds()
	switch m := m.(type) {
	case *image.Gray:
		copy(dst, m.Pix[m.PixOffset(b.Min.X, y):])
		return
	case *image.YCbCr:
		paintYCbCr(dst, m, y)
		return
	case turned:
		switch in := m.Image.(type) {
		case *image.Gray:
			for x := range dst {
				dst[x] = in.Pix[in.PixOffset(m.source(x, y))]
			}
			return
		case *image.YCbCr:
			for i := 0; i < len(dst); i += 3 {
				x, y := m.source(i/3, y)
				fromYCbCr(dst[i:i+3:i+3], in, in.YOffset(x, y), in.COffset(x, y))
			}
			return
		}
	}
	for x, i := b.Min.X, 0; i < len(dst); x, i = x+1, i+channels {
		r, g, bl, a := m.At(x, y).RGBA() // premultiplied: white shows through
		white := 0xffff - a
		if channels == 1 {
			dst[i] = byte((r + white) >> 8)
			continue
		}
		dst[i], dst[i+1], dst[i+2] = byte((r+white)>>8), byte((g+white)>>8), byte((bl+white)>>8)
	}
}

func paintYCbCr(dst []byte, m *image.YCbCr, y int) {
	x0 := m.Rect.Min.X
	for x := x0; x < m.Rect.Max.X; x++ {
		i := 3 * (x - x0)
		fromYCbCr(dst[i:i+3:i+3], m, m.YOffset(x, y), m.COffset(x, y))
	}
}

// fromYCbCr converts a pixel by JFIF's formulas (ITU-T T.871, 7), in 16-bit fractions.
func fromYCbCr(rgb []byte, m *image.YCbCr, yi, ci int) {
	l, cb, cr := int32(m.Y[yi])<<16+1<<15, int32(m.Cb[ci])-128, int32(m.Cr[ci])-128
	rgb[0] = clamp8((l + 91881*cr) >> 16)
	rgb[1] = clamp8((l - 22554*cb - 46802*cr) >> 16)
	rgb[2] = clamp8((l + 116130*cb) >> 16)
}

func clamp8(v int32) byte { return byte(min(max(v, 0), 255)) }
