package svg

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/internal/drawcases"
	"rollwright/internal/judge"
	"rollwright/internal/pixels"
)

var update = flag.Bool("update", false, "rewrite the expected files")

func encode(t testing.TB, d *draw.Drawing, o *Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, d, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	d := &draw.Drawing{Frame: draw.Box(-10, -5, 90, 45), Title: "Two slots", Author: "A. Maker", Subject: "a small one"}
	d.Layer("holes", "Holes").Add(&draw.Slots{
		Named: draw.Named{ID: "port-3", Title: "A0 (port 3)"}, Ink: draw.InkDark, WidthMM: 1.7272,
		Segments: []draw.Segment{{X1: 10, Y1: 20.108333, X2: 30, Y2: 20.108333},
			{X1: 40, Y1: 20.108333, X2: 40, Y2: 20.108333}},
	})
	d.Layer("marks", "Marks").Add(
		(&draw.Path{Named: draw.Named{ID: "edge"}, Stroke: draw.Hair(draw.Black)}).Rect(draw.Box(0, 0, 80, 40)),
		&draw.Text{At: draw.Point{X: 5, Y: 8}, Text: "BASS & more", SizeMM: 4, Face: typeface.SansBold, Ink: draw.InkDark},
		&draw.Text{At: draw.Point{X: 70, Y: 30}, Text: "up", SizeMM: 4, Face: typeface.Serif, Ink: draw.InkDark,
			Anchor: draw.Middle, TurnDeg: -90},
	)
	for name, o := range map[string]*Options{"strokes": {Text: Named}, "cutlines": {Text: Named, CutLines: true}} {
		path := filepath.Join("testdata", name+".svg")
		got := encode(t, d, o)
		if *update {
			if err := os.WriteFile(path, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s: got\n%s\nwant\n%s", path, got, want)
		}
	}
}

// TestWellFormed: XML readers take every kind of mark and text, and equal
// drawings give equal bytes.
func TestWellFormed(t *testing.T) {
	for _, o := range []*Options{nil, {Text: Embedded}, {Text: Named, CutLines: true}} {
		d := drawcases.AllMarks()
		first := encode(t, d, o)
		if !bytes.Equal(first, encode(t, d, o)) {
			t.Error("two runs differ")
		}
		for _, title := range drawcases.Titles {
			d.Title, d.Layers[0].Label = title, title
			d.Layer("marks", "").Add(&draw.Text{Text: title, SizeMM: 3, Ink: draw.Black})
			if err := readXML(encode(t, d, o)); err != nil {
				t.Errorf("%q: %v", title, err)
			}
		}
		path := filepath.Join(t.TempDir(), "a.svg")
		if err := os.WriteFile(path, encode(t, d, o), 0o600); err != nil {
			t.Fatal(err)
		}
		t.Run("xmllint", func(t *testing.T) { judge.Run(t, "xmllint", "--noout", path) })
	}
}

func readXML(data []byte) error {
	for dec := xml.NewDecoder(bytes.NewReader(data)); ; {
		if _, err := dec.Token(); err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// TestDrawnByLibrsvg: another program puts the slots where they are, to
// 0.02 mm, and cuts them at the layer's bounds.
func TestDrawnByLibrsvg(t *testing.T) {
	d := drawcases.Holes()
	path := filepath.Join(t.TempDir(), "a.svg")
	if err := os.WriteFile(path, encode(t, d, nil), 0o600); err != nil {
		t.Fatal(err)
	}
	img := pixels.Decode(t, judge.Run(t, "rsvg-convert", "--unlimited", "--dpi-x", "508", "--dpi-y", "508", path))
	shapes := pixels.Dark(img, 20)
	drawcases.CheckHoles(t, shapes)
}

func TestErrors(t *testing.T) {
	if err := Encode(io.Discard, &draw.Drawing{}, nil); err == nil || !strings.HasPrefix(err.Error(), "svg: the frame") {
		t.Errorf("a drawing without frame: %v", err)
	}
	d := drawcases.Many(20000)
	size := len(encode(t, d, nil))
	for _, room := range []int{0, 1, 1000, size / 2, size - 1} {
		if err := Encode(drawcases.FullAfter(room), d, nil); !errors.Is(err, drawcases.ErrFull) {
			t.Errorf("with room for %d bytes of %d: %v", room, size, err)
		}
	}
	if err := Encode(drawcases.FullAfter(size), d, nil); err != nil {
		t.Error(err)
	}
}

// TestDescLines: the lines of a description stay lines, and nothing in them is
// taken for an element.
func TestDescLines(t *testing.T) {
	d := &draw.Drawing{Frame: draw.Box(0, 0, 50, 20), Subject: "a < b\nsecond\x00 line"}
	var b strings.Builder
	if err := Encode(&b, d, nil); err != nil {
		t.Fatal(err)
	}
	if want := "<desc>a &lt; b\nsecond\ufffd line</desc>\n"; !strings.Contains(b.String(), want) {
		t.Errorf("no %q in %s", want, b.String())
	}
}

// FuzzEscape: whatever the text, XML gives it back as Clean made it.
func FuzzEscape(f *testing.F) {
	for _, s := range drawcases.Titles {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var got struct {
			A string `xml:"a,attr"`
			B string `xml:",chardata"`
		}
		if err := xml.Unmarshal([]byte(`<x a="`+escape(text)+`">`+escape(text)+`</x>`), &got); err != nil {
			t.Fatal(err)
		}
		if want := typeface.Clean(text); got.A != want || got.B != want {
			t.Errorf("%q and %q, want %q", got.A, got.B, want)
		}
	})
}

// BenchmarkEncode writes 200,000 slots.
func BenchmarkEncode(b *testing.B) {
	d := drawcases.Many(200_000)
	var c drawcases.Counter
	for b.Loop() {
		c.N = 0
		if err := Encode(&c, d, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(c.N), "bytes")
}

func ExampleEncode() {
	d := &draw.Drawing{Frame: draw.Box(0, 0, 50, 20)}
	d.Layer("holes", "Holes").Add(&draw.Slots{Named: draw.Named{ID: "port-1"}, Ink: draw.Black, WidthMM: 2,
		Segments: []draw.Segment{{X1: 10, Y1: 10, X2: 40, Y2: 10}}})
	var b strings.Builder
	if err := Encode(&b, d, nil); err != nil {
		fmt.Println(err)
	}
	for line := range strings.SplitSeq(b.String(), "\n") {
		if strings.HasPrefix(line, "<path") {
			fmt.Println(line)
		}
	}
	// Output:
	// <path id="port-1" fill="none" stroke="#000000" stroke-width="2" stroke-linejoin="round" stroke-linecap="round" d="M10 10H40"/>
}
