package row

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"math/rand/v2"
	"testing"
)

// pngFile is a PNG file whose rows, each after its filter, are raw.
func pngFile(width, height, depth, kind int, interlaced byte, raw []byte) []byte {
	var z, out bytes.Buffer
	w := zlib.NewWriter(&z)
	w.Write(raw)
	w.Close()
	out.WriteString(pngMagic)
	chunk := func(name string, body []byte) {
		b := append(binary.BigEndian.AppendUint32(nil, uint32(len(body))), name...)
		b = append(b, body...)
		out.Write(binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:])))
	}
	head := binary.BigEndian.AppendUint32(nil, uint32(width))
	head = binary.BigEndian.AppendUint32(head, uint32(height))
	chunk("IHDR", append(head, byte(depth), byte(kind), 0, 0, interlaced))
	if kind == 3 {
		var palette []byte
		for i := range 1 << depth {
			palette = append(palette, byte(i*7), byte(255-i), byte(i*i))
		}
		chunk("PLTE", palette)
	}
	chunk("IDAT", z.Bytes())
	chunk("IEND", nil)
	return out.Bytes()
}

// TestFilters: each filter on pixels of each size undoes what Go's image/png undoes,
// on rows of noise and on rows that are mostly of one value, of many lengths, and over
// more than a block of what is inflated ahead.
func TestFilters(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 9))
	for kind, depths := range map[int][]int{0: {1, 2, 4, 8, 16}, 2: {8, 16}, 3: {1, 2, 4, 8}, 4: {8, 16}, 6: {8, 16}} {
		samples := map[int]int{0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[kind]
		for _, depth := range depths {
			for _, width := range []int{1, 2, 3, 7, 8, 9, 17, 64, 71, 5003} {
				t.Run(fmt.Sprintf("%d/%d/%d", kind, depth, width), func(t *testing.T) {
					n, height := (width*samples*depth+7)/8, 24
					if width > 5000 {
						height = 2*pumped/n + 3
					}
					var raw []byte
					for y := range height {
						raw = append(raw, byte(r.IntN(5)))
						for range n {
							v := byte(0)
							if y%3 == 0 || r.IntN(40) == 0 {
								v = byte(r.Uint32())
							}
							raw = append(raw, v)
						}
					}
					file := pngFile(width, height, depth, kind, 0, raw)
					want, err := png.Decode(bytes.NewReader(file))
					if err != nil {
						t.Fatal(err)
					}
					sameAs(t, file, want, map[int]int{4: depth / 8, 6: depth / 8}[kind])
				})
			}
		}
	}
}

// TestInterlaced: pictures of each kind, of few pixels and of many, in seven passes with
// each filter, are as Go's image/png has them, and rows are had again.
func TestInterlaced(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 7))
	for _, of := range [][3]int{{0, 1, 1}, {0, 2, 1}, {0, 4, 1}, {0, 8, 1}, {0, 16, 1}, {2, 8, 3}, {2, 16, 3}, {3, 1, 1},
		{3, 4, 1}, {3, 8, 1}, {4, 8, 2}, {6, 8, 4}} {
		kind, depth, samples := of[0], of[1], of[2]
		for _, size := range [][2]int{{1, 1}, {2, 1}, {1, 5}, {3, 3}, {5, 8}, {8, 8}, {9, 17}, {33, 20}} {
			t.Run(fmt.Sprintf("%d/%d/%v", kind, depth, size), func(t *testing.T) {
				var raw []byte
				for _, p := range [][4]int{{0, 0, 8, 8}, {4, 0, 8, 8}, {0, 4, 4, 8}, {2, 0, 4, 4}, {0, 2, 2, 4}, {1, 0, 2, 2},
					{0, 1, 1, 2}} { // W3C Portable Network Graphics, 8.1
					w, h := (size[0]-p[0]+p[2]-1)/p[2], (size[1]-p[1]+p[3]-1)/p[3]
					for range h {
						if w == 0 {
							break
						}
						raw = append(raw, byte(r.IntN(5)))
						for range (w*samples*depth + 7) / 8 {
							raw = append(raw, byte(r.Uint32()))
						}
					}
				}
				file := pngFile(size[0], size[1], depth, kind, 1, raw)
				want, err := png.Decode(bytes.NewReader(file))
				if err != nil {
					t.Fatal(err)
				}
				sameAs(t, file, want, map[int]int{4: 1, 6: 1}[kind])
				if _, err := all(open0(t, pngFile(size[0], size[1], depth, kind, 1, raw[:len(raw)-1]))); err == nil {
					t.Error("a byte is missing, and nobody says so")
				}
				p := open0(t, file)
				first, line := make([]byte, p.RowBytes()), make([]byte, p.RowBytes())
				p.Read(first)
				if err := p.Seek(0); err != nil {
					t.Fatal(err)
				}
				if n, err := p.Read(line); n != 1 || err != nil || !bytes.Equal(first, line) {
					t.Errorf("the first row once more: %d %v", n, err)
				}
			})
		}
	}
}

// sameAs holds what is read against a library's picture. Where pixels are transparent
// it may be off by one, and by two where upper bytes alone are laid on white.
func sameAs(t *testing.T, file []byte, want image.Image, off int) {
	t.Helper()
	p := open0(t, file)
	got, err := all(p)
	if err != nil {
		t.Fatal(err)
	}
	line := make([]byte, p.RowBytes())
	for y := range p.Height {
		paintRow(line, want, y, p.Channels)
		for i, v := range got[y*p.RowBytes() : (y+1)*p.RowBytes()] {
			if d := int(v) - int(line[i]); d < -off || d > off {
				t.Fatalf("row %d byte %d is %d, want %d", y, i, v, line[i])
			}
		}
	}
}
