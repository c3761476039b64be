package dxf

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/internal/drawcases"
	"rollwright/internal/judge"
)

var update = flag.Bool("update", false, "rewrite the expected files")

func encode(t testing.TB, d *draw.Drawing) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Encode(&b, d, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	d := &draw.Drawing{Frame: draw.Box(-10, 0, 50, 285.75), UpMM: 285.75, Title: "One slot ♯1"}
	d.Layer("holes", "Holes").Add(&draw.Slots{Ink: draw.Black, WidthMM: 1.7272,
		Segments: []draw.Segment{{X1: 10, Y1: 20.108333, X2: 30, Y2: 20.108333},
			{X1: 40, Y1: 20.108333, X2: 40, Y2: 20.108333}}})
	d.Layer("marks", "Marks").Add((&draw.Path{Stroke: draw.Hair(draw.Black)}).Line(0, 0, 0, 10),
		&draw.Text{At: draw.Point{X: 1, Y: 5}, Text: "START", SizeMM: 10, Anchor: draw.Middle, TurnDeg: -90})
	path := filepath.Join("testdata", "slot.dxf")
	got := encode(t, d)
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
		t.Errorf("%s: got\n%s", path, got)
	}
}

// ezdxf runs a script for Debian's python3-ezdxf on the file.
func ezdxf(t *testing.T, data []byte, script string, out any) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.dxf")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	text := judge.Script(t, "ezdxf", "import ezdxf, json, sys\ndoc = ezdxf.readfile(sys.argv[1])\naudit = doc.audit()\n"+
		script, path)
	if err := json.Unmarshal(text, out); err != nil {
		t.Fatal(err)
	}
}

// TestAudit: ezdxf finds nothing to complain of or to mend, whatever the text.
func TestAudit(t *testing.T) {
	d := drawcases.AllMarks()
	for _, title := range drawcases.Titles {
		d.Layer("marks", "").Add(&draw.Text{Text: title, SizeMM: 3})
	}
	d.Title = strings.Join(drawcases.Titles, " ")
	var got struct {
		Version       string
		Errors, Fixes []string
		Layers        []string
		Off           []string
		Texts         []string
	}
	ezdxf(t, encode(t, d), `print(json.dumps({
"version": doc.dxfversion, "errors": [str(e.message) for e in audit.errors], "fixes": [str(e.message) for e in audit.fixes],
"layers": [l.dxf.name for l in doc.layers], "off": [l.dxf.name for l in doc.layers if l.is_off()],
"texts": [e.plain_text() for e in doc.modelspace().query("TEXT")]}))`, &got)
	if got.Version != "AC1009" || len(got.Errors)+len(got.Fixes) > 0 {
		t.Errorf("%+v", got)
	}
	if s := strings.Join(got.Layers, " "); !strings.HasPrefix(s, "HOLES MARKS LATER") ||
		strings.Join(got.Off, " ") != "LATER" {
		t.Errorf("layers %s, off %v", s, got.Off)
	}
}

