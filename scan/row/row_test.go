package row

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/internal/judge"
)

// all reads a picture to its end.
func all(p *Picture) ([]byte, error) {
	out := make([]byte, p.RowBytes()*p.Height)
	for n := 0; n < len(out); {
		k, err := p.Read(out[n:min(n+3*p.RowBytes(), len(out))])
		n += k * p.RowBytes()
		if err != nil {
			return out[:n], err
		}
	}
	return out, nil
}

func open0(t testing.TB, b []byte) *Picture {
	t.Helper()
	p, err := New(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestPNM, by hand: the bits of a row of three pixels are the upper ones of its
// byte, 1 being ink; values of other ranges spread over 0 to 255; 16 bits keep
// the upper ones.
func TestPNM(t *testing.T) {
	for _, tt := range []struct {
		name, file string
		width      int
		want       []byte
	}{
		{"bits", "P4\n# remark\n3 2\n\xa0\x40", 3, []byte{0, 255, 0, 255, 0, 255}},
		{"grey", "P5 2 1 255\n\x01\xfe", 2, []byte{1, 254}},
		{"few greys", "P5 3 1 4\n\x00\x02\x04", 3, []byte{0, 128, 255}},
		{"16 bits", "P5 2 1 65535\n\x12\x34\xff\xff", 2, []byte{0x12, 255}},
		{"colours", "P6\n1\n2\n255\n\x01\x02\x03\x04\x05\x06", 1, []byte{1, 2, 3, 4, 5, 6}},
	} {
		p := open0(t, []byte(tt.file))
		got, err := all(p)
		if err != nil || p.Width != tt.width || !bytes.Equal(got, tt.want) {
			t.Errorf("%s: %d wide, %v, %v; want %v", tt.name, p.Width, got, err, tt.want)
		}
	}
}

// pattern is a picture with something to tell in every corner.
func pattern(w, h int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.SetNRGBA(x, y, color.NRGBA{uint8(x * 7), uint8(y * 5), uint8(x*y + 3), 255})
		}
	}
	return m
}

// TestPNGAsTheLibraryHasIt: every kind that image/png writes reads as image/png
// reads it, transparent pixels on white.
func TestPNGAsTheLibraryHasIt(t *testing.T) {
	m := pattern(37, 23)
	grey, deep, clear := image.NewGray(m.Rect), image.NewNRGBA64(m.Rect), image.NewNRGBA(m.Rect)
	pal := image.NewPaletted(m.Rect, color.Palette{color.Black, color.White, color.NRGBA{200, 10, 30, 255}})
	for y := range 23 {
		for x := range 37 {
			grey.Set(x, y, m.At(x, y))
			deep.Set(x, y, m.At(x, y))
			clear.SetNRGBA(x, y, color.NRGBA{uint8(x), uint8(y), 9, uint8(x * 6)})
			pal.SetColorIndex(x, y, uint8((x+y)%3))
		}
	}
	for name, picture := range map[string]image.Image{"colour": m, "grey": grey, "16 bits": deep, "clear": clear,
		"palette": pal} {
		var b bytes.Buffer
		if err := png.Encode(&b, picture); err != nil {
			t.Fatal(err)
		}
		p := open0(t, b.Bytes())
		got, err := all(p)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		want := make([]byte, p.RowBytes())
		for y := range p.Height {
			paintRow(want, picture, y, p.Channels)
			for i, v := range got[y*p.RowBytes() : (y+1)*p.RowBytes()] {
				if d := int(v) - int(want[i]); d < -1 || d > 1 {
					t.Fatalf("%s: row %d byte %d is %d, want %d", name, y, i, v, want[i])
				}
			}
		}
	}
}

// TestTIFFAsOpenCVWritesIt: OpenCV and its libtiff (Debian) write strips in each
// compression; all read as the same pixels.
func TestTIFFAsOpenCVWritesIt(t *testing.T) {
	dir := t.TempDir()
	script := `
import cv2, numpy as np, sys
a = np.fromfunction(lambda y, x: (x*7+y*5) % 256, (61, 83)).astype(np.uint8)
c = np.dstack([a, a[::-1], a[:, ::-1]])
b = np.where(a > 127, 255, 0).astype(np.uint8)
for n, v in (("none", 1), ("lzw", 5), ("deflate", 32946), ("packbits", 32773)):
    cv2.imwrite(sys.argv[1] + "/grey-" + n + ".tif", a, [cv2.IMWRITE_TIFF_COMPRESSION, v])
    cv2.imwrite(sys.argv[1] + "/rgb-" + n + ".tif", c, [cv2.IMWRITE_TIFF_COMPRESSION, v])
open(sys.argv[1] + "/grey.raw", "wb").write(a.tobytes())
open(sys.argv[1] + "/rgb.raw", "wb").write(c[:, :, ::-1].tobytes())
`
	judge.Script(t, "cv2", script, dir)
	files, _ := filepath.Glob(filepath.Join(dir, "*.tif"))
	if len(files) != 8 {
		t.Fatalf("OpenCV wrote %d files", len(files))
	}
	for _, file := range files {
		kind, _, _ := strings.Cut(filepath.Base(file), "-")
		want, err := os.ReadFile(filepath.Join(dir, kind+".raw"))
		if err != nil {
			t.Fatal(err)
		}
		p, err := Open(file)
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(file), err)
			continue
		}
		got, err := all(p)
		p.Close()
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s: differs (%v)", filepath.Base(file), err)
		}
	}
}

