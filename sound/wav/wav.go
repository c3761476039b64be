// Package wav writes frames of sound as a RIFF WAVE file, or reads one back.
//
// Samples are integers of 16 or 24 bits, or float32, of one or two channels,
// interleaved, little-endian. A file past 4 GiB becomes RF64 (EBU Tech 3306),
// which needs the number of frames in advance; so does writing to a pipe. Integers
// of 24 bits are written as WAVE_FORMAT_EXTENSIBLE. How samples become integers
// is package pcm's.
package wav

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"sync"

	"rollwright/sound/pcm"
)

// Format says what a file holds.
type Format struct {
	Rate     int   // frames a second
	Channels int   // 1 or 2
	Bits     int   // 16, 24 or, with Float, 32
	Float    bool  // samples are float32, as they come
	Frames   int64 // how many will be written
	// Title, Artist and Comment go into the file's LIST INFO, in UTF-8, if they
	// are not empty.
	Title, Artist, Comment string
}

func (f Format) check() error {
	switch {
	case f.Rate < 1 || f.Rate > 1<<20:
		return fmt.Errorf("wav: sample rate %d, wanted 1 to %d", f.Rate, 1<<20)
	case f.Channels != 1 && f.Channels != 2:
		return fmt.Errorf("wav: %d channels, wanted 1 or 2", f.Channels)
	case f.Float && f.Bits != 32, !f.Float && f.Bits != 16 && f.Bits != 24:
		return fmt.Errorf("wav: %d bits, wanted 16, 24 or float of 32", f.Bits)
	case f.Frames < 0 || f.Frames > 1<<50:
		return fmt.Errorf("wav: %d frames", f.Frames)
	}
	return nil
}

// frameBytes is the block align of the standard.
func (f Format) frameBytes() int { return f.Channels * f.Bits / 8 }

// A Writer writes one file, front to back, never seeking.
type Writer struct {
	w    io.Writer
	f    Format
	done int64
	buf  []byte
}

// NewWriter writes the head of a file.
func NewWriter(w io.Writer, f Format) (*Writer, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	if _, err := w.Write(f.head()); err != nil {
		return nil, fmt.Errorf("wav: %w", err)
	}
	return &Writer{w: w, f: f}, nil
}

// Write adds frames. right is nil for one channel and as long as left for two.
func (w *Writer) Write(left, right []float32) error {
	if (w.f.Channels == 2) != (right != nil) || right != nil && len(right) != len(left) {
		return fmt.Errorf("wav: %d channels, got %d and %d samples", w.f.Channels, len(left), len(right))
	}
	if w.done+int64(len(left)) > w.f.Frames {
		return fmt.Errorf("wav: more than the %d frames announced", w.f.Frames)
	}
	size := len(left) * w.f.frameBytes()
	if cap(w.buf) < size {
		w.buf = make([]byte, size)
	}
	buf := w.buf[:size]
	inParts(len(left), func(from, to int) {
		part := buf[from*w.f.frameBytes() : to*w.f.frameBytes()]
		l, r := left[from:to], right
		if r != nil {
			r = r[from:to]
		}
		if w.f.Float {
			putFloats(part, l, r)
		} else {
			pcm.For(w.f.Bits).Bytes(part, l, r, w.done+int64(from))
		}
	})
	w.done += int64(len(left))
	if _, err := w.w.Write(buf); err != nil {
		return fmt.Errorf("wav: %w", err)
	}
	return nil
}

// inParts does a stretch of frames on all cores. A frame's bytes depend on its
// place alone, so it does not matter how it is divided.
func inParts(frames int, do func(from, to int)) {
	const fewest = 8192
	parts := max(1, min(runtime.GOMAXPROCS(0), frames/fewest))
	var wg sync.WaitGroup
	for p := range parts {
		wg.Go(func() { do(p*frames/parts, (p+1)*frames/parts) })
	}
	wg.Wait()
}

func putFloats(dst []byte, left, right []float32) {
	stride := 4
	if right != nil {
		stride = 8
	}
	for ch, x := range [][]float32{left, right} {
		for i, v := range x {
			binary.LittleEndian.PutUint32(dst[i*stride+4*ch:], math.Float32bits(v))
		}
	}
}

// Close ends the file. It is an error if fewer frames came than were announced:
// the head would lie.
func (w *Writer) Close() error {
	if w.done != w.f.Frames {
		return fmt.Errorf("wav: %d frames written, %d announced", w.done, w.f.Frames)
	}
	if w.f.dataBytes()%2 == 1 {
		if _, err := w.w.Write([]byte{0}); err != nil {
			return fmt.Errorf("wav: %w", err)
		}
	}
	return nil
}

