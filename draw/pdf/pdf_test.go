package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/internal/drawcases"
	"rollwright/internal/judge"
	"rollwright/internal/pixels"
)

func encode(t testing.TB, o *Options, pages ...*draw.Drawing) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, pages, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func write(t testing.TB, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.pdf")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestJudges: qpdf finds nothing wrong, poppler finds the embedded faces, the
// text, title and page size, whatever the title is.
func TestJudges(t *testing.T) {
	d := drawcases.AllMarks()
	path := write(t, encode(t, nil, d, drawcases.Many(100)))
	t.Run("qpdf", func(t *testing.T) {
		if out := judge.Run(t, "qpdf", "--check", path); bytes.Contains(out, []byte("WARNING")) {
			t.Errorf("%s", out)
		}
	})
	t.Run("pdffonts", func(t *testing.T) {
		out := string(judge.Run(t, "pdffonts", path))
		for _, f := range typeface.All() {
			if !regexp.MustCompile(`(?m)^[A-Z]{6}\+` + f.String() + ` +CID TrueType +Identity-H +yes yes yes`).MatchString(out) {
				t.Errorf("%v is not an embedded subset that can be read back:\n%s", f, out)
			}
		}
	})
	t.Run("pdftotext", func(t *testing.T) {
		if out := string(judge.Run(t, "pdftotext", path, "-")); !strings.Contains(out, "B♭4 & \uFFFD \uFFFD 0.5") {
			t.Errorf("the text reads %q", out)
		}
	})
	t.Run("pdfinfo", func(t *testing.T) {
		out := string(judge.Run(t, "pdfinfo", path))
		for _, want := range []string{"Title:           All & <marks>", "Author:          Z. Ö.", "Pages:           2",
			"Page size:       340.157 x 170.079 pts"} {
			if !strings.Contains(out, want) {
				t.Errorf("no %q in\n%s", want, out)
			}
		}
		if strings.Contains(out, "Date") {
			t.Errorf("a date in\n%s", out)
		}
	})
	t.Run("titles", func(t *testing.T) {
		for _, title := range drawcases.Titles {
			d.Layer("marks", "").Add(&draw.Text{Text: title, SizeMM: 3, Ink: draw.Black})
		}
		all := strings.Join(drawcases.Titles, " ")
		d.Title, d.Author, d.Subject, d.Layers[0].Label = all, all, all, all
		judge.Run(t, "qpdf", "--check", write(t, encode(t, nil, d)))
	})
}

// drawn is the first page by poppler or mupdf, at so many pixels an inch.
func drawn(t *testing.T, program, path string, dpi int) image.Image {
	t.Helper()
	if program == "mutool" {
		return pixels.Decode(t, judge.Run(t, "mutool", "draw", "-q", "-r", strconv.Itoa(dpi), "-F", "png", "-o", "-", path,
			"1"))
	}
	return pixels.Decode(t, judge.Run(t, program, "-png", "-r", strconv.Itoa(dpi), "-f", "1", "-l", "1", path))
}

// TestDrawn: two other programs put the slots where they are, to 0.02 mm, and
// cut them at the layer's bounds.
func TestDrawn(t *testing.T) {
	d := drawcases.Holes()
	path := write(t, encode(t, nil, d))
	for _, program := range []string{"pdftoppm", "mutool"} {
		t.Run(program, func(t *testing.T) {
			const dpi = 508
			shapes := pixels.Dark(drawn(t, program, path, dpi), dpi/25.4)
			drawcases.CheckHoles(t, shapes)
		})
	}
}

// TestLongPage: 6 m are 17007.87 points, more than the limit of 14,400. With a
// unit of its own the page is 14,400 units of 17007.87/14400 = 1.18110236 points.
func TestLongPage(t *testing.T) {
	d := &draw.Drawing{Frame: draw.Box(0, 0, 6000, 300)}
	d.Layer("holes", "Holes").Add(&draw.Slots{Ink: draw.Black, WidthMM: 2,
		Segments: []draw.Segment{{X1: 5990, Y1: 290, X2: 5990, Y2: 290}}})
	plain, unit := encode(t, nil, d), encode(t, &Options{UserUnit: true}, d)
	if !bytes.Contains(plain, []byte("/MediaBox[0 0 17007.8740157")) || bytes.Contains(plain, []byte("UserUnit")) {
		t.Error("the plain flavour has another page")
	}
	if !bytes.Contains(unit, []byte("/MediaBox[0 0 14400 720]")) ||
		!bytes.Contains(unit, []byte("/UserUnit 1.1811023622")) {
		t.Error("the flavour with a unit has another page")
	}
	short := &draw.Drawing{Frame: draw.Box(0, 0, 5000, 300)}
	if !bytes.Equal(encode(t, nil, short), encode(t, &Options{UserUnit: true}, short)) {
		t.Error("a page within the limit differs")
	}
	judge.Run(t, "qpdf", "--check", write(t, unit))
	// mupdf knows the unit: both flavours come out alike.
	for _, data := range [][]byte{plain, unit} {
		const dpi = 50.8
		img := pixels.Decode(t, judge.Run(t, "mutool", "draw", "-q", "-r", "50.8", "-F", "png", "-o", "-", write(t, data),
			"1"))
		shapes := pixels.Dark(img, dpi/25.4)
		if len(shapes) != 1 || math.Hypot(shapes[0].X-5990, shapes[0].Y-290) > 0.25 {
			t.Errorf("the hole at 5990, 290 is drawn as %v", shapes)
		}
	}
}

// TestStructure: every object lies where the table of contents says, and equal
// drawings give equal bytes.
func TestStructure(t *testing.T) {
	data := encode(t, nil, drawcases.AllMarks(), drawcases.AllMarks())
	if !bytes.Equal(data, encode(t, nil, drawcases.AllMarks(), drawcases.AllMarks())) {
		t.Error("two runs differ")
	}
	checkOffsets(t, data)
}

func checkOffsets(t *testing.T, data []byte) {
	t.Helper()
	tail := data[bytes.LastIndex(data, []byte("startxref\n"))+10:]
	at, err := strconv.Atoi(string(tail[:bytes.IndexByte(tail, '\n')]))
	if err != nil || !bytes.HasPrefix(data[at:], []byte("xref\n0 ")) {
		t.Fatalf("no table at %d: %v", at, err)
	}
	entries := regexp.MustCompile(`(\d{10}) 00000 n \n`).FindAllSubmatch(data[at:], -1)
	for i, m := range entries {
		place, _ := strconv.Atoi(string(m[1]))
		if want := fmt.Sprintf("%d 0 obj\n", i+1); !bytes.HasPrefix(data[place:], []byte(want)) {
			t.Errorf("object %d is not at %d", i+1, place)
		}
	}
	if len(entries) < 10 {
		t.Errorf("%d objects", len(entries))
	}
}

func TestErrors(t *testing.T) {
	if err := Encode(io.Discard, nil, nil); err == nil || err.Error() != "pdf: no page to write" {
		t.Errorf("without pages: %v", err)
	}
	if err := Encode(io.Discard, []*draw.Drawing{drawcases.AllMarks(), {}}, nil); err == nil ||
		!strings.HasPrefix(err.Error(), "pdf: page 2: the frame") {
		t.Errorf("a page without frame: %v", err)
	}
	d := drawcases.AllMarks()
	size := len(encode(t, nil, d))
	for room := 0; room < size; room += 1 + size/40 {
		if err := Encode(drawcases.FullAfter(room), []*draw.Drawing{d}, nil); !errors.Is(err, drawcases.ErrFull) {
			t.Errorf("with room for %d bytes of %d: %v", room, size, err)
		}
	}
	if err := Encode(drawcases.FullAfter(size), []*draw.Drawing{d}, nil); err != nil {
		t.Error(err)
	}
}

// FuzzTitle: whatever the text, the file keeps its structure, and the title
// reads back as Clean made it.
func FuzzTitle(f *testing.F) {
	for _, s := range drawcases.Titles {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d := &draw.Drawing{Frame: draw.Box(0, 0, 10, 10), Title: text, Author: text, Subject: text}
		d.Layer("a", text).Add(&draw.Text{Text: text, SizeMM: 2, Ink: draw.Black})
		data := encode(t, nil, d)
		checkOffsets(t, data)
		m := regexp.MustCompile(`/Title <FEFF([0-9A-F]*)>`).FindSubmatch(data)
		if m == nil {
			t.Fatal("no title")
		}
		var units []uint16
		for i := 0; i < len(m[1]); i += 4 {
			u, _ := strconv.ParseUint(string(m[1][i:i+4]), 16, 16)
			units = append(units, uint16(u))
		}
		if got, want := string(utf16.Decode(units)), typeface.Clean(text); got != want {
			t.Errorf("title %q, want %q", got, want)
		}
	})
}

