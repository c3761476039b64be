package row

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"math/bits"

	"golang.org/x/image/ccitt"
	"golang.org/x/image/tiff/lzw"
)

// begin chooses how the rows are to be had.
func (d *layout) begin(p *Picture) error {
	switch {
	case d.compression == jpegKind:
		if err := p.fitsWhole("a TIFF with JPEG inside", "save it with LZW or Deflate"); err != nil {
			return err
		}
		p.rows = &jpegChunks{layout: d, channels: p.Channels}
		return nil
	case d.compression == group3:
		if err := p.fitsWhole("a TIFF with G3 inside", "save it with G4"); err != nil {
			return err
		}
	}
	p.rows = d.stream(p)
	return nil
}

// stream gives rows one after the other.
func (d *layout) stream(p *Picture) reader {
	t := &tiffRows{layout: d, channels: p.Channels, line: make([]byte, (d.width*d.samples*d.bits+7)/8)}
	if d.bits < 8 {
		t.spread = newSpread(d.bits, d.meanings())
		t.values = make([]byte, d.width)
	}
	if d.compression == plain && !d.reversed {
		t.strips = &strips{layout: d}
		if !d.tiled {
			return &plainRows{t}
		}
	} else {
		t.pump = newPump(&strips{layout: d}, len(t.line))
	}
	return t
}

// meanings are the greys of few bits, or where they lie in a palette.
func (d *layout) meanings() *[256]byte {
	if d.photometric == 3 {
		return &places
	}
	t := greys(d.bits)
	if d.photometric == 0 {
		for v := range 1 << d.bits {
			t[v] = 255 - t[v]
		}
	}
	return t
}

// strips is all rows of a TIFF file as they lie in memory, decompressed, one
// after the other without what fills tiles up.
type strips struct {
	*layout
	next  int       // chunk, or row of tiles, that is opened next
	in    io.Reader // of a strip
	left  int       // bytes of it still to come
	band  []byte    // a row of tiles, row after row of the picture
	taken int
	row   int // rows given from tiles

	// of what is decompressed, one strip or tile after the other
	buffer   *bufio.Reader
	inflater io.ReadCloser
}

func (s *strips) Read(dst []byte) (int, error) {
	if s.tiled {
		return s.readTiles(dst)
	}
	for s.left == 0 {
		if s.next*s.chunkRows >= s.height {
			return 0, io.EOF
		}
		in, err := s.open(s.next)
		if err != nil {
			return 0, err
		}
		s.in, s.left = in, s.rowsOf(s.next)*s.rowBytes()
		s.next++
	}
	n, err := s.in.Read(dst[:min(len(dst), s.left)])
	s.left -= n
	if err == io.EOF {
		if err = nil; n == 0 && s.left > 0 {
			err = io.ErrUnexpectedEOF
		}
	}
	return n, err
}

func (s *strips) readTiles(dst []byte) (int, error) {
	if s.taken == len(s.band) {
		if s.row >= s.height {
			return 0, io.EOF
		}
		if err := s.loadTiles(); err != nil {
			return 0, err
		}
	}
	n := copy(dst, s.band[s.taken:])
	s.taken += n
	return n, nil
}

// loadTiles puts a row of tiles side by side.
func (s *strips) loadTiles() error {
	line, tile := (s.width*s.samples*s.bits+7)/8, s.rowBytes()
	rows := min(s.chunkRows, s.height-s.row)
	if need := rows * line; cap(s.band) < need {
		s.band = make([]byte, need)
	}
	s.band, s.taken = s.band[:rows*line], 0
	buffer := make([]byte, tile)
	for i := range s.across() {
		in, err := s.open(s.next)
		if err != nil {
			return err
		}
		s.next++
		for y := range rows {
			if _, err := io.ReadFull(in, buffer); err != nil {
				if errors.Is(err, io.EOF) {
					err = io.ErrUnexpectedEOF
				}
				return err
			}
			s.sum(buffer)
			copy(s.band[y*line+min(i*tile, line):(y+1)*line], buffer)
		}
	}
	s.row += rows
	return nil
}

// open decompresses chunk i.
func (s *strips) open(i int) (io.Reader, error) {
	section := io.NewSectionReader(s.r, s.offsets[i], s.bytes[i])
	if s.buffer == nil {
		s.buffer = bufio.NewReaderSize(section, 1<<16)
	}
	s.buffer.Reset(section)
	var in io.Reader = s.buffer
	if s.reversed && s.compression != group3 && s.compression != group4 {
		in = reversing{in}
	}
	switch s.compression {
	case packBits:
		return &unpacker{in: bufio.NewReader(in)}, nil
	case lzwKind:
		return lzw.NewReader(in, lzw.MSB, 8), nil
	case deflate, deflate2:
		if err := s.inflate(in); err != nil {
			return nil, FormatError{fmt.Sprintf("strip or tile %d is damaged", i+1)}
		}
		return s.inflater, nil
	case group3, group4:
		return s.fax(in, i), nil
	}
	return in, nil
}

