package read

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"rollwright/internal/scancase"
)

// tall draws 4,000 pixels across and repeats them along, rows of them; wide turns
// that on its side.
func tall(b *testing.B, rows int) (name string, block []byte) {
	c := scancase.Case{Seed: 2, DPIAlong: 330, DPIAcross: 330, Margin: [2]float64{11, 11}, First: "bottom", Paper: grey,
		Behind: black, From: -12, To: 140}
	c.Slots = scancase.Music(2, 60, 0, 2.2)
	m := c.Draw()
	width, height := m.Bounds().Dx(), m.Bounds().Dy()
	const across = 4000
	block = make([]byte, across*height)
	for y := range height {
		row := block[y*across : (y+1)*across]
		for x := range row {
			row[x] = 14
			if x < width {
				r, _, _, _ := m.At(x, y).RGBA()
				row[x] = byte(r >> 8)
			}
		}
	}
	name = filepath.Join(b.TempDir(), "tall.pgm")
	file, err := os.Create(name)
	if err != nil {
		b.Fatal(err)
	}
	w := bufio.NewWriterSize(file, 1<<20)
	fmt.Fprintf(w, "P5\n%d %d\n255\n", across, rows)
	for done := 0; done < rows; {
		n := min(height, rows-done)
		w.Write(block[:n*across])
		done += n
	}
	if err := w.Flush(); err != nil {
		b.Fatal(err)
	}
	file.Close()
	return name, block
}

// BenchmarkTall: the contract asks for 1,000 million pixels a second on two cores
// (MB/s here), 4,000 by 170,000; ROWS=170000 does all of it.
func BenchmarkTall(b *testing.B) {
	rows := 40_000
	fmt.Sscan(os.Getenv("ROWS"), &rows)
	name, _ := tall(b, rows)
	b.SetBytes(4000 * int64(rows))
	for b.Loop() {
		if _, err := Read(context.Background(), []string{name}, options(b)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSide is the same roll on its side, of which 500 are asked.
func BenchmarkSide(b *testing.B) {
	_, block := tall(b, 1)
	height := len(block) / 4000
	const copies = 12
	name := filepath.Join(b.TempDir(), "side.pgm")
	var out bytes.Buffer
	fmt.Fprintf(&out, "P5\n%d %d\n255\n", copies*height, 4000)
	line := make([]byte, height)
	for x := range 4000 {
		for y := range line {
			line[y] = block[(height-1-y)*4000+x]
		}
		for range copies {
			out.Write(line)
		}
	}
	if err := os.WriteFile(name, out.Bytes(), 0o644); err != nil {
		b.Fatal(err)
	}
	o := options(b)
	o.First = Left
	b.SetBytes(int64(copies*height) * 4000)
	for b.Loop() {
		if _, err := Read(context.Background(), []string{name}, o); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPNG reads a PNG; inflating alone, with the same library, is beside it:
// reading may take 1.25 times that.
func BenchmarkPNG(b *testing.B) {
	_, block := tall(b, 1)
	height := len(block) / 4000
	const copies = 6
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	for y := range copies * height {
		w.Write([]byte{0})
		w.Write(block[y%height*4000 : (y%height+1)*4000])
	}
	w.Close()
	name := filepath.Join(b.TempDir(), "tall.png")
	var out bytes.Buffer
	out.WriteString("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(nil, 4000)
	head = append(binary.BigEndian.AppendUint32(head, uint32(copies*height)), 8, 0, 0, 0, 0)
	writeChunk(&out, "IHDR", head)
	writeChunk(&out, "IDAT", z.Bytes())
	writeChunk(&out, "IEND", nil)
	if err := os.WriteFile(name, out.Bytes(), 0o644); err != nil {
		b.Fatal(err)
	}
	b.Run("inflate", func(b *testing.B) {
		b.SetBytes(int64(copies*height) * 4000)
		for b.Loop() {
			r, err := zlib.NewReader(bytes.NewReader(z.Bytes()))
			if err != nil {
				b.Fatal(err)
			}
			io.Copy(io.Discard, r)
		}
	})
	b.Run("read", func(b *testing.B) {
		b.SetBytes(int64(copies*height) * 4000)
		for b.Loop() {
			if _, err := Read(context.Background(), []string{name}, options(b)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
