package read

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"rollwright/scan/row"
)

// TestOneSide: paper that touches the left side of a picture at its beginning, and leaves it
// further on, is seen to have backing on both sides, wherever it leaves it. Of a picture that
// is too large to be kept whole, whose paper never leaves the side, no more is read than can
// be kept.
func TestOneSide(t *testing.T) {
	const width = 4000
	for _, c := range []struct {
		height, leaves int
		left           bool
	}{{6000, 0, true}, {6000, 1500, true}, {22_000, 9000, true}, {6000, 6000, false}, {30_000, 30_000, false}} {
		t.Run(fmt.Sprintf("%d of %d", c.leaves, c.height), func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "roll.png")
			z := deflated(func(w io.Writer) {
				touches := append(bytes.Repeat([]byte{220}, width-200), bytes.Repeat([]byte{30}, 200)...)
				free := append(bytes.Repeat([]byte{30}, 100), touches[100:]...)
				for y := range c.height {
					line := touches
					if y >= c.leaves {
						line = free
					}
					w.Write([]byte{0})
					w.Write(line)
				}
			})
			if err := os.WriteFile(path, pngOf(width, c.height, z), 0o644); err != nil {
				t.Fatal(err)
			}
			p, err := row.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer p.Close()
			l, in, err := look(p, true)
			if err != nil {
				t.Fatal(err)
			}
			if want := [2]bool{c.left, true}; l.sides != want {
				t.Errorf("backing is seen at %v, wanted %v", l.sides, want)
			}
			if in.lost || in.bytes > keepBytes {
				t.Errorf("%d bytes were read, more than are kept", in.bytes)
			}
		})
	}
}
