package row

import (
	"bufio"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
)

// PNG (ISO/IEC 15948; W3C Portable Network Graphics, third edition): sections
// named below are those of the W3C text.
const pngMagic = "\x89PNG\r\n\x1a\n"

// mostDeflated is the most that Deflate can make of a byte (RFC 1951: 258 bytes
// for two bits, rounded up).
const mostDeflated = 1032

// openPNG reads the chunks up to the first of the pixels (5.6).
func openPNG(r io.ReaderAt, size int64) (*Picture, error) {
	c := &chunks{in: bufio.NewReaderSize(io.NewSectionReader(r, 0, size), 1<<18)}
	if _, err := c.in.Discard(len(pngMagic)); err != nil {
		return nil, FormatError{"it breaks off before its pixels"}
	}
	d := &pngRows{chunks: c}
	p := &Picture{Format: "PNG"}
	interlaced := false
	for {
		name, length, err := c.head()
		if err != nil {
			return nil, FormatError{"it breaks off before its pixels"}
		}
		if name == "IDAT" {
			break
		}
		if length > 1<<20 {
			if _, err := io.CopyN(io.Discard, c.in, length+4); err != nil {
				return nil, FormatError{"it breaks off before its pixels"}
			}
			continue
		}
		body, err := c.body(length)
		if err != nil {
			return nil, err
		}
		switch name {
		case "IHDR":
			interlaced, err = d.header(p, body)
		case "PLTE":
			d.palette(body)
		case "tRNS":
			d.transparency(body)
		case "pHYs":
			if len(body) == 9 && body[8] == 1 {
				p.DPIX = float64(binary.BigEndian.Uint32(body)) * inchMetres
				p.DPIY = float64(binary.BigEndian.Uint32(body[4:])) * inchMetres
			}
		case "IEND":
			err = FormatError{"it has no pixels"}
		}
		if err != nil {
			return nil, err
		}
	}
	if d.depth == 0 {
		return nil, FormatError{"it does not say how large it is"}
	}
	if err := p.bounded(); err != nil {
		return nil, err
	}
	if raw := int64(d.rowBytes(p.Width)+1) * int64(p.Height); raw/mostDeflated > size {
		return nil, FormatError{fmt.Sprintf("it breaks off: %d bytes cannot hold %d by %d pixels", size, p.Width, p.Height)}
	}
	if interlaced {
		if err := p.fitsWhole("an interlaced PNG", "save it without interlacing"); err != nil {
			return nil, err
		}
	}
	return p, d.begin(p, interlaced)
}

const inchMetres = 0.0254

// chunks reads the chunks of a PNG file; as a reader it gives the bytes of the
// IDAT chunks in turn.
type chunks struct {
	in   *bufio.Reader
	left int64 // of this IDAT
	sum  uint32
}

func (c *chunks) head() (name string, length int64, err error) {
	var b [8]byte
	if _, err := io.ReadFull(c.in, b[:]); err != nil {
		return "", 0, err
	}
	length = int64(binary.BigEndian.Uint32(b[:]))
	c.left, c.sum = length, crc32.ChecksumIEEE(b[4:])
	return string(b[4:]), length, nil
}

// body is a short chunk's data.
func (c *chunks) body(length int64) ([]byte, error) {
	b := make([]byte, length)
	if _, err := io.ReadFull(c.in, b); err != nil {
		return nil, FormatError{"it breaks off before its pixels"}
	}
	c.sum = crc32.Update(c.sum, crc32.IEEETable, b)
	if err := c.check(); errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, FormatError{"it breaks off before its pixels"}
	} else if err != nil {
		return nil, err
	}
	return b, nil
}

func (c *chunks) check() error {
	var b [4]byte
	if _, err := io.ReadFull(c.in, b[:]); err != nil {
		return io.ErrUnexpectedEOF
	}
	if binary.BigEndian.Uint32(b[:]) != c.sum {
		return FormatError{"a check sum is wrong: the file is damaged"}
	}
	return nil
}

func (c *chunks) Read(dst []byte) (int, error) {
	for c.left == 0 {
		if err := c.check(); err != nil {
			return 0, err
		}
		name, _, err := c.head()
		if err != nil || name != "IDAT" {
			return 0, io.ErrUnexpectedEOF
		}
	}
	n, err := c.in.Read(dst[:min(int64(len(dst)), c.left)])
	c.sum = crc32.Update(c.sum, crc32.IEEETable, dst[:n])
	c.left -= int64(n)
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return n, err
}