func (f Format) dataBytes() int64 { return f.Frames * int64(f.frameBytes()) }

// Codes of the sample formats (RIFF registry).
const (
	formatPCM        = 1
	formatFloat      = 3
	formatExtensible = 0xfffe
)

// guidTail is what follows the format code in an extensible format's GUID.
const guidTail = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// maxRIFF is the largest size that fits the 32 bits of a RIFF file.
const maxRIFF = math.MaxUint32

// head is everything up to the first sample. It has room for the sizes of an
// RF64 file in a chunk that readers skip where they are not needed.
func (f Format) head() []byte {
	info := f.info()
	fmtChunk := f.fmtChunk()
	data := f.dataBytes()
	// "WAVE", ds64 or JUNK, fmt, fact, LIST, data with its pad byte
	riff := int64(4+8+28+len(fmtChunk)+12+len(info)+8) + data + data%2
	le := binary.LittleEndian
	var b []byte
	if riff <= maxRIFF {
		b = le.AppendUint32(append(b, "RIFF"...), uint32(riff))
		b = le.AppendUint32(append(b, "WAVEJUNK"...), 28)
		b = append(b, make([]byte, 28)...)
	} else {
		b = le.AppendUint32(append(b, "RF64"...), math.MaxUint32)
		b = le.AppendUint32(append(b, "WAVEds64"...), 28)
		b = le.AppendUint64(b, uint64(riff))
		b = le.AppendUint64(b, uint64(data))
		b = le.AppendUint64(b, uint64(f.Frames))
		b = le.AppendUint32(b, 0) // no table of further chunks
	}
	b = append(b, fmtChunk...)
	b = le.AppendUint32(append(b, "fact"...), 4)
	b = le.AppendUint32(b, uint32(min(f.Frames, math.MaxUint32)))
	b = append(b, info...)
	b = append(b, "data"...)
	if riff > maxRIFF {
		return le.AppendUint32(b, math.MaxUint32)
	}
	return le.AppendUint32(b, uint32(data))
}

func (f Format) fmtChunk() []byte {
	code, size := formatPCM, 16
	if f.Float {
		code = formatFloat
	}
	extensible := f.Bits > 16 && !f.Float
	switch {
	case extensible:
		size = 40
	case f.Float:
		size = 18 // with the size of an extension, none
	}
	le := binary.LittleEndian
	b := le.AppendUint32([]byte("fmt "), uint32(size))
	if extensible {
		b = le.AppendUint16(b, formatExtensible)
	} else {
		b = le.AppendUint16(b, uint16(code))
	}
	b = le.AppendUint16(b, uint16(f.Channels))
	b = le.AppendUint32(b, uint32(f.Rate))
	b = le.AppendUint32(b, uint32(f.Rate*f.frameBytes()))
	b = le.AppendUint16(b, uint16(f.frameBytes()))
	b = le.AppendUint16(b, uint16(f.Bits))
	switch {
	case f.Float:
		b = le.AppendUint16(b, 0)
	case extensible:
		speakers := uint32(0x3) // front left and right
		if f.Channels == 1 {
			speakers = 0x4 // front centre
		}
		b = le.AppendUint16(b, 22)
		b = le.AppendUint16(b, uint16(f.Bits))
		b = le.AppendUint32(b, speakers)
		b = append(le.AppendUint16(b, uint16(code)), guidTail...)
	}
	return b
}

// info is the LIST chunk of type INFO, or nothing.
func (f Format) info() []byte {
	var body []byte
	for _, tag := range []struct{ id, text string }{{"INAM", f.Title}, {"IART", f.Artist}, {"ICMT", f.Comment}} {
		if tag.text == "" {
			continue
		}
		text := append([]byte(tag.text), 0)
		body = binary.LittleEndian.AppendUint32(append(body, tag.id...), uint32(len(text)))
		body = append(body, text...)
		if len(text)%2 == 1 {
			body = append(body, 0)
		}
	}
	if body == nil {
		return nil
	}
	b := binary.LittleEndian.AppendUint32([]byte("LIST"), uint32(4+len(body)))
	return append(append(b, "INFO"...), body...)
}

// A FormatError is a file that is no WAVE file, or a broken one.
type FormatError string

func (e FormatError) Error() string { return "wav: " + string(e) }

// ErrUnsupported is wrapped by errors about files that are right but hold what
// this package does not read.
var ErrUnsupported = errors.New("unsupported")
