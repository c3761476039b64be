package row

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/judge"
)

// pnmFile is a picture of random patches, so long in the mean, the same each time, as a PNM file and as
// the bytes that it reads to.
func pnmFile(kind string, width, height, patch int) (file, pixels []byte) {
	r := rand.New(rand.NewPCG(5, 6))
	channels := map[string]int{"P4": 1, "P5": 1, "P6": 3}[kind]
	pixels = make([]byte, width*height*channels)
	for y := range height {
		value := byte(0)
		for x := range width * channels {
			if x == 0 || r.IntN(patch) == 0 {
				value = byte(r.IntN(256))
			}
			if kind == "P4" {
				pixels[y*width+x] = byte(255 * int(value>>7))
				continue
			}
			pixels[y*width*channels+x] = value
		}
	}
	if kind != "P4" {
		return append(fmt.Appendf(nil, "%s\n%d %d\n255\n", kind, width, height), pixels...), pixels
	}
	file = fmt.Appendf(nil, "P4\n%d %d\n", width, height)
	for y := range height {
		line := make([]byte, (width+7)/8)
		for x := range width {
			if pixels[y*width+x] == 0 { // 1 is ink
				line[x/8] |= 0x80 >> (x % 8)
			}
		}
		file = append(file, line...)
	}
	return file, pixels
}

// TestTIFFAsLibtiffWritesIt: libtiff's own programs (Debian) write strips and tiles of
// each size, in each compression, in both orders of bytes and bits, classic and big;
// all read as the same pixels, JPEG nearly.
func TestTIFFAsLibtiffWritesIt(t *testing.T) {
	ppm2tiff, tiffcp := judge.Program(t, "ppm2tiff"), judge.Program(t, "tiffcp")
	shapes := []string{"", "-s -r 7", "-s -r 1", "-s -r 16", "-B -s -r 32", "-t -w 32 -l 16", "-t -w 96 -l 48", "-8", "-8 -t -w 16 -l 16", "-B",
		"-B -8 -s -r 5", "-f lsb2msb", "-f lsb2msb -t -w 32 -l 32"}
	for kind, compressions := range map[string][]string{
		"P4": {"none", "packbits", "lzw", "zip", "g4", "g3:1d", "g3:2d", "g3:1d:fill", "g3:2d:fill"},
		"P5": {"none", "packbits", "lzw", "lzw:2", "zip", "zip:2", "jpeg:95"},
		"P6": {"none", "packbits", "lzw", "lzw:2", "zip", "zip:2", "jpeg:95", "jpeg:r:95"},
	} {
		dir := t.TempDir()
		file, want := pnmFile(kind, 139, 61, 9)
		base := tiffOf(t, ppm2tiff, dir, file)
		for _, compression := range compressions {
			for _, shape := range shapes {
				asLibtiff(t, tiffcp, strings.Join([]string{kind, compression, shape}, " "), base, shape, compression, want)
			}
		}
	}
	// Runs of thousands of pixels have codes of their own.
	file, want := pnmFile("P4", 5300, 12, 900)
	base := tiffOf(t, ppm2tiff, t.TempDir(), file)
	for _, compression := range []string{"g4", "g3:1d", "g3:2d"} {
		asLibtiff(t, tiffcp, "long runs "+compression, base, "", compression, want)
	}
}

// tiffOf turns a PNM file into a TIFF file.
func tiffOf(t *testing.T, ppm2tiff, dir string, file []byte) string {
	t.Helper()
	from, base := filepath.Join(dir, "a.pnm"), filepath.Join(dir, "a.tif")
	if err := os.WriteFile(from, file, 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(ppm2tiff, "-c", "none", from, base).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return base
}

// asLibtiff has tiffcp write base again, and holds what is read against the pixels.
func asLibtiff(t *testing.T, tiffcp, name, base, shape, compression string, want []byte) {
	t.Helper()
	to := filepath.Join(filepath.Dir(base), "b.tif")
	args := append(strings.Fields(shape), "-c", compression, base, to)
	if out, err := exec.Command(tiffcp, args...).CombinedOutput(); err != nil {
		t.Logf("%s: not written: %v %s", name, err, out) // not every compression goes with every shape
		return
	}
	sameTIFF(t, name, to, want)
}

// sameTIFF holds a file's pixels against what they are.
func sameTIFF(t *testing.T, name, path string, want []byte) {
	t.Helper()
	p, err := Open(path)
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return
	}
	defer p.Close()
	got, err := all(p)
	if err != nil || len(got) != len(want) {
		t.Errorf("%s: %d bytes of %d, %v", name, len(got), len(want), err)
		return
	}
	if !strings.Contains(name, "jpeg") {
		if !bytes.Equal(got, want) {
			t.Errorf("%s: differs", name)
		}
		return
	}
	// Of patches a few pixels wide JPEG at 95 keeps the mean; colours are halved across.
	sum := 0.0
	for i := range got {
		d := float64(got[i]) - float64(want[i])
		sum += d * d
	}
	if sum /= float64(len(got)); sum > 40*40 {
		t.Errorf("%s: the mean square of the difference is %.0f", name, sum)
	}
}

// TestTIFFOfOtherKinds: colours in separate planes and compressions that are not read
// are told, with what to save instead.
func TestTIFFOfOtherKinds(t *testing.T) {
	ppm2tiff, tiffcp := judge.Program(t, "ppm2tiff"), judge.Program(t, "tiffcp")
	dir := t.TempDir()
	file, _ := pnmFile("P6", 40, 30, 9)
	base, to := tiffOf(t, ppm2tiff, dir, file), filepath.Join(dir, "b.tif")
	for args, want := range map[string]string{
		"-p separate -c none": "separate planes", "-c lzma": "compression", "-c zstd": "compression",
	} {
		if out, err := exec.Command(tiffcp, append(strings.Fields(args), base, to)...).CombinedOutput(); err != nil {
			t.Logf("%s: %v %s", args, err, out)
			continue
		}
		p, err := Open(to)
		if err == nil {
			p.Close()
		}
		var unsupported UnsupportedError
		if !errors.As(err, &unsupported) || !strings.Contains(unsupported.Problem, want) || unsupported.Hint == "" {
			t.Errorf("%s: %v, want %q", args, err, want)
		}
	}
}