// pngRows undoes filters (9) and widens samples (7.2).
type pngRows struct {
	*chunks
	depth, kind int // bits a sample, colour type
	bits        int // a pixel
	pixel       int // bytes of a pixel, at least 1: the filters' distance
	width       int
	channels    int // of the picture
	colours     [256][3]byte
	clear       [256]byte // of a palette: opacity
	pump        *pump
	spread      *spread // of few bits
	samples     []byte  // of a row of a palette, a byte each
}

// header reads IHDR (11.2.1).
func (d *pngRows) header(p *Picture, b []byte) (interlaced bool, err error) {
	if len(b) != 13 {
		return false, FormatError{"its header has the wrong length"}
	}
	w, h := binary.BigEndian.Uint32(b), binary.BigEndian.Uint32(b[4:])
	if w > 1<<31-1 || h > 1<<31-1 {
		return false, FormatError{"its size is out of bounds"}
	}
	p.Width, p.Height = int(w), int(h)
	d.depth, d.kind, d.width = int(b[8]), int(b[9]), p.Width
	samples, ok := map[int]int{0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[d.kind]
	fits := map[int]bool{1: d.kind == 0 || d.kind == 3, 2: d.kind == 0 || d.kind == 3, 4: d.kind == 0 || d.kind == 3,
		8: true, 16: d.kind != 3}[d.depth]
	if !ok || !fits || b[10] != 0 || b[11] != 0 || b[12] > 1 {
		return false, FormatError{fmt.Sprintf("colour type %d with %d bits does not exist", d.kind, d.depth)}
	}
	p.Channels = 1
	if d.kind&2 != 0 {
		p.Channels = 3
	}
	if err := p.bounded(); err != nil {
		return false, err
	}
	d.channels = p.Channels
	d.bits = samples * d.depth
	d.pixel = max(d.bits/8, 1)
	for i := range d.clear {
		d.clear[i] = 255
	}
	return b[12] == 1, nil
}

// rowBytes are those of so many pixels.
func (d *pngRows) rowBytes(width int) int { return (width*d.bits + 7) / 8 }

func (d *pngRows) palette(b []byte) {
	for i := 0; i+2 < len(b) && i < 3*256; i += 3 {
		d.colours[i/3] = [3]byte(b[i:])
	}
}

// transparency reads tRNS of a palette (11.3.1.1); a single transparent colour
// stays as it is.
func (d *pngRows) transparency(b []byte) {
	if d.kind == 3 {
		copy(d.clear[:], b)
	}
}

// begin starts to inflate.
func (d *pngRows) begin(p *Picture, interlaced bool) error {
	for i, c := range d.colours {
		for k := range c {
			d.colours[i][k] = onWhite(c[k], d.clear[i])
		}
	}
	in := bufio.NewReaderSize(d.chunks, 1<<16)
	if err := zlibHead(in); err != nil {
		return err
	}
	if d.depth < 8 {
		d.spread = spreadOf(d.depth, d.kind == 0)
		d.samples = make([]byte, d.width)
	}
	if interlaced {
		p.rows = &interlacedRows{pngRows: d, in: flate.NewReader(in), height: p.Height}
		return nil
	}
	d.pump = newPump(flate.NewReader(in), d.rowBytes(p.Width)+1)
	p.rows = d
	return nil
}

// zlibHead reads what stands before the deflated data (RFC 1950, 2.2). The check sum
// after it is not needed: the chunks have theirs.
func zlibHead(in io.Reader) error {
	var b [2]byte
	_, err := io.ReadFull(in, b[:])
	method, size, dictionary := b[0]&15, b[0]>>4, b[1]&32
	if err != nil || method != 8 || size > 7 || dictionary != 0 || (int(b[0])<<8|int(b[1]))%31 != 0 {
		return FormatError{"its pixels are damaged from the start"}
	}
	return nil
}

// onWhite is a value seen through opacity a on white.
func onWhite(v, a byte) byte {
	return byte((int(v)*int(a) + 255*(255-int(a)) + 127) / 255)
}

func (d *pngRows) read(dst []byte) (int, error) {
	n := d.width * d.channels
	for i := 0; (i+1)*n <= len(dst); i++ {
		row, above, err := d.pump.next()
		if err != nil {
			return i, pngError(err)
		}
		if above == nil {
			above = make([]byte, len(row))
		}
		if err := unfilter(row[0], row[1:], above[1:], d.pixel); err != nil {
			return i, err
		}
		d.widen(dst[i*n:(i+1)*n], row[1:])
	}
	return len(dst) / n, nil
}

func pngError(err error) error {
	var format FormatError
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &format) {
		return err
	}
	return FormatError{"its pixels are damaged"}
}

