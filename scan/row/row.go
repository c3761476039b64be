// Package row reads pictures row by row: PNG, TIFF, PNM and JPEG files become
// rows of 8-bit grey or RGB pixels, from the top.
//
// Only a few rows are held at a time, so that memory does not grow with the
// picture's length. JPEG, interlaced PNG and TIFF with JPEG or G3 inside have no
// rows to be had one after the other; they are held whole, up to MostWhole bytes
// of pixels. Sizes are checked against the file's length before anything is
// allocated. 16-bit samples keep their upper byte; 1 bit is 0 or 255; palettes
// become RGB; transparent pixels lie on white.
package row

import (
	"errors"
	"fmt"
	"io"
	"os"

	"rollwright/text/infile"
)

// The bounds of a picture.
const (
	MostWhole  = 1 << 30   // bytes of pixels of a picture that is held whole
	MostAcross = 1 << 21   // pixels a row
	MostPixels = 100 << 30 // pixels a picture
)

// Picture is a picture that is being read.
type Picture struct {
	Format        string  // "PNG", "TIFF", "PGM", ... for people
	Width, Height int     // pixels
	Channels      int     // 1: grey, 3: RGB
	DPIX, DPIY    float64 // pixels an inch that the file states; 0: none

	rows reader
	file *os.File
	at   int // rows read so far
}

// reader gives the rows of one format.
type reader interface {
	// read fills dst, a whole number of rows, with the next rows, and returns
	// how many. Fewer than asked for need an error.
	read(dst []byte) (rows int, err error)
}

// seeker is a reader that reaches any row at once.
type seeker interface {
	seek(row int) error
}

// FormatError says that a file is broken.
type FormatError struct{ Problem string }

func (e FormatError) Error() string { return e.Problem }

// UnsupportedError says that a file may be right, but not for this reader, and
// what to save instead.
type UnsupportedError struct{ Problem, Hint string }

func (e UnsupportedError) Error() string { return e.Problem + "; " + e.Hint }

const saveHint = "save the picture as PNG, TIFF (without compression, PackBits, LZW, Deflate, CCITT G4), PGM, PPM or JPEG"

// Open begins to read the picture file called path. The error is a FormatError,
// an UnsupportedError or the system's.
func Open(path string) (*Picture, error) {
	file, err := infile.Open(path)
	if err != nil {
		return nil, err
	}
	return From(file)
}

// From begins to read the picture in a file that is open, and closes it: at once
// when there is an error, which is one of Open's.
func From(file *os.File) (*Picture, error) {
	p, err := begin(file)
	if err != nil {
		file.Close()
		return nil, err
	}
	p.file = file
	return p, nil
}

func begin(file *os.File) (*Picture, error) {
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, UnsupportedError{"this is no file", "name a picture file"}
	}
	return New(file, info.Size())
}

// New begins to read the picture of size bytes in r, told by its first bytes.
func New(r io.ReaderAt, size int64) (*Picture, error) {
	var magic [8]byte
	n, err := r.ReadAt(magic[:], 0)
	switch {
	case n == 0 && errors.Is(err, io.EOF):
		return nil, FormatError{"the file is empty"}
	case err != nil && !errors.Is(err, io.EOF):
		return nil, err
	}
	p, err := open(r, size, magic)
	if err != nil {
		return nil, err
	}
	return p, p.bounded()
}

func open(r io.ReaderAt, size int64, magic [8]byte) (*Picture, error) {
	switch m := string(magic[:]); {
	case m == pngMagic:
		return openPNG(r, size)
	case m[:2] == "\xff\xd8":
		return openJPEG(r, size)
	case m[:4] == "II*\x00", m[:4] == "MM\x00*", m[:4] == "II+\x00", m[:4] == "MM\x00+":
		return openTIFF(r, size)
	case m[0] == 'P' && m[1] >= '4' && m[1] <= '6':
		return openPNM(r, size)
	case m[0] == 'P' && m[1] >= '1' && m[1] <= '7':
		return nil, UnsupportedError{"this is a PNM file of another kind than P4, P5 and P6", saveHint}
	}
	return nil, UnsupportedError{"this is not a picture that can be read here", saveHint}
}

// bounded refuses sizes that no picture of paper has.
func (p *Picture) bounded() error {
	switch {
	case p.Width <= 0 || p.Height <= 0:
		return FormatError{fmt.Sprintf("it is %d by %d pixels, which is no picture", p.Width, p.Height)}
	case p.Width > MostAcross, int64(p.Width)*int64(p.Height) > MostPixels:
		return UnsupportedError{fmt.Sprintf("it is said to be %d by %d pixels, more than any roll has", p.Width, p.Height),
			"cut it into several overlapping pictures"}
	}
	return nil
}

// RowBytes is how many bytes a row has.
func (p *Picture) RowBytes() int { return p.Width * p.Channels }

// Read fills dst with the next whole rows, as many as fit, and returns how many:
// 0 and io.EOF after the last one. A file that breaks off is a FormatError that
// says where.
func (p *Picture) Read(dst []byte) (rows int, err error) {
	want := min(len(dst)/p.RowBytes(), p.Height-p.at)
	if want == 0 {
		return 0, io.EOF
	}
	rows, err = p.rows.read(dst[:want*p.RowBytes()])
	p.at += rows
	switch {
	case rows == want:
		return rows, nil
	case err == nil, errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return rows, FormatError{fmt.Sprintf("it breaks off after row %d of %d", p.at, p.Height)}
	}
	return rows, fmt.Errorf("in row %d of %d: %w", p.at+1, p.Height, err)
}

// Seeks reports whether Seek costs nothing.
func (p *Picture) Seeks() bool {
	_, ok := p.rows.(seeker)
	return ok
}

// Seek goes on at the row given, counted from 0. Only pictures that lie in the
// file as they are can.
func (p *Picture) Seek(row int) error {
	s, ok := p.rows.(seeker)
	if !ok {
		return errors.New("the rows of this picture come one after the other")
	}
	p.at = row
	return s.seek(row)
}

// Close lets the file go.
func (p *Picture) Close() error {
	if c, ok := p.rows.(io.Closer); ok {
		c.Close()
	}
	if p.file == nil {
		return nil
	}
	return p.file.Close()
}
