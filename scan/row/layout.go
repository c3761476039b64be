package row

import (
	"fmt"
	"io"
)

// layout is how the pixels of a TIFF file lie: chunks (strips or tiles) of
// acrossPixels by downRows.
type layout struct {
	r           io.ReaderAt
	size        int64
	width       int
	height      int
	compression int64
	photometric int64
	bits        int
	samples     int
	extra       int64 // 1: associated alpha, 2: unassociated alpha
	predictor   int64
	reversed    bool // bits of a byte, the lower first
	byteOrder16 int  // index of the upper byte of a 16-bit sample
	t4          int64
	colours     []int64
	tables      []byte // of JPEG
	tiled       bool
	chunkWidth  int
	chunkRows   int
	offsets     []int64
	bytes       []int64
}

// layout reads the tags that say how the pixels lie, and checks them against the
// file's length.
func (f *tiffFile) layout(p *Picture) (*layout, error) {
	d := &layout{
		r: f.r, size: f.size, width: p.Width, height: p.Height,
		compression: f.number(tagCompression, 1), photometric: f.number(tagPhotometric, 1),
		samples: int(f.number(tagSamples, 1)), extra: f.number(tagExtra, 0),
		predictor: f.number(tagPredictor, 1), reversed: f.number(tagFillOrder, 1) == 2, t4: f.number(tagT4Options, 0),
		bits: int(f.number(tagBits, 1)),
	}
	if f.order.Uint16([]byte{0, 1}) != 1 {
		d.byteOrder16 = 1
	}
	if d.samples < 1 || d.samples > 16 {
		return nil, FormatError{fmt.Sprintf("it has %d samples a pixel", d.samples)}
	}
	for _, b := range f.numbers(tagBits) {
		if int(b) != d.bits {
			return nil, UnsupportedError{"its samples have different numbers of bits", saveHint}
		}
	}
	p.Channels = d.channels()
	if err := p.bounded(); err != nil {
		return nil, err
	}
	if err := d.supported(f); err != nil {
		return nil, err
	}
	if d.photometric == 3 {
		d.colours = f.numbers(tagColorMap)
		if len(d.colours) < 3<<d.bits {
			return nil, FormatError{"its palette is too short"}
		}
	}
	if e := f.tags[tagJPEGTables]; e.count > 4 && e.count < 1<<16 && sizes[e.kind] == 1 {
		d.tables = f.bytes(e.at, int(e.count))
	}
	if err := d.chunks(f); err != nil {
		return nil, err
	}
	return d, f.err
}

// channels of the picture as it is read.
func (d *layout) channels() int {
	if d.photometric >= 2 && d.photometric != 4 {
		return 3
	}
	return 1
}

func (d *layout) supported(f *tiffFile) error {
	unsupported := func(format string, args ...any) error {
		return UnsupportedError{fmt.Sprintf(format, args...), saveHint}
	}
	switch {
	case f.number(tagPlanar, 1) != 1 && d.samples > 1:
		return unsupported("its colours lie in separate planes")
	case f.number(tagFormat, 1) != 1:
		return unsupported("its samples are no unsigned whole numbers")
	case d.bits != 1 && d.bits != 2 && d.bits != 4 && d.bits != 8 && d.bits != 16:
		return unsupported("its samples have %d bits", d.bits)
	case d.photometric > 3 && !(d.photometric == 6 && d.compression == jpegKind):
		return unsupported("its colours are of kind %d (photometric interpretation)", d.photometric)
	case d.photometric == 2 && (d.samples < 3 || d.bits < 8), d.photometric == 3 && (d.samples != 1 || d.bits > 8):
		return FormatError{"its samples do not fit its colours"}
	case d.photometric < 2 && d.samples > 1 && d.bits < 8:
		return unsupported("it has %d samples of %d bits", d.samples, d.bits)
	case d.predictor != 1 && (d.predictor != 2 || d.bits < 8):
		return unsupported("its predictor is of kind %d", d.predictor)
	}
	switch d.compression {
	case plain, packBits, lzwKind, deflate, deflate2, jpegKind:
		return nil
	case group3, group4:
		if d.bits != 1 || d.samples != 1 {
			return FormatError{"CCITT compression needs one bit a pixel"}
		}
		return nil
	}
	return unsupported("its compression is of kind %d", d.compression)
}

