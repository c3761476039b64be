// Package flac writes frames of sound as a FLAC file (RFC 9639).
//
// Samples are integers of 16 or 24 bits, of one or two channels; how samples
// become integers is package pcm's, the same as in a WAVE file. Blocks are
// encoded on all cores and written in order, so a file is the same to the byte
// for any number of cores. Lossless: whatever pcm made comes back.
package flac

import (
	"crypto/md5"
	"encoding/binary"
	"fmt"
	"hash"
	"io"
	"runtime"
	"sync"

	"rollwright/sound/pcm"
)

// blockFrames is the length of every block but the last, the usual one (RFC 9639,
// 9.1.1 has a short code for it).
const blockFrames = 4096

// Format says what a file holds.
type Format struct {
	Rate     int   // frames a second, 1 to 655350
	Channels int   // 1 or 2
	Bits     int   // 16 or 24
	Frames   int64 // how many will be written; 0 if unknown
	// Title, Artist and Comment go into the Vorbis comment, in UTF-8, if they are
	// not empty.
	Title, Artist, Comment string
}

func (f Format) check() error {
	switch {
	case f.Rate < 1 || f.Rate > 655350:
		return fmt.Errorf("flac: sample rate %d, wanted 1 to 655350", f.Rate)
	case f.Channels != 1 && f.Channels != 2:
		return fmt.Errorf("flac: %d channels, wanted 1 or 2", f.Channels)
	case f.Bits != 16 && f.Bits != 24:
		return fmt.Errorf("flac: %d bits, wanted 16 or 24", f.Bits)
	case f.Frames < 0 || f.Frames >= 1<<36:
		return fmt.Errorf("flac: %d frames, wanted fewer than 2^36", f.Frames)
	}
	return nil
}

// A Writer writes one file.
type Writer struct {
	w       io.Writer
	f       Format
	done    int64
	pending [2][]int32
	blocks  int64
	sum     hash.Hash
	least   int // bytes of the shortest block
	most    int // bytes of the longest
}

// NewWriter writes the head of a file. If w can seek, Close completes the head
// with the checksum of the sound; otherwise the file says that it is unknown.
func NewWriter(w io.Writer, f Format) (*Writer, error) {
	if err := f.check(); err != nil {
		return nil, err
	}
	x := &Writer{w: w, f: f, sum: md5.New()}
	head := append([]byte("fLaC\x00\x00\x00\x22"), x.streamInfo(f.Frames, nil)...)
	if _, err := w.Write(append(head, f.comment()...)); err != nil {
		return nil, fmt.Errorf("flac: %w", err)
	}
	return x, nil
}

// streamInfo is the body of the first metadata block (RFC 9639, 8.2).
func (w *Writer) streamInfo(frames int64, sum []byte) []byte {
	b := binary.BigEndian.AppendUint16(nil, blockFrames)
	b = binary.BigEndian.AppendUint16(b, blockFrames)
	b = append(b, byte(w.least>>16), byte(w.least>>8), byte(w.least))
	b = append(b, byte(w.most>>16), byte(w.most>>8), byte(w.most))
	b = binary.BigEndian.AppendUint64(b, uint64(w.f.Rate)<<44|uint64(w.f.Channels-1)<<41|
		uint64(w.f.Bits-1)<<36|uint64(frames))
	if sum == nil {
		sum = make([]byte, md5.Size)
	}
	return append(b, sum...)
}

// comment is the last metadata block, a Vorbis comment (RFC 9639, 8.6).
func (f Format) comment() []byte {
	const vendor = "rollwright"
	le := binary.LittleEndian
	b := append(le.AppendUint32(nil, uint32(len(vendor))), vendor...)
	var tags []string
	for _, t := range []struct{ name, text string }{{"TITLE", f.Title}, {"ARTIST", f.Artist}, {"DESCRIPTION", f.Comment}} {
		if t.text != "" {
			tags = append(tags, t.name+"="+t.text)
		}
	}
	b = le.AppendUint32(b, uint32(len(tags)))
	for _, t := range tags {
		b = append(le.AppendUint32(b, uint32(len(t))), t...)
	}
	return append([]byte{0x84, byte(len(b) >> 16), byte(len(b) >> 8), byte(len(b))}, b...)
}

