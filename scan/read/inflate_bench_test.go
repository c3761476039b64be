//go:build linux

package read

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"golang.org/x/image/ccitt"
	"golang.org/x/image/tiff/lzw"

	"rollwright/internal/judge"
)

// BenchmarkInflated is the whole command on PNG and TIFF files in the cache, of 4,000
// pixels across and 47 million in all (COPIES=86 is as long as BenchmarkCommand's), and
// undoing their compression alone with the same library, which works in one thread.
// Reading may take 1.25 times that by the clock on two cores (x-clock).
func BenchmarkInflated(b *testing.B) {
	rollwright := command(b)
	copies := 6
	fmt.Sscan(os.Getenv("COPIES"), &copies)
	clean, noisy := blockOf(0), blockOf(3)
	for _, tt := range []struct {
		name  string
		write func(b *testing.B, path string) (pixels int)
	}{
		{"unfiltered.png", func(b *testing.B, path string) int { return plainPNG(b, path, clean, copies) }},
		{"filtered.png", func(b *testing.B, path string) int { return filteredPNG(b, path, clean, copies, 1) }},
		{"noisy.png", func(b *testing.B, path string) int { return filteredPNG(b, path, noisy, copies, 1) }},
		{"colour.png", func(b *testing.B, path string) int { return filteredPNG(b, path, noisy, copies, 3) }},
		{"deflate.tif", func(b *testing.B, path string) int { return copiedTIFF(b, path, clean, copies, 8, "zip") }},
		{"predicted.tif", func(b *testing.B, path string) int { return copiedTIFF(b, path, noisy, copies, 8, "zip:2") }},
		{"lzw.tif", func(b *testing.B, path string) int { return copiedTIFF(b, path, clean, copies, 8, "lzw") }},
		{"noisy-lzw.tif", func(b *testing.B, path string) int { return copiedTIFF(b, path, noisy, copies, 8, "lzw:2") }},
		{"g4.tif", func(b *testing.B, path string) int { return copiedTIFF(b, path, clean, copies, 1, "g4") }},
	} {
		b.Run(tt.name, func(b *testing.B) {
			path := filepath.Join(b.TempDir(), tt.name)
			pixels := tt.write(b, path)
			inflating(b, path)
			alone := spent{time.Hour, time.Hour, 0}
			best := report(b, float64(pixels)/1e6, func() spent {
				a := inflating(b, path) // in turns, so that other work disturbs both
				alone = spent{min(alone.wall, a.wall), min(alone.cpu, a.cpu), 0}
				return clocked(b, rollwright, "read", "--first", "bottom", path)
			})
			b.ReportMetric(best.wall.Seconds()/alone.wall.Seconds(), "x-clock")
			b.ReportMetric(best.cpu.Seconds()/alone.cpu.Seconds(), "x-cpu")
		})
	}
}

// inflating is what undoing the compression takes of what is in the file.
func inflating(b *testing.B, path string) spent {
	b.Helper()
	file, err := os.ReadFile(path)
	if err != nil {
		b.Fatal(err)
	}
	undo := undoing(b, file)
	start, cpu := time.Now(), processor(b)
	undo()
	return spent{time.Since(start), processor(b) - cpu, 0}
}

