package row

import (
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"
)

// openJPEG reads the header of a JPEG file (ITU-T T.81, annex B; JFIF's density:
// ITU-T T.871, 10.1) and leaves the rest for the first row.
func openJPEG(r io.ReaderAt, size int64) (*Picture, error) {
	p := &Picture{Format: "JPEG"}
	turn, err := jpegHead(p, r, size)
	if err != nil {
		return nil, err
	}
	if err := p.fitsWhole("a JPEG", "save it as PNG, or as several overlapping pictures"); err != nil {
		return nil, err
	}
	// A block of 8 by 8 pixels takes two bits at least: its mean, and that nothing follows.
	if blocks := int64(p.Width+7) / 8 * (int64(p.Height+7) / 8); blocks/4 > size {
		return nil, FormatError{fmt.Sprintf("it breaks off: %d bytes cannot hold %d by %d pixels", size, p.Width, p.Height)}
	}
	decode := func() (image.Image, error) {
		m, err := jpeg.Decode(io.NewSectionReader(r, 0, size))
		if err != nil || turn <= 1 {
			return m, err
		}
		return turned{m, turn}, nil
	}
	if turn >= 5 {
		p.Width, p.Height, p.DPIX, p.DPIY = p.Height, p.Width, p.DPIY, p.DPIX
	}
	p.rows = &whole{decode: decode, width: p.Width, channels: p.Channels}
	return p, nil
}

// jpegHead walks over the segments to the frame's (B.2.2). turn is Exif's
// orientation, 1 where there is none.
func jpegHead(p *Picture, r io.ReaderAt, size int64) (turn int, err error) {
	turn = 1
	var b [4]byte
	for at := int64(2); ; {
		if _, err := r.ReadAt(b[:], at); err != nil {
			return 0, FormatError{"it breaks off before its pixels"}
		}
		if b[0] != 0xff {
			return 0, FormatError{"what follows its head is no part of a JPEG file"}
		}
		marker := b[1]
		if marker == 0xff || marker >= 0xd0 && marker <= 0xd8 || marker == 1 {
			at++
			if marker != 0xff {
				at++
			}
			continue
		}
		length := int64(binary.BigEndian.Uint16(b[2:]))
		if marker == 0xd9 || marker == 0xda || length < 2 || at+2+length > size {
			return 0, FormatError{"it breaks off before its pixels"}
		}
		body := make([]byte, length-2)
		if _, err := r.ReadAt(body, at+4); err != nil {
			return 0, FormatError{"it breaks off before its pixels"}
		}
		switch {
		case marker == 0xe0:
			p.density(body)
		case marker == 0xe1:
			turn = orientation(body)
		case marker >= 0xc0 && marker <= 0xcf && marker != 0xc4 && marker != 0xc8 && marker != 0xcc:
			return turn, p.frame(marker, body)
		}
		at += 2 + length
	}
}

func (p *Picture) density(b []byte) {
	if len(b) < 12 || string(b[:5]) != "JFIF\x00" {
		return
	}
	x, y := float64(binary.BigEndian.Uint16(b[8:])), float64(binary.BigEndian.Uint16(b[10:]))
	switch b[7] {
	case 1:
		p.DPIX, p.DPIY = x, y
	case 2:
		p.DPIX, p.DPIY = x*2.54, y*2.54
	}
}

func (p *Picture) frame(marker byte, b []byte) error {
	if marker > 0xc2 {
		return UnsupportedError{"this JPEG is neither baseline nor progressive", saveHint}
	}
	if len(b) < 6 {
		return FormatError{"its frame has the wrong length"}
	}
	p.Height, p.Width = int(binary.BigEndian.Uint16(b[1:])), int(binary.BigEndian.Uint16(b[3:]))
	p.Channels = 1
	if b[5] > 1 {
		p.Channels = 3
	}
	return nil
}

// orientation is tag 0x112 of an Exif segment (CIPA DC-008, 4.6.4): which way the
// camera was held.
func orientation(b []byte) int {
	if len(b) < 14 || string(b[:6]) != "Exif\x00\x00" {
		return 1
	}
	b = b[6:]
	var order binary.ByteOrder = binary.BigEndian
	if b[0] == 'I' {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(b[4:]))
	if at+2 > int64(len(b)) {
		return 1
	}
	n := int64(order.Uint16(b[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > int64(len(b)) {
			break
		}
		if order.Uint16(b[e:]) == 0x112 {
			if v := int(order.Uint16(b[e+8:])); v >= 1 && v <= 8 {
				return v
			}
		}
	}
	return 1
}

// turned is a picture as its orientation says that it is to be seen.
type turned struct {
	image.Image
	turn int
}

// Bounds are those of the picture as seen, from (0, 0).
func (t turned) Bounds() image.Rectangle {
	b := t.Image.Bounds()
	if t.turn >= 5 {
		return image.Rect(0, 0, b.Dy(), b.Dx())
	}
	return image.Rect(0, 0, b.Dx(), b.Dy())
}

// source is the pixel of the file that is seen at (x, y).
func (t turned) source(x, y int) (int, int) {
	b := t.Image.Bounds()
	w, h := b.Dx(), b.Dy()
	switch t.turn {
	case 2:
		x = w - 1 - x
	case 3:
		x, y = w-1-x, h-1-y
	case 4:
		y = h - 1 - y
	case 5:
		x, y = y, x
	case 6:
		x, y = y, h-1-x
	case 7:
		x, y = w-1-y, h-1-x
	case 8:
		x, y = w-1-y, x
	}
	return b.Min.X + x, b.Min.Y + y
}

// At is the pixel seen at (x, y).
func (t turned) At(x, y int) color.Color { return t.Image.At(t.source(x, y)) }