// BenchmarkEncode writes 200,000 slots on one page.
func BenchmarkEncode(b *testing.B) {
	pages := []*draw.Drawing{drawcases.Many(200_000)}
	var c drawcases.Counter
	for b.Loop() {
		c.N = 0
		if err := Encode(&c, pages, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(c.N), "bytes")
}

func ExampleEncode() {
	d := &draw.Drawing{Frame: draw.Box(0, 0, 210, 297), Title: "Tidewheel"}
	d.Layer("holes", "Holes").Add(&draw.Slots{Ink: draw.Black, WidthMM: 1.7272,
		Segments: []draw.Segment{{X1: 20, Y1: 30, X2: 20, Y2: 40}}})
	var b bytes.Buffer
	if err := Encode(&b, []*draw.Drawing{d}, nil); err != nil {
		fmt.Println(err)
	}
	fmt.Println(b.String()[:8], strings.Contains(b.String(), "/MediaBox[0 0 595.2755905512 841.8897637795]"))
	// Output: %PDF-1.6 true
}

// TestCutLines: slots written as outlines are closed curves without filling, whose
// outer edges lie where the slots' own do, to 0.05 mm and half the line's width.
func TestCutLines(t *testing.T) {
	slots := &draw.Slots{
		Ink: draw.Black, WidthMM: 4, EdgeMM: 0.2,
		Segments: []draw.Segment{{X1: 20, Y1: 20, X2: 40, Y2: 20}},
	}
	d := &draw.Drawing{Frame: draw.Box(0, 0, 60, 40), Layers: []*draw.Layer{{ID: "holes", Marks: []draw.Mark{slots}}}}
	const dpi = 508
	picture := drawn(t, "pdftoppm", write(t, encode(t, &Options{CutLines: true}, d)), dpi)
	dark := func(x, y float64) bool {
		r, _, _, _ := picture.At(int(x*dpi/25.4), int(y*dpi/25.4)).RGBA()
		return r < 0x8000
	}
	for _, p := range [][2]float64{{18, 20}, {42, 20}, {30, 18}, {30, 22}} {
		if !dark(p[0], p[1]) {
			t.Errorf("no line at %v", p)
		}
	}
	for _, p := range [][2]float64{{30, 20}, {19, 20}, {17.5, 20}, {30, 17.5}} {
		if dark(p[0], p[1]) {
			t.Errorf("ink at %v", p)
		}
	}
}