// Close ends the inflating.
func (d *pngRows) Close() error {
	d.pump.close()
	return nil
}

// widen makes 8-bit grey or RGB of a row.
func (d *pngRows) widen(dst, raw []byte) {
	switch {
	case d.kind == 0 && d.depth == 8, d.kind == 2 && d.depth == 8:
		copy(dst, raw)
	case d.kind == 0 && d.depth == 16, d.kind == 2 && d.depth == 16:
		for i := range dst {
			dst[i] = raw[2*i]
		}
	case d.kind == 0:
		d.spread.unpack(dst, raw)
	case d.kind == 3:
		d.paint(dst, raw)
	default:
		step := d.depth / 8
		seeThrough(dst, raw, d.channels, step)
	}
}

// seeThrough lays pixels with opacity on white; samples have step bytes.
func seeThrough(dst, raw []byte, channels, step int) {
	for i, k := 0, 0; i < len(dst); i += channels {
		a := raw[k+channels*step]
		for c := range channels {
			dst[i+c] = onWhite(raw[k+c*step], a)
		}
		k += (channels + 1) * step
	}
}

func (d *pngRows) paint(dst, raw []byte) {
	if d.depth < 8 {
		samples := d.samples[:len(dst)/3]
		d.spread.unpack(samples, raw)
		raw = samples
	}
	for i, v := range raw {
		p, c := dst[3*i:3*i+3:3*i+3], &d.colours[v]
		p[0], p[1], p[2] = c[0], c[1], c[2]
	}
}

// spreadOf is how samples of few bits become greys, or bytes as they are.
func spreadOf(bits int, grey bool) *spread {
	if grey {
		return newSpread(bits, greys(bits))
	}
	return newSpread(bits, &places)
}

// greys spread the values of few bits over 0 to 255.
func greys(bits int) *[256]byte {
	var t [256]byte
	most := 1<<bits - 1
	for v := 0; v <= most; v++ {
		t[v] = byte(v * 255 / most)
	}
	return &t
}

// interlacing is the passes of an interlaced picture (8.1): the first column and row of each, and
// how far apart its columns and rows are.
var interlacing = [7]struct{ x, y, dx, dy int }{
	{0, 0, 8, 8}, {4, 0, 8, 8}, {0, 4, 4, 8}, {2, 0, 4, 4}, {0, 2, 2, 4}, {1, 0, 2, 2}, {0, 1, 1, 2},
}

// interlacedRows are the rows of an interlaced picture, all of whose pixels are read
// when the first row is asked for.
type interlacedRows struct {
	*pngRows
	in     io.Reader
	height int
	pixels []byte
	err    error
	at     int
}

func (d *interlacedRows) read(dst []byte) (int, error) {
	if d.pixels == nil && d.err == nil {
		d.pixels = make([]byte, d.width*d.channels*d.height)
		d.err = d.load()
	}
	if d.err != nil {
		return 0, pngError(d.err)
	}
	n := d.width * d.channels
	rows := copy(dst, d.pixels[d.at*n:]) / n
	d.at += rows
	return rows, nil
}

func (d *interlacedRows) seek(row int) error {
	d.at = row
	return nil
}

// Close lets the pixels go.
func (d *interlacedRows) Close() error {
	d.pixels = nil
	return nil
}

// load puts the passes together.
func (d *interlacedRows) load() error {
	c := d.channels
	for _, p := range interlacing {
		width, height := (d.width-p.x+p.dx-1)/p.dx, (d.height-p.y+p.dy-1)/p.dy
		if width == 0 || height == 0 {
			continue
		}
		bytes := d.rowBytes(width)
		row, above, line := make([]byte, bytes+1), make([]byte, bytes+1), make([]byte, width*c)
		for y := range height {
			if _, err := io.ReadFull(d.in, row); err != nil {
				return err
			}
			if err := unfilter(row[0], row[1:], above[1:], d.pixel); err != nil {
				return err
			}
			d.widen(line, row[1:])
			to := d.pixels[((p.y+y*p.dy)*d.width+p.x)*c:]
			for x := range width {
				copy(to[x*p.dx*c:x*p.dx*c+c], line[x*c:])
			}
			row, above = above, row
		}
	}
	return nil
}
