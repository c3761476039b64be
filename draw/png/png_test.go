package png

import (
	"bytes"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/internal/drawcases"
	"rollwright/internal/pixels"
)

func encode(t testing.TB, d *draw.Drawing, o *Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, d, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// TestSlots: holes lie where they are to a hundredth of a millimetre, and
// have their area: a slot of width 1.7272 and length n between centres has
// 1.7272*n + pi*0.8636².
func TestSlots(t *testing.T) {
	d := drawcases.Holes()
	for _, scale := range []float64{4, 10, 23.3} {
		shapes := pixels.Dark(pixels.Decode(t, encode(t, d, &Options{PixelsPerMM: scale})), scale)
		if len(shapes) != 5 {
			t.Fatalf("%d shapes, want 5", len(shapes))
		}
		for _, want := range []struct{ x, y, length float64 }{{15, 10, 20}, {30, 10, 0}, {5, 20, 10}, {13, 19, 10}} {
			best := pixels.Shape{X: math.Inf(1)}
			for _, s := range shapes {
				if s.X, s.Y = s.X-10, s.Y-5; math.Hypot(s.X-want.x, s.Y-want.y) < math.Hypot(best.X-want.x, best.Y-want.y) {
					best = s
				}
			}
			if off := math.Hypot(best.X-want.x, best.Y-want.y); off > 0.01 {
				t.Errorf("at %v pixels a millimetre the slot at %v, %v is %.4f mm off", scale, want.x, want.y, off)
			}
			if area := 1.7272*want.length + math.Pi*0.8636*0.8636; math.Abs(best.Area-area) > 0.03*area {
				t.Errorf("at %v pixels a millimetre the slot at %v, %v has %.3f mm², want %.3f", scale, want.x, want.y, best.Area,
					area)
			}
		}
	}
}

// TestFillArea: filled and stroked shapes cover what geometry says.
func TestFillArea(t *testing.T) {
	square := func(ps ...*draw.Path) *draw.Drawing {
		d := &draw.Drawing{Frame: draw.Box(0, 0, 40, 40)}
		for _, p := range ps {
			d.Layer("a", "").Add(p)
		}
		return d
	}
	black := draw.Black
	for name, c := range map[string]struct {
		d    *draw.Drawing
		want float64
	}{
		"circle": {square((&draw.Path{Fill: black}).Circle(20, 20, 10)), math.Pi * 100},
		"ring, even-odd": {square((&draw.Path{Fill: black, EvenOdd: true}).Circle(20, 20, 10).Circle(20, 20, 5)),
			math.Pi * 75},
		"ring, nonzero": {square((&draw.Path{Fill: black}).Circle(20, 20, 10).Circle(20, 20, 5)), math.Pi * 100},
		"turned square": {square((&draw.Path{Fill: black}).Polygon(draw.Point{X: 20, Y: 5}, draw.Point{X: 35, Y: 20},
			draw.Point{X: 20, Y: 35}, draw.Point{X: 5, Y: 20})), 450},
		"butt line": {square((&draw.Path{Stroke: draw.Stroke{Ink: black, WidthMM: 3}}).Line(5, 5, 29, 37)), 120},
		"round line": {square((&draw.Path{Stroke: draw.Stroke{Ink: black, WidthMM: 3, Cap: draw.Round}}).Line(5, 5, 29,
			37)), 120 + math.Pi*2.25},
		"dashes": {square((&draw.Path{Stroke: draw.Stroke{Ink: black, WidthMM: 2, DashMM: []float64{3, 2}}}).Line(5,
			20, 35, 20)), 36},
		// A ring of 4 sides of 20 and 4 round corners of radius 1: 80*2 less
		// the four inner corners counted twice (4 * 1) plus pi*1².
		"closed line": {square((&draw.Path{Stroke: draw.Stroke{Ink: black, WidthMM: 2}}).Rect(draw.Box(10, 10, 30, 30))),
			160 - 4 + math.Pi},
		"hairline":      {square((&draw.Path{Stroke: draw.Hair(black)}).Line(5, 7, 35, 29)), 0.25 * math.Hypot(30, 22)},
		"beyond bounds": {square((&draw.Path{Fill: black}).Rect(draw.Box(-100, 30, 100, 200))), 400},
	} {
		img := pixels.Decode(t, encode(t, c.d, &Options{PixelsPerMM: 7.3}))
		b := img.Bounds()
		sum := 0.0
		for y := range b.Dy() {
			for x := range b.Dx() {
				r, _, _, _ := img.At(x, y).RGBA()
				sum += 1 - float64(r)/0xffff
			}
		}
		if got := sum / 7.3 / 7.3; math.Abs(got-c.want) > 0.01*c.want {
			t.Errorf("%s: %.2f mm², want %.2f", name, got, c.want)
		}
	}
}

// TestFile: another decoder reads the picture, its size and its scale.
func TestFile(t *testing.T) {
	d := drawcases.AllMarks()
	data := encode(t, d, nil)
	if !bytes.Equal(data, encode(t, d, nil)) {
		t.Error("two runs differ")
	}
	config, err := png.DecodeConfig(bytes.NewReader(data))
	if err != nil || config.Width != 480 || config.Height != 240 {
		t.Errorf("%d x %d, %v; want 120 x 60 mm by 4", config.Width, config.Height, err)
	}
	// 4 pixels a millimetre are 4000 = 0x0FA0 a metre.
	if !bytes.Contains(data, []byte("pHYs\x00\x00\x0f\xa0\x00\x00\x0f\xa0\x01")) {
		t.Error("no scale in the file")
	}
	for _, title := range drawcases.Titles {
		d.Title = title
		d.Layer("marks", "").Add(&draw.Text{At: draw.Point{X: 5, Y: 5}, Text: title, SizeMM: 3, Ink: draw.Black})
	}
	pixels.Decode(t, encode(t, d, nil))
}

func TestErrors(t *testing.T) {
	d := drawcases.AllMarks()
	for _, c := range []struct {
		o    Options
		want string
	}{
		{Options{PixelsPerMM: -1}, "png: -1 pixels a millimetre"},
		{Options{PixelsPerMM: math.NaN()}, "png: NaN pixels"},
		{Options{PixelsPerMM: 1e6}, "png: 1e+06 pixels"},
		{Options{PixelsPerMM: 1000}, "png: the picture would have 120000 x 60000 pixels, over the bound of 400000000"},
		{Options{MaxPixels: 1000}, "over the bound of 1000"},
	} {
		if err := Encode(io.Discard, d, &c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.o, err, c.want)
		}
	}
	if err := Encode(io.Discard, &draw.Drawing{}, nil); err == nil || !strings.HasPrefix(err.Error(), "png: the frame") {
		t.Errorf("a drawing without frame: %v", err)
	}
	size := len(encode(t, d, nil))
	for room := 0; room < size; room += 1 + size/50 {
		if err := Encode(drawcases.FullAfter(room), d, nil); !errors.Is(err, drawcases.ErrFull) {
			t.Errorf("with room for %d bytes of %d: %v", room, size, err)
		}
	}
}