// inflate lets the inflater go on with another strip or tile; files have thousands.
func (s *strips) inflate(in io.Reader) (err error) {
	if s.inflater == nil {
		s.inflater, err = zlib.NewReader(in)
		return err
	}
	return s.inflater.(zlib.Resetter).Reset(in, nil)
}

// fax decompresses CCITT: a run of the code's white is 0, of its black 1, and the
// photometric interpretation says afterwards how that looks (TIFF 6.0, sections 10
// and 11), as libtiff has it.
func (s *strips) fax(in io.Reader, i int) io.Reader {
	if s.compression == group3 {
		if s.reversed {
			in = reversing{in}
		}
		return newFax(in, s.t4&1 != 0, s.chunkWidth, s.rowsOf(i))
	}
	order := ccitt.MSB
	if s.reversed {
		order = ccitt.LSB
	}
	return ccitt.NewReader(in, order, ccitt.Group4, s.chunkWidth, s.rowsOf(i), &ccitt.Options{Invert: true})
}

// reversing turns the bits of every byte round.
type reversing struct{ in io.Reader }

func (r reversing) Read(dst []byte) (int, error) {
	n, err := r.in.Read(dst)
	for i, b := range dst[:n] {
		dst[i] = bits.Reverse8(b)
	}
	return n, err
}

// unpacker undoes PackBits (TIFF 6.0, section 9).
type unpacker struct {
	in    *bufio.Reader
	count int  // bytes still to come
	same  bool // all are value
	value byte
}

func (u *unpacker) Read(dst []byte) (int, error) {
	for u.count == 0 {
		if err := u.head(); err != nil {
			return 0, err
		}
	}
	n := min(len(dst), u.count)
	if u.same {
		for i := range dst[:n] {
			dst[i] = u.value
		}
		u.count -= n
		return n, nil
	}
	n, err := u.in.Read(dst[:n])
	u.count -= n
	return n, err
}

func (u *unpacker) head() error {
	b, err := u.in.ReadByte()
	if err != nil {
		return err
	}
	switch n := int(int8(b)); {
	case n >= 0:
		u.count, u.same = n+1, false
	case n > -128:
		u.count, u.same = 1-n, true
		u.value, err = u.in.ReadByte()
	}
	return err
}

// tiffRows makes grey or RGB of the samples.
type tiffRows struct {
	*layout
	channels int
	strips   *strips // of what lies plainly
	pump     *pump   // of what is compressed
	line     []byte
	spread   *spread // of few bits
	values   []byte  // of a row of a palette, a byte each
}

func (t *tiffRows) next() (err error) {
	if t.pump != nil {
		t.line, _, err = t.pump.next()
		return tiffError(err)
	}
	_, err = io.ReadFull(t.strips, t.line)
	return tiffError(err)
}

func tiffError(err error) error {
	var format FormatError
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &format) {
		return err
	}
	return FormatError{"its pixels are damaged"}
}

func (t *tiffRows) read(dst []byte) (int, error) {
	n := t.width * t.channels
	for i := 0; (i+1)*n <= len(dst); i++ {
		if err := t.next(); err != nil {
			return i, err
		}
		t.widen(dst[i*n : (i+1)*n])
	}
	return len(dst) / n, nil
}

// Close ends the decompressing.
func (t *tiffRows) Close() error {
	if t.pump != nil {
		t.pump.close()
	}
	return nil
}

func (t *tiffRows) widen(dst []byte) {
	if !t.tiled { // a tile's rows are sums of their own
		t.sum(t.line)
	}
	switch {
	case t.photometric == 3:
		t.paint(dst)
	case t.bits < 8:
		t.spread.unpack(dst, t.line)
	default:
		t.samplesTo(dst)
	}
}

// sum undoes horizontal differencing of a strip's or tile's row (TIFF 6.0, section 14).
func (d *layout) sum(line []byte) {
	if d.predictor != 2 {
		return
	}
	if d.bits == 8 {
		for i := d.samples; i < len(line); i++ {
			line[i] += line[i-d.samples]
		}
		return
	}
	up, low := d.byteOrder16, 1-d.byteOrder16
	for i := 2 * d.samples; i+1 < len(line); i += 2 {
		k := i - 2*d.samples
		v := uint16(line[i+up])<<8 + uint16(line[i+low]) + uint16(line[k+up])<<8 + uint16(line[k+low])
		line[i+up], line[i+low] = byte(v>>8), byte(v)
	}
}