// Write adds frames. right is nil for one channel and as long as left for two.
func (w *Writer) Write(left, right []float32) error {
	if (w.f.Channels == 2) != (right != nil) || right != nil && len(right) != len(left) {
		return fmt.Errorf("flac: %d channels, got %d and %d samples", w.f.Channels, len(left), len(right))
	}
	q := pcm.For(w.f.Bits)
	for ch, x := range [][]float32{left, right}[:w.f.Channels] {
		ints := make([]int32, len(x))
		q.Ints(ints, x, ch, w.done)
		w.pending[ch] = append(w.pending[ch], ints...)
	}
	w.done += int64(len(left))
	return w.flush(len(w.pending[0]) / blockFrames * blockFrames)
}

// flush encodes and writes the first n pending frames.
func (w *Writer) flush(n int) error {
	if n == 0 {
		return nil
	}
	blocks := (n + blockFrames - 1) / blockFrames
	coded := make([][]byte, blocks)
	var wg sync.WaitGroup
	for worker := range min(blocks, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			e := newEncoder(w.f)
			for i := worker; i < blocks; i += runtime.GOMAXPROCS(0) {
				from, to := i*blockFrames, min((i+1)*blockFrames, n)
				channels := [][]int32{w.pending[0][from:to]}
				if w.f.Channels == 2 {
					channels = append(channels, w.pending[1][from:to])
				}
				coded[i] = e.block(channels, uint64(w.blocks)+uint64(i))
			}
		})
	}
	w.digest(n)
	wg.Wait()
	for _, b := range coded {
		if w.least == 0 || len(b) < w.least {
			w.least = len(b)
		}
		w.most = max(w.most, len(b))
		if _, err := w.w.Write(b); err != nil {
			return fmt.Errorf("flac: %w", err)
		}
	}
	w.blocks += int64(blocks)
	for ch := range w.f.Channels {
		w.pending[ch] = append(w.pending[ch][:0], w.pending[ch][n:]...)
	}
	return nil
}

// digest adds the first n pending frames to the checksum of the sound: MD5 over
// the interleaved samples, little-endian (RFC 9639, 8.2).
func (w *Writer) digest(n int) {
	width := w.f.Bits / 8
	buf := make([]byte, n*w.f.Channels*width)
	for ch := range w.f.Channels {
		for i, v := range w.pending[ch][:n] {
			d := buf[(i*w.f.Channels+ch)*width:]
			d[0], d[1] = byte(v), byte(v>>8)
			if width == 3 {
				d[2] = byte(v >> 16)
			}
		}
	}
	w.sum.Write(buf)
}

// Close encodes what is left and completes the head. It does not close the
// underlying file.
func (w *Writer) Close() error {
	if w.f.Frames != 0 && w.done != w.f.Frames {
		return fmt.Errorf("flac: %d frames written, %d announced", w.done, w.f.Frames)
	}
	if err := w.flush(len(w.pending[0])); err != nil {
		return err
	}
	s, ok := w.w.(io.WriteSeeker)
	if !ok {
		return nil
	}
	if _, err := s.Seek(8, io.SeekStart); err != nil {
		return nil // a pipe that only looks like a file; the head stays as it was
	}
	if _, err := s.Write(w.streamInfo(w.done, w.sum.Sum(nil))); err != nil {
		return fmt.Errorf("flac: %w", err)
	}
	if _, err := s.Seek(0, io.SeekEnd); err != nil {
		return fmt.Errorf("flac: %w", err)
	}
	return nil
}