// TestSlotsReadBack: ezdxf finds each slot's outline with its half circles,
// and each punch as a circle, with y up.
func TestSlotsReadBack(t *testing.T) {
	const r = 0.8636
	d := &draw.Drawing{Frame: draw.Box(0, 0, 100, 285.75), UpMM: 285.75}
	d.Layer("holes", "Holes").Add(&draw.Slots{WidthMM: 2 * r, Segments: []draw.Segment{{X1: 10, Y1: 20, X2: 30, Y2: 20},
		{X1: 5, Y1: 40, X2: 5, Y2: 60}, {X1: 40, Y1: 25, X2: 40, Y2: 25}}})
	var got struct {
		Slots   []struct{ X0, Y0, X1, Y1, Area float64 }
		Circles [][3]float64
	}
	ezdxf(t, encode(t, d), `
from ezdxf import path, bbox
from ezdxf.math import area
slots = []
for p in doc.modelspace().query("POLYLINE"):
    points = list(path.make_path(p).flattening(0.001))
    slots.append({"x0": min(v.x for v in points), "y0": min(v.y for v in points), "x1": max(v.x for v in points), "y1": max(v.y for v in points), "area": area(points)})
print(json.dumps({"slots": slots, "circles": [[c.dxf.center.x, c.dxf.center.y, c.dxf.radius] for c in doc.modelspace().query("CIRCLE")]}))`, &got)
	if len(got.Slots) != 2 || len(got.Circles) != 1 {
		t.Fatalf("%+v", got)
	}
	// y up: 285.75 - 20 = 265.75; 285.75 - 60 = 225.75 and 285.75 - 40 = 245.75.
	want := [][4]float64{{10 - r, 265.75 - r, 30 + r, 265.75 + r}, {5 - r, 225.75 - r, 5 + r, 245.75 + r}}
	for i, s := range got.Slots {
		for k, v := range []float64{s.X0, s.Y0, s.X1, s.Y1} {
			if math.Abs(v-want[i][k]) > 0.002 {
				t.Errorf("slot %d: %+v, want %v", i, s, want[i])
			}
		}
		if a := 20*2*r + math.Pi*r*r; math.Abs(s.Area-a) > 0.01 {
			t.Errorf("slot %d has %v mm², want %v: half circles may bend inwards", i, s.Area, a)
		}
	}
	if c := got.Circles[0]; c != [3]float64{40, 260.75, r} {
		t.Errorf("circle %v", c)
	}
}

func TestErrors(t *testing.T) {
	if err := Encode(io.Discard, &draw.Drawing{}, nil); err == nil || !strings.HasPrefix(err.Error(), "dxf: the frame") {
		t.Errorf("a drawing without frame: %v", err)
	}
	d := drawcases.Many(5000)
	size := len(encode(t, d))
	for _, room := range []int{0, 1, 1000, size / 2, size - 1} {
		if err := Encode(drawcases.FullAfter(room), d, nil); !errors.Is(err, drawcases.ErrFull) {
			t.Errorf("with room for %d bytes of %d: %v", room, size, err)
		}
	}
}

// FuzzEscape: whatever the text, the file stays pairs of lines, a code and a
// value of printable ASCII that release 12 has room for.
func FuzzEscape(f *testing.F) {
	for _, s := range drawcases.Titles {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d := &draw.Drawing{Frame: draw.Box(0, 0, 10, 10), Title: text}
		d.Layer("a", text).Add(&draw.Text{Text: text, SizeMM: 2})
		lines := strings.Split(strings.TrimSuffix(string(encode(t, d)), "\n"), "\n")
		if len(lines)%2 != 0 {
			t.Fatalf("%d lines", len(lines))
		}
		for i, l := range lines {
			if i%2 == 0 {
				if _, err := strconv.Atoi(l); err != nil {
					t.Fatalf("code %q", l)
				}
			}
			if len(l) > textLimit || strings.IndexFunc(l, func(r rune) bool { return r < ' ' || r > '~' }) >= 0 || i%2 == 1 &&
				strings.Contains(l, "%%") {
				t.Fatalf("line %q", l)
			}
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
	d := &draw.Drawing{Frame: draw.Box(0, 0, 50, 285.75), UpMM: 285.75}
	d.Layer("holes", "Holes").Add(&draw.Slots{WidthMM: 1.7272, Segments: []draw.Segment{{X1: 40, Y1: 20, X2: 40, Y2: 20}}})
	var b strings.Builder
	if err := Encode(&b, d, nil); err != nil {
		fmt.Println(err)
	}
	_, circle, _ := strings.Cut(b.String(), "CIRCLE\n")
	fmt.Println(strings.Join(strings.Split(circle, "\n")[:10], " "))
	// Output: 8 HOLES 10 40.0 20 265.75 30 0.0 40 0.8636
}