// BenchmarkEncode paints 20,000 slots on 20 m of paper at 2 pixels a
// millimetre: 23 million pixels.
func BenchmarkEncode(b *testing.B) {
	d := drawcases.Many(20_000)
	var c drawcases.Counter
	for b.Loop() {
		c.N = 0
		if err := Encode(&c, d, &Options{PixelsPerMM: 2}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(c.N), "bytes")
}

// ExampleEncode paints a slot and shows it in characters.
func ExampleEncode() {
	d := &draw.Drawing{Frame: draw.Box(0, 0, 16, 5)}
	d.Layer("holes", "").Add(&draw.Slots{Ink: draw.Black, WidthMM: 3,
		Segments: []draw.Segment{{X1: 3, Y1: 2.5, X2: 8, Y2: 2.5}, {X1: 12.5, Y1: 2.5, X2: 12.5, Y2: 2.5}}})
	var b bytes.Buffer
	if err := Encode(&b, d, &Options{PixelsPerMM: 1}); err != nil {
		fmt.Println(err)
		return
	}
	img, err := png.Decode(&b)
	if err != nil {
		fmt.Println(err)
		return
	}
	for y := range img.Bounds().Dy() {
		line := ""
		for x := range img.Bounds().Dx() {
			r, _, _, _ := img.At(x, y).RGBA()
			line += string(".:+#"[3-r>>14])
		}
		fmt.Println(line)
	}
	// Output:
	// ................
	// ..#######..+#+..
	// .:#######:.###..
	// ..#######..+#+..
	// ................
}