// processor is what this process has taken so far.
func processor(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func undoing(b *testing.B, file []byte) func() {
	must := func(_ int64, err error) {
		if err != nil {
			b.Fatal(err)
		}
	}
	if bytes.HasPrefix(file, []byte("\x89PNG")) {
		return func() {
			r, err := zlib.NewReader(dataOf(file))
			must(0, err)
			must(io.Copy(io.Discard, r))
		}
	}
	tags := tagsOf(file)
	width, each, compression := int(tags[256][0]), int(tags[278][0]), tags[259][0]
	return func() {
		left := int(tags[257][0])
		for i, at := range tags[273] {
			rows := min(each, left)
			left -= rows
			in := bytes.NewReader(file[at : at+tags[279][i]])
			var r io.Reader
			switch compression {
			case 5:
				r = lzw.NewReader(in, lzw.MSB, 8)
			case 4:
				r = ccitt.NewReader(in, ccitt.MSB, ccitt.Group4, width, rows, nil)
			default:
				z, err := zlib.NewReader(in)
				must(0, err)
				r = z
			}
			must(io.Copy(io.Discard, r))
		}
	}
}

// dataOf is what the IDAT chunks of a PNG file hold.
func dataOf(file []byte) io.Reader {
	var parts []io.Reader
	for at := 8; at < len(file); {
		n := int(binary.BigEndian.Uint32(file[at:]))
		if string(file[at+4:at+8]) == "IDAT" {
			parts = append(parts, bytes.NewReader(file[at+8:at+8+n]))
		}
		at += n + 12
	}
	return io.MultiReader(parts...)
}

// tagsOf are the tags of a little-endian TIFF file, those of whole numbers.
func tagsOf(file []byte) map[uint16][]uint32 {
	order := binary.LittleEndian
	out := map[uint16][]uint32{}
	at := order.Uint32(file[4:])
	for i := range uint32(order.Uint16(file[at:])) {
		e := file[at+2+12*i:]
		n, size := order.Uint32(e[4:]), uint32(4)
		if order.Uint16(e[2:]) == 3 {
			size = 2
		}
		values := e[8:12]
		if n*size > 4 {
			values = file[order.Uint32(values):]
		}
		for k := range n {
			v := uint32(order.Uint16(values[k*size:]))
			if size == 4 {
				v = order.Uint32(values[k*size:])
			}
			out[order.Uint16(e)] = append(out[order.Uint16(e)], v)
		}
	}
	return out
}

// plainPNG has rows without filters.
func plainPNG(b *testing.B, path string, block []byte, copies int) int {
	b.Helper()
	z := deflated(func(w io.Writer) {
		for range copies {
			for row := range slices.Chunk(block, 4000) {
				w.Write([]byte{0})
				w.Write(row)
			}
		}
	})
	put(b, path, pngOf(4000, copies*len(block)/4000, z))
	return copies * len(block)
}

// filteredPNG is as Go's library writes it: each row with the filter that makes it
// smallest.
func filteredPNG(b *testing.B, path string, block []byte, copies, channels int) int {
	b.Helper()
	size := image.Rect(0, 0, 4000, copies*len(block)/4000)
	var m image.Image = &image.Gray{Pix: bytes.Repeat(block, copies), Stride: 4000, Rect: size}
	if channels == 3 {
		size.Max.Y /= 3
		colours := image.NewNRGBA(size)
		for y := range size.Max.Y {
			for x := range 4000 {
				v := block[(y*4000+x)%len(block)]
				colours.SetNRGBA(x, y, color.NRGBA{v, v - v/9, v - v/5, 255})
			}
		}
		m = colours
	}
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		b.Fatal(err)
	}
	put(b, path, out.Bytes())
	return 4000 * size.Max.Y
}

// copiedTIFF is as libtiff (Debian: libtiff-tools) writes it, in strips of 64 rows.
func copiedTIFF(b *testing.B, path string, block []byte, copies, bits int, compression string) int {
	b.Helper()
	rows := copies * len(block) / 4000
	out := []byte("II*\x00\x08\x00\x00\x00\x08\x00")
	const pixelsAt = 8 + 2 + 8*12 + 4
	for _, e := range [][2]int{{256, 4000}, {257, rows}, {258, bits}, {259, 1}, {262, 1}, {273, pixelsAt}, {278, rows},
		{279, 4000 * rows * bits / 8}} {
		out = binary.LittleEndian.AppendUint16(out, uint16(e[0]))
		out = append(out, 4, 0, 1, 0, 0, 0)
		out = binary.LittleEndian.AppendUint32(out, uint32(e[1]))
	}
	out = append(out, 0, 0, 0, 0)
	if bits == 1 {
		packed := make([]byte, len(block)/8)
		for i, v := range block {
			packed[i/8] |= v >> 7 << (7 - i%8)
		}
		block = packed
	}
	for range copies {
		out = append(out, block...)
	}
	plain := path + ".plain"
	put(b, plain, out)
	judge.Run(b, "tiffcp", "-r", "64", "-c", compression, plain, path)
	return 4000 * rows
}

func put(b *testing.B, path string, file []byte) {
	b.Helper()
	if err := os.WriteFile(path, file, 0o644); err != nil {
		b.Fatal(err)
	}
}
