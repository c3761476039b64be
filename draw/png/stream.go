package png

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"io"
	"math"
)

// stream writes the rows of a truecolour picture as they come (ISO/IEC 15948).
type stream struct {
	w     io.Writer
	z     *zlib.Writer
	chunk []byte // data of the IDAT chunk that is being filled
	width int
	above []byte
	lines [3][]byte // one row by each filter tried, the filter's number first
	err   error
}

// Filters of 9.2 that are tried; Average and Paeth gain little on flat paper.
const (
	filterNone = 0
	filterSub  = 1
	filterUp   = 2
)

func newStream(w io.Writer, width, height int, pixelsPerMM float64) *stream {
	s := &stream{w: w, width: width, above: make([]byte, 3*width), chunk: make([]byte, 0, 64<<10)}
	for i := range s.lines {
		s.lines[i] = make([]byte, 1+3*width)
		s.lines[i][0] = byte(i)
	}
	s.write([]byte("\x89PNG\r\n\x1a\n"))
	header := binary.BigEndian.AppendUint32(nil, uint32(width))
	header = binary.BigEndian.AppendUint32(header, uint32(height))
	s.put("IHDR", append(header, 8, 2, 0, 0, 0)) // 8 bits, truecolour
	s.put("sRGB", []byte{0})
	perMetre := uint32(math.Round(pixelsPerMM * 1000))
	physical := binary.BigEndian.AppendUint32(nil, perMetre)
	s.put("pHYs", append(binary.BigEndian.AppendUint32(physical, perMetre), 1))
	level := zlib.DefaultCompression
	if int64(width)*int64(height) > 32<<20 {
		level = zlib.BestSpeed
	}
	s.z, _ = zlib.NewWriterLevel(idat{s}, level) // the levels exist
	return s
}

func (s *stream) write(p []byte) {
	if s.err == nil {
		_, s.err = s.w.Write(p)
	}
}

// put writes one chunk (5.3).
func (s *stream) put(kind string, data []byte) {
	head := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	head = append(head, kind...)
	sum := crc32.Update(crc32.ChecksumIEEE(head[4:]), crc32.IEEETable, data)
	s.write(head)
	s.write(data)
	s.write(binary.BigEndian.AppendUint32(nil, sum))
}

// idat gathers compressed data into chunks.
type idat struct{ s *stream }

func (d idat) Write(p []byte) (int, error) {
	s := d.s
	for rest := p; len(rest) > 0; {
		n := min(len(rest), cap(s.chunk)-len(s.chunk))
		s.chunk = append(s.chunk, rest[:n]...)
		rest = rest[n:]
		if len(s.chunk) == cap(s.chunk) {
			s.put("IDAT", s.chunk)
			s.chunk = s.chunk[:0]
		}
	}
	return len(p), s.err
}

// rows writes whole rows of red, green, blue.
func (s *stream) rows(rgb []byte) {
	n := 3 * s.width
	for ; len(rgb) > 0; rgb = rgb[n:] {
		s.z.Write(s.filtered(rgb[:n])) // its error is s.err
		copy(s.above, rgb[:n])
	}
}

// filtered is the row by the filter with the least sum of absolute
// differences, the heuristic of 12.7.
func (s *stream) filtered(row []byte) []byte {
	if bytes.Equal(row, s.above) { // most rows of paper are like the one above
		clear(s.lines[filterUp][1:])
		return s.lines[filterUp]
	}
	none, sub, up := s.lines[filterNone][1:], s.lines[filterSub][1:], s.lines[filterUp][1:]
	copy(none, row)
	var sums [3]int
	for i, v := range row {
		left := byte(0)
		if i >= 3 {
			left = row[i-3]
		}
		sub[i], up[i] = v-left, v-s.above[i]
		sums[filterNone] += int(magnitude[v])
		sums[filterSub] += int(magnitude[sub[i]])
		sums[filterUp] += int(magnitude[up[i]])
	}
	best := filterNone
	for f, sum := range sums {
		if sum < sums[best] {
			best = f
		}
	}
	return s.lines[best]
}

// magnitude is each byte as a signed difference, without its sign.
var magnitude = func() (m [256]uint8) {
	for v := range m {
		m[v] = uint8(min(v, 256-v))
	}
	return m
}()

func (s *stream) end() error {
	s.z.Close() // its error is s.err
	if len(s.chunk) > 0 {
		s.put("IDAT", s.chunk)
	}
	s.put("IEND", nil)
	return s.err
}
