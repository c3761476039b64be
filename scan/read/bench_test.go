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

// blockOf is a stretch of a roll, 4,000 pixels across.
func blockOf(noise float64) []byte {
	c := scancase.Case{Seed: 2, DPIAlong: 330, DPIAcross: 330, Margin: [2]float64{11, 11}, First: "bottom", Paper: grey,
		Behind: black, From: -12, To: 140, Noise: noise}
	c.Slots = scancase.Music(2, 60, 0, 2.2)
	m := c.Draw()
	width, height := m.Bounds().Dx(), m.Bounds().Dy()
	const across = 4000
	block := make([]byte, across*height)
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
	return block
}

// tall draws 4,000 pixels across and repeats them along, rows of them; side turns
// that on its side.
func tall(b *testing.B, rows int) (name string, block []byte) {
	const across = 4000
	block = blockOf(0)
	height := len(block) / across
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

func deflated(fill func(w io.Writer)) []byte {
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	fill(w)
	w.Close()
	return z.Bytes()
}

// pngOf is a grey picture whose rows, each with its filter, are z.
func pngOf(width, height int, z []byte) []byte {
	var out bytes.Buffer
	out.WriteString("\x89PNG\r\n\x1a\n")
	head := binary.BigEndian.AppendUint32(nil, uint32(width))
	head = append(binary.BigEndian.AppendUint32(head, uint32(height)), 8, 0, 0, 0, 0)
	writeChunk(&out, "IHDR", head)
	writeChunk(&out, "IDAT", z)
	writeChunk(&out, "IEND", nil)
	return out.Bytes()
}

// tiffOf is a grey picture of one strip, z.
func tiffOf(width, height int, z []byte) []byte {
	out := []byte("II*\x00\x08\x00\x00\x00\x07\x00")
	for _, e := range [][2]uint32{{256, uint32(width)}, {257, uint32(height)}, {258, 8}, {259, 8}, {262, 1},
		{273, 8 + 2 + 7*12 + 4}, {279, uint32(len(z))}} {
		out = binary.LittleEndian.AppendUint16(out, uint16(e[0]))
		out = append(out, 4, 0, 1, 0, 0, 0)
		out = binary.LittleEndian.AppendUint32(out, e[1])
	}
	return append(append(out, 0, 0, 0, 0), z...)
}
