package row

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// TIFF (Adobe, TIFF 6.0, 1992; BigTIFF by its own design page). Only the first
// picture of a file is read.
const (
	tagWidth        = 256
	tagHeight       = 257
	tagBits         = 258
	tagCompression  = 259
	tagPhotometric  = 262
	tagFillOrder    = 266
	tagStripOffsets = 273
	tagSamples      = 277
	tagRowsPerStrip = 278
	tagStripBytes   = 279
	tagXResolution  = 282
	tagYResolution  = 283
	tagPlanar       = 284
	tagT4Options    = 292
	tagUnit         = 296
	tagPredictor    = 317
	tagColorMap     = 320
	tagTileWidth    = 322
	tagTileHeight   = 323
	tagTileOffsets  = 324
	tagTileBytes    = 325
	tagExtra        = 338
	tagFormat       = 339
	tagJPEGTables   = 347
)

const (
	plain    = 1
	group3   = 3
	group4   = 4
	lzwKind  = 5
	jpegKind = 7
	deflate  = 8
	deflate2 = 32946
	packBits = 32773
)

// mostEntries bounds a directory; mostValues the numbers of one entry, as the
// file's length does too.
const mostEntries = 4096

// tiffFile is the directory of a TIFF file.
type tiffFile struct {
	r     io.ReaderAt
	size  int64
	order binary.ByteOrder
	big   bool
	tags  map[uint16]entry
	err   error
}

// entry is where the values of one tag lie.
type entry struct {
	kind  uint16
	count int64
	at    int64
}

func openTIFF(r io.ReaderAt, size int64) (*Picture, error) {
	f := &tiffFile{r: r, size: size, order: binary.LittleEndian, tags: map[uint16]entry{}}
	if err := f.directory(); err != nil {
		return nil, err
	}
	p := &Picture{Format: "TIFF", Width: int(f.number(tagWidth, 0)), Height: int(f.number(tagHeight, 0))}
	p.DPIX, p.DPIY = f.resolution()
	d, err := f.layout(p)
	if err != nil {
		return nil, err
	}
	return p, d.begin(p)
}

var errCutTIFF = FormatError{"it breaks off in its directory"}

func (f *tiffFile) bytes(at int64, n int) []byte {
	b := make([]byte, n)
	if at < 0 || at+int64(n) > f.size {
		f.err = errCutTIFF
		return b
	}
	if _, err := f.r.ReadAt(b, at); err != nil && err != io.EOF {
		f.err = err
	}
	return b
}

// directory reads the first directory of the file.
func (f *tiffFile) directory() error {
	head := f.bytes(0, 16)
	if f.err != nil {
		return f.err
	}
	if head[0] == 'M' {
		f.order = binary.BigEndian
	}
	f.big = f.order.Uint16(head[2:]) == 43
	at, step := int64(f.order.Uint32(head[4:])), int64(12)
	if f.big {
		at, step = int64(f.order.Uint64(head[8:])), 20
	}
	n, first := f.entries(at)
	if f.err == nil && n > mostEntries {
		return FormatError{fmt.Sprintf("its directory has %d entries", n)}
	}
	for i := range n {
		if f.err != nil {
			break
		}
		f.entry(first+i*step, int(step))
	}
	return f.err
}

func (f *tiffFile) entries(at int64) (n, first int64) {
	if f.big {
		return int64(min(f.order.Uint64(f.bytes(at, 8)), 1<<40)), at + 8
	}
	return int64(f.order.Uint16(f.bytes(at, 2))), at + 2
}

// sizes are the bytes of a value of each kind (TIFF 6.0, page 15; 16 to 18 are
// BigTIFF's).
var sizes = map[uint16]int64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 16: 8, 17: 8,
	18: 8}

func (f *tiffFile) entry(at int64, step int) {
	b := f.bytes(at, step)
	e := entry{kind: f.order.Uint16(b[2:])}
	room := int64(4)
	if f.big {
		e.count, room = int64(min(f.order.Uint64(b[4:]), 1<<40)), 8
	} else {
		e.count = int64(f.order.Uint32(b[4:]))
	}
	e.at = at + int64(step) - room
	if bytes := e.count * sizes[e.kind]; bytes > room {
		if f.big {
			e.at = int64(f.order.Uint64(b[12:]))
		} else {
			e.at = int64(f.order.Uint32(b[8:]))
		}
		if e.at < 0 || e.at > f.size-bytes {
			f.err = errCutTIFF
		}
	}
	f.tags[f.order.Uint16(b)] = e
}

// numbers are the values of a tag; none where it is missing.
func (f *tiffFile) numbers(tag uint16) []int64 {
	e, ok := f.tags[tag]
	size := sizes[e.kind]
	if !ok || size == 0 || f.err != nil {
		return nil
	}
	b := f.bytes(e.at, int(e.count*size))
	out := make([]int64, e.count)
	for i := range out {
		v := b[int64(i)*size:]
		switch size {
		case 1:
			out[i] = int64(v[0])
		case 2:
			out[i] = int64(f.order.Uint16(v))
		case 4:
			out[i] = int64(f.order.Uint32(v))
		case 8:
			out[i] = int64(min(f.order.Uint64(v), math.MaxInt64))
		}
	}
	return out
}

func (f *tiffFile) number(tag uint16, otherwise int64) int64 {
	if e, ok := f.tags[tag]; !ok || e.count < 1 || e.count > 1<<20 {
		return otherwise
	}
	if v := f.numbers(tag); len(v) > 0 {
		return v[0]
	}
	return otherwise
}

func (f *tiffFile) rational(tag uint16) float64 {
	e, ok := f.tags[tag]
	if !ok || e.kind != 5 || e.count < 1 {
		return 0
	}
	b := f.bytes(e.at, 8)
	n, d := f.order.Uint32(b), f.order.Uint32(b[4:])
	if d == 0 {
		return 0
	}
	return float64(n) / float64(d)
}

// resolution is in pixels an inch; 0 where the file does not say.
func (f *tiffFile) resolution() (x, y float64) {
	x, y = f.rational(tagXResolution), f.rational(tagYResolution)
	switch f.number(tagUnit, 2) {
	case 2:
		return x, y
	case 3:
		return x * 2.54, y * 2.54
	}
	return 0, 0
}
