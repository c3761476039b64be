package row

import (
	"bufio"
	"fmt"
	"io"
)

// openPNM reads the header of a raw PNM file (netpbm's pbm(5), pgm(5), ppm(5)):
// a letter and a digit, width, height and, but for P4, the largest value, parted
// by white space, with remarks from # to the end of a line.
func openPNM(r io.ReaderAt, size int64) (*Picture, error) {
	h := &pnmHeader{in: bufio.NewReader(io.NewSectionReader(r, 0, min(size, 1<<16)))}
	h.byte() // P
	kind := h.byte()
	p := &Picture{Width: h.number(), Height: h.number(), Channels: 1, Format: "PGM"}
	d := &pnm{at: r, samples: p.Width, most: 255}
	switch kind {
	case '4':
		p.Format, d.bytes = "PBM", (p.Width+7)/8
	case '6':
		p.Format, p.Channels, d.samples = "PPM", 3, 3*p.Width
	}
	if kind != '4' {
		d.most = h.number()
		d.bytes = d.samples
		if d.most > 255 {
			d.bytes *= 2
		}
	}
	if h.failed || h.ended() || d.most < 1 || d.most > 65535 {
		return nil, FormatError{"its header is not that of a PNM file: P5, width, height, largest value"}
	}
	if err := p.bounded(); err != nil {
		return nil, err
	}
	if whole := h.read + int64(d.bytes)*int64(p.Height); whole > size {
		return nil, FormatError{fmt.Sprintf("it breaks off: %d by %d pixels need %d bytes, and the file has %d", p.Width,
			p.Height, whole, size)}
	}
	d.start = h.read
	d.from = h.read
	p.rows = d
	d.prepare(kind)
	return p, nil
}

// pnmHeader reads the numbers of a header, and counts its bytes.
type pnmHeader struct {
	in     *bufio.Reader
	read   int64
	failed bool
}

func (h *pnmHeader) byte() byte {
	b, err := h.in.ReadByte()
	if err != nil {
		h.failed = true
		return 0
	}
	h.read++
	return b
}

// number is the next number; exactly one sign after it is read with it.
func (h *pnmHeader) number() int {
	b := h.byte()
	for !h.failed && (b == '#' || isBlank(b)) {
		if b == '#' {
			for !h.failed && b != '\n' && b != '\r' {
				b = h.byte()
			}
			continue
		}
		b = h.byte()
	}
	n, digits := 0, 0
	for ; !h.failed && b >= '0' && b <= '9' && digits < 10; digits++ {
		n = n*10 + int(b-'0')
		b = h.byte()
	}
	if digits == 0 || digits > 9 || !isBlank(b) {
		h.failed = true
	}
	return n
}

func (h *pnmHeader) ended() bool { return h.read >= 1<<16 }

func isBlank(b byte) bool { return b == ' ' || b >= '\t' && b <= '\r' }

// pnm reads the rows of a PNM file.
type pnm struct {
	at      io.ReaderAt
	start   int64 // of the pixels
	from    int64 // of the next row
	bytes   int   // of a row in the file
	samples int   // of a row
	most    int
	raw     []byte
	expand  func(dst, raw []byte)
}

// prepare chooses how bytes of the file become samples of 8 bits.
func (d *pnm) prepare(kind byte) {
	switch {
	case kind == '4':
		d.expand = newSpread(1, &inkWhite).unpack
	case d.most == 255:
	case d.most < 255:
		var scale [256]byte
		for v := range scale {
			scale[v] = byte((min(v, d.most)*255 + d.most/2) / d.most)
		}
		d.expand = func(dst, raw []byte) {
			for i := range dst {
				dst[i] = scale[raw[i]]
			}
		}
	default:
		most := d.most
		d.expand = func(dst, raw []byte) {
			for i := range dst {
				v := int(raw[2*i])<<8 | int(raw[2*i+1])
				dst[i] = byte((min(v, most)*255 + most/2) / most)
			}
		}
	}
	if d.expand != nil {
		d.raw = make([]byte, d.bytes)
	}
}

func (d *pnm) read(dst []byte) (int, error) {
	if d.expand == nil {
		n, err := d.at.ReadAt(dst, d.from)
		d.from += int64(n)
		return n / d.bytes, err
	}
	for i := 0; (i+1)*d.samples <= len(dst); i++ {
		if n, err := d.at.ReadAt(d.raw, d.from); n < d.bytes {
			return i, err
		}
		d.from += int64(d.bytes)
		d.expand(dst[i*d.samples:(i+1)*d.samples], d.raw)
	}
	return len(dst) / d.samples, nil
}

func (d *pnm) seek(row int) error {
	d.from = d.start + int64(row)*int64(d.bytes)
	return nil
}

// inkWhite is the meaning of a bit where 1 is ink.
var inkWhite = [256]byte{0: 255}
