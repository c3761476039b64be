package row

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"

	"rollwright/internal/judge"
)

// turnedJPEG is a JPEG file of which Exif says how the camera was held: a segment of
// one tag, 0x112, little end first.
func turnedJPEG(t *testing.T, m image.Image, turn byte) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 98}); err != nil {
		t.Fatal(err)
	}
	exif := "\xff\xe1\x00\x22Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00" +
		string([]byte{turn, 0, 0, 0, 0, 0, 0, 0})
	return append([]byte("\xff\xd8"+exif), b.Bytes()[2:]...)
}

// TestTurnedAsOpenCVHasIt: OpenCV (Debian) shows each of the eight ways to hold a
// camera as it is to be seen; so is it read, in grey and in colour.
func TestTurnedAsOpenCVHasIt(t *testing.T) {
	const width, height = 70, 46
	grey, colour := image.NewGray(image.Rect(0, 0, width, height)), image.NewRGBA(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			grey.SetGray(x, y, color.Gray{uint8(2*x + y)})
			colour.SetRGBA(x, y, color.RGBA{uint8(40 + 2*x), uint8(200 - 3*y), uint8(60 + x + y), 255})
		}
	}
	script := `
import cv2, sys
for name in sys.argv[1:]:
    m = cv2.cvtColor(cv2.imread(name, cv2.IMREAD_COLOR), cv2.COLOR_BGR2RGB)
    open(name + ".raw", "wb").write(m.tobytes())
`
	dir := t.TempDir()
	var names []string
	pictures := map[string]*Picture{}
	for kind, m := range map[string]image.Image{"grey": grey, "colour": colour} {
		for turn := byte(1); turn <= 8; turn++ {
			file := turnedJPEG(t, m, turn)
			name := filepath.Join(dir, fmt.Sprintf("%s-%d.jpg", kind, turn))
			if err := os.WriteFile(name, file, 0o644); err != nil {
				t.Fatal(err)
			}
			names, pictures[name] = append(names, name), open0(t, file)
		}
	}
	judge.Script(t, "cv2", script, names...)
	for _, name := range names {
		p := pictures[name]
		want, err := os.ReadFile(name + ".raw")
		if err != nil {
			t.Fatal(err)
		}
		if len(want) != 3*p.Width*p.Height {
			t.Fatalf("%s is %d by %d here", name, p.Width, p.Height)
		}
		got, err := all(p)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range got {
			// Rounding, and chroma that OpenCV smoothes between its samples.
			w := want[i*3/p.Channels]
			if d := int(v) - int(w); d < -8 || d > 8 {
				t.Fatalf("%s: byte %d of %d by %d is %d, want %d", filepath.Base(name), i, p.Width, p.Height, v, w)
			}
		}
	}
}