// chunks reads where strips or tiles lie.
func (d *layout) chunks(f *tiffFile) error {
	d.chunkWidth, d.chunkRows = d.width, int(min(f.number(tagRowsPerStrip, int64(d.height)), int64(d.height)))
	offsets, counts := uint16(tagStripOffsets), uint16(tagStripBytes)
	if _, d.tiled = f.tags[tagTileWidth]; d.tiled {
		d.chunkWidth, d.chunkRows = int(f.number(tagTileWidth, 0)), int(f.number(tagTileHeight, 0))
		offsets, counts = tagTileOffsets, tagTileBytes
	}
	if d.chunkWidth < 1 || d.chunkRows < 1 || d.chunkWidth > MostAcross || d.chunkRows > 1<<30 {
		return FormatError{"its strips or tiles have no size"}
	}
	if d.tiled && int64(d.across())*int64(d.chunkRows)*int64(d.rowBytes()) > MostWhole/2 {
		return UnsupportedError{fmt.Sprintf("a row of its tiles is %d rows high, too much to be held", d.chunkRows),
			"save it in strips"}
	}
	want := int64(d.across()) * int64((d.height+d.chunkRows-1)/d.chunkRows)
	if f.tags[offsets].count < want {
		return FormatError{fmt.Sprintf("it lists %d strips or tiles, and its size needs %d", f.tags[offsets].count, want)}
	}
	d.offsets, d.bytes = f.numbers(offsets), f.numbers(counts)
	if len(d.bytes) < len(d.offsets) && d.compression == plain {
		d.bytes = make([]int64, len(d.offsets))
		for i := range d.bytes {
			d.bytes[i] = int64(d.rowsOf(i)) * int64(d.rowBytes())
		}
	}
	if int64(len(d.offsets)) < want || int64(len(d.bytes)) < want {
		return FormatError{"it does not say where its strips or tiles lie"}
	}
	for i := range want {
		if d.offsets[i] < 0 || d.bytes[i] < 0 || d.offsets[i] > d.size-d.bytes[i] {
			return FormatError{fmt.Sprintf("it breaks off: strip or tile %d of %d lies beyond the end of the file", i+1, want)}
		}
		if d.compression == plain && d.bytes[i] < int64(d.rowsOf(int(i)))*int64(d.rowBytes()) {
			return FormatError{fmt.Sprintf("strip or tile %d of %d is too short", i+1, want)}
		}
	}
	return d.plausible()
}

// plausible holds the size against what compression can do at most.
func (d *layout) plausible() error {
	most := map[int64]int64{plain: 1, packBits: 64, lzwKind: 4096, deflate: mostDeflated,
		deflate2: mostDeflated}[d.compression]
	raw := (int64(d.width)*int64(d.samples)*int64(d.bits) + 7) / 8 * int64(d.height)
	if most > 0 && raw/most > d.size {
		return FormatError{fmt.Sprintf("it breaks off: %d bytes cannot hold %d by %d pixels", d.size, d.width, d.height)}
	}
	return nil
}

// across is how many chunks lie side by side.
func (d *layout) across() int { return (d.width + d.chunkWidth - 1) / d.chunkWidth }

// rowBytes are those of a row of a chunk.
func (d *layout) rowBytes() int { return (d.chunkWidth*d.samples*d.bits + 7) / 8 }

// rowsOf is how many rows chunk i has: tiles are always whole, the last strip is
// not.
func (d *layout) rowsOf(i int) int {
	if d.tiled {
		return d.chunkRows
	}
	return min(d.chunkRows, d.height-i*d.chunkRows)
}