func (t *tiffRows) paint(dst []byte) {
	values, entries := t.line, 1<<t.bits
	if t.bits < 8 {
		t.spread.unpack(t.values, t.line)
		values = t.values
	}
	for i, v := range values {
		for c := range 3 {
			dst[3*i+c] = byte(t.colours[c*entries+int(v)] >> 8)
		}
	}
}

// samplesTo writes samples of 8 or 16 bits; what is transparent lies on white.
func (t *tiffRows) samplesTo(dst []byte) {
	step := t.bits / 8
	upper := 0
	if step == 2 {
		upper = t.byteOrder16
	}
	if t.samples == t.channels && step == 1 {
		copy(dst, t.line)
	} else {
		alpha := -1
		if t.samples == t.channels+1 && (t.extra == 1 || t.extra == 2) {
			alpha = t.channels*step + upper
		}
		for i, k := 0, 0; i < len(dst); i, k = i+t.channels, k+t.samples*step {
			for c := range t.channels {
				v := t.line[k+c*step+upper]
				if alpha >= 0 {
					v = t.through(v, t.line[k+alpha])
				}
				dst[i+c] = v
			}
		}
	}
	if t.photometric == 0 {
		turnRound(dst)
	}
}

func (t *tiffRows) through(v, a byte) byte {
	if t.extra == 1 {
		return byte(min(int(v)+255-int(a), 255))
	}
	return onWhite(v, a)
}

// plainRows are rows that lie in the file as they are, in strips: any can be had
// at once.
type plainRows struct{ *tiffRows }

func (p *plainRows) seek(row int) error {
	i := row / p.chunkRows
	p.strips.next = i
	p.strips.left = 0
	if _, err := p.strips.open(i); err != nil {
		return err
	}
	skip := (row - i*p.chunkRows) * p.rowBytes()
	at := p.offsets[i] + int64(skip)
	in := io.NewSectionReader(p.r, at, p.bytes[i]-int64(skip))
	p.strips.in, p.strips.left = in, p.rowsOf(i)*p.rowBytes()-skip
	p.strips.next++
	return nil
}

func (p *plainRows) read(dst []byte) (int, error) {
	if p.bits != 8 || p.samples != p.channels || p.predictor != 1 || p.photometric == 0 || p.photometric == 3 {
		return p.tiffRows.read(dst)
	}
	n, err := io.ReadFull(p.strips, dst)
	return n / (p.width * p.channels), err
}

// jpegChunks decodes each strip or tile of a TIFF with JPEG inside as a picture
// of its own (Adobe, TIFF Technical Note 2).
type jpegChunks struct {
	*layout
	channels int
	band     []byte
	top      int // first row of the band
	rows     int // of the band
	at       int
}

func (d *jpegChunks) seek(row int) error {
	d.at = row
	return nil
}

func (d *jpegChunks) read(dst []byte) (int, error) {
	n := d.width * d.channels
	for i := 0; (i+1)*n <= len(dst); i++ {
		if d.band == nil || d.at < d.top || d.at >= d.top+d.rows {
			if err := d.load(d.at / d.chunkRows); err != nil {
				return i, err
			}
		}
		copy(dst[i*n:(i+1)*n], d.band[(d.at-d.top)*n:])
		d.at++
	}
	return len(dst) / n, nil
}

func (d *jpegChunks) load(i int) error {
	d.top = i * d.chunkRows
	d.rows = min(d.chunkRows, d.height-d.top)
	n := d.width * d.channels
	d.band = make([]byte, d.rows*n)
	for k := range d.across() {
		m, err := d.decode(i*d.across() + k)
		if err != nil {
			return err
		}
		from := k * d.chunkWidth * d.channels
		to := min(from+d.chunkWidth*d.channels, n)
		for y := range min(d.rows, m.Bounds().Dy()) {
			row := make([]byte, m.Bounds().Dx()*d.channels)
			paintRow(row, m, m.Bounds().Min.Y+y, d.channels)
			copy(d.band[y*n+from:y*n+to], row)
		}
	}
	return nil
}

func (d *jpegChunks) decode(i int) (image.Image, error) {
	raw := make([]byte, d.bytes[i])
	if _, err := d.r.ReadAt(raw, d.offsets[i]); err != nil && err != io.EOF {
		return nil, err
	}
	if len(d.tables) > 4 && len(raw) > 2 {
		joined := append([]byte{}, d.tables[:len(d.tables)-2]...)
		raw = append(joined, raw[2:]...)
	}
	head, err := jpeg.DecodeConfig(bytes.NewReader(raw))
	if err == nil && (head.Width > d.chunkWidth+16 || head.Height > d.chunkRows+16) {
		err = errors.New("it is larger than its place")
	}
	if err != nil {
		return nil, FormatError{fmt.Sprintf("strip or tile %d is damaged", i+1)}
	}
	m, err := jpeg.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil, FormatError{fmt.Sprintf("strip or tile %d is damaged", i+1)}
	}
	return m, nil
}