// TestLies: sizes that cannot be, files that break off, kinds that are not read:
// a sentence at once, and nothing allocated for them.
func TestLies(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, pattern(50, 50)); err != nil {
		t.Fatal(err)
	}
	whole := b.Bytes()
	huge := bytes.Clone(whole)
	copy(huge[16:], "\x00\x00\xff\xff\x00\xff\xff\xff")
	for name, tt := range map[string]struct{ file, want string }{
		"empty":       {"", "the file is empty"},
		"letter":      {"Dear Sir", "not a picture"},
		"plain PNM":   {"P2 2 2 255 1 2 3 4", "another kind than P4, P5 and P6"},
		"short PNM":   {"P5 200 200 255\nabc", "breaks off"},
		"no size":     {"P5 0 2 255\n", "no picture"},
		"huge PNM":    {"P5 999999999 999999999 255\n", "more than any roll has"},
		"damaged PNG": {string(huge), "check sum"},
		"half a PNG":  {string(whole[:len(whole)/2]), "breaks off"},
		"PNG head":    {string(whole[:30]), "breaks off"},
		"JPEG head":   {"\xff\xd8\xff\xe0\x00\x10JFIF\x00", "breaks off"},
		"huge JPEG": {"\xff\xd8\xff\xc0\x00\x11\x08\xff\xff\xff\xff\x03\x01\x11\x00\x02\x11\x01\x03\x11\x01",
			"too many to be held whole"},
		"lying JPEG": {"\xff\xd8\xff\xc0\x00\x11\x08\x40\x00\x40\x00\x01\x01\x11\x00\x02\x11\x01\x03\x11\x01",
			"cannot hold"},
		"TIFF head":    {"II*\x00\x08\x00\x00\x00", "breaks off"},
		"TIFF nowhere": {"II*\x00\xff\xff\xff\x7f", "breaks off"},
		"TIFF no size": {"II*\x00\x08\x00\x00\x00\x00\x00" + strings.Repeat("\x00", 20), "no picture"},
		"BigTIFF of 2^62": {"II+\x00\x08\x00\x00\x00\x10\x00\x00\x00\x00\x00\x00\x00\xff\xff\xff\xff\xff\xff\xff\x3f",
			"entries"},
	} {
		p, err := New(strings.NewReader(tt.file), int64(len(tt.file)))
		if err == nil {
			_, err = all(p)
			p.Close()
		}
		var format FormatError
		var unsupported UnsupportedError
		if err == nil || !strings.Contains(err.Error(), tt.want) || !errors.As(err, &format) &&
			!errors.As(err, &unsupported) {
			t.Errorf("%s: %v, want %q", name, err, tt.want)
		}
	}
}

// FuzzPictures: whatever the bytes, a picture of bounded size or a message, never a
// panic; and what is read has exactly as many rows as the picture says, or an error.
func FuzzPictures(f *testing.F) {
	var b bytes.Buffer
	if err := png.Encode(&b, pattern(9, 7)); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	for _, s := range []string{"P4 3 2\n\xa0\x40", "P5 2 1 255\n\x01\xfe", "P6 1 1 255\nabc", "\xff\xd8\xff\xe0",
		"II*\x00\x08\x00\x00\x00", "MM\x00+\x00\x08\x00\x00"} {
		f.Add([]byte(s))
	}
	for _, compression := range []byte{1, 3, 4, 5, 8} {
		f.Add(tinyTIFF(compression))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := New(bytes.NewReader(b), int64(len(b)))
		if err != nil {
			return
		}
		defer p.Close()
		if int64(p.Width)*int64(p.Height) > 1<<22 {
			return
		}
		line, rows := make([]byte, p.RowBytes()), 0
		for {
			n, err := p.Read(line)
			rows += n
			if err == io.EOF && rows != p.Height {
				t.Fatalf("%d rows of %d", rows, p.Height)
			}
			if err != nil {
				return
			}
		}
	})
}

// tinyTIFF is a bilevel picture of 8 by 2 pixels in one strip, whose compression may
// not be what its bytes are: something to begin with.
func tinyTIFF(compression byte) []byte {
	out := []byte("II*\x00\x08\x00\x00\x00\x08\x00")
	for _, e := range [][2]byte{{0, 8}, {1, 2}, {2, 1}, {3, compression}, {6, 1}, {17, 110}, {21, 1}, {23, 8}} {
		out = append(out, e[0], 1, 4, 0, 1, 0, 0, 0, e[1], 0, 0, 0)
	}
	return append(out, 0, 0, 0, 0, 0x35, 0x9a, 0x00, 0x1a, 0x6f, 0xff, 0x80, 0x01)
}
