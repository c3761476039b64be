package sheet

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/draw/png"
	"rollwright/internal/drawcases"
	"rollwright/internal/judge"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// rollOf is a roll with slots on the given ports, from and to being the
// centres of first and last punch.
func rollOf(t testing.TB, name string, slots ...hole) *roll.Roll {
	t.Helper()
	in, err := instrument.Load(name, ".")
	if err != nil {
		t.Fatal(err)
	}
	r := &roll.Roll{Instrument: in}
	d := in.Die.DiameterMM
	for _, h := range slots {
		port, ok := in.Bar.Port(h.key)
		if !ok {
			t.Fatalf("no port for key %d", h.key)
		}
		r.Slots = append(r.Slots, roll.Slot{
			LeadMM: h.from - d/2, TrailMM: h.to + d/2, FirstMM: h.from, LastMM: h.to, OpenMM: h.from - d/2, ShutMM: h.to + d/2,
			Port: int32(port), Punches: 1, Causes: roll.Causes{First: roll.Cause{Voice: int32(h.key % 3), Note: 1}},
		})
	}
	return r
}

type hole struct {
	key      int
	from, to float64
}

// scattered is a roll over lengthMM with holes of all lengths, spread by an
// irrational step so that nothing lines up.
func scattered(t testing.TB, name string, n int, lengthMM float64) *roll.Roll {
	var holes []hole
	for i := range n {
		at := 2 + lengthMM*float64(i)/float64(n)
		key := 36 + int(math.Mod(float64(i)*0.6180339887, 1)*60)
		long := math.Mod(float64(i)*0.4142135, 1) * 12
		if i%3 == 0 {
			long = 0
		}
		holes = append(holes, hole{key, at, at + long})
	}
	return rollOf(t, name, holes...)
}

func save(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func pdfOf(t testing.TB, pages ...*draw.Drawing) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := pdf.Encode(&b, pages, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func tiles(t testing.TB, r *roll.Roll, o *Options) []*draw.Drawing {
	t.Helper()
	pages, err := Tiles(r, o)
	if err != nil {
		t.Fatal(err)
	}
	return pages
}

func longOf(t testing.TB, r *roll.Roll, o *Options) *draw.Drawing {
	t.Helper()
	d, err := Long(r, o)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

const (
	dpi   = 254
	perMM = dpi / 25.4
)

// TestWords: what every tile must say, read from the PDF by poppler.
func TestWords(t *testing.T) {
	r := scattered(t, "88-note", 100, 300)
	r.Name = "left"
	path := save(t, "a.pdf", pdfOf(t, tiles(t, r, &Options{Title: "Tidewheel", Composer: "A. Maker"})...))
	text := strings.Split(string(judge.Run(t, "pdftotext", "-layout", path, "-")), "\f")
	// From -30 in steps of 160 to 300 and some: 3 tiles, and the guide.
	if len(text) != 5 {
		t.Fatalf("%d pages", len(text)-1)
	}
	for i, want := range [][]string{
		{"Tidewheel · left", "A. Maker", "100 mm across", "100 mm along", "1.0081", "285.75 mm", "A mirrored", "wear eye protection"},
		{"BASS", "TREBLE", "START", "tile 1 of 3", "from −30.0 mm to 140.0 mm", "tile 2 joins above it", "the paper moves down", "this side to the player", "time 0", "1a", "142.875 mm"},
		{"tile 2 of 3", "from 130.0 mm to 300.0 mm", "joins above tile 1", "1a", "1b", "2a", "2b", "100 mm across", "100 mm along", "scale across", "200"},
		{"tile 3 of 3", "from 290.0 mm to 460.0 mm", "joins above tile 2", "2a", "END", "1 ft"},
	} {
		for _, w := range want {
			if !strings.Contains(text[i], w) {
				t.Errorf("page %d does not say %q:\n%s", i, w, text[i])
			}
		}
	}
	letter := string(judge.Run(t, "pdftotext", "-layout", save(t, "b.pdf",
		pdfOf(t, tiles(t, r, &Options{Paper: Letter, Back: true})...)), "-"))
	// The edge lies 285.75/2 - 279.4/2 + 5 = 8.175 mm beyond what prints.
	for _, w := range []string{"8.2 mm beyond what prints", "BACK", "Untitled · left"} {
		if !strings.Contains(letter, w) {
			t.Errorf("Letter does not say %q", w)
		}
	}
}

// words are the places of words in a PDF's first page, by poppler, in mm.
func words(t *testing.T, path string) map[string][2]float64 {
	t.Helper()
	out := string(judge.Run(t, "pdftotext", "-bbox", "-l", "1", path, "-"))
	found := map[string][2]float64{}
	for _, m := range regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">([^<]*)<`).FindAllStringSubmatch(out, -1) {
		var v [4]float64
		for i := range v {
			v[i], _ = strconv.ParseFloat(m[i+1], 64)
		}
		found[m[5]] = [2]float64{(v[0] + v[2]) / 2 * 25.4 / 72, (v[1] + v[3]) / 2 * 25.4 / 72}
	}
	return found
}

func TestErrors(t *testing.T) {
	r := scattered(t, "88-note", 3, 100)
	for _, c := range []struct {
		o    Options
		want string
	}{
		{Options{ScaleAlong: 2}, "sheet: scale along is 2, want 0.9 to 1.1"},
		{Options{ScaleAcross: math.NaN()}, "sheet: scale across is NaN"},
		{Options{MarginMM: 99}, "sheet: margin is 99 mm"},
		{Options{OverlapMM: 1}, "sheet: overlap is 1 mm"},
	} {
		if _, err := Tiles(r, &c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, want %q", c.o, err, c.want)
		}
	}
	if _, err := Tiles(&roll.Roll{}, nil); err == nil {
		t.Error("a roll without instrument makes tiles")
	}
	far := rollOf(t, "88-note", hole{60, 2e6, 2e6})
	if _, err := Long(far, nil); err == nil {
		t.Error("a roll of two kilometres is drawn")
	}
	if _, err := Tiles(rollOf(t, "88-note", hole{60, 4e5, 4e5}), &Options{OverlapMM: 50}); err != nil {
		t.Error(err) // 400 m are 3,334 tiles
	}
	if _, _, err := Preview(r, &Look{FromSec: 5, ToSec: 2}); err == nil {
		t.Error("a picture of a stretch backwards is drawn")
	}
	if _, _, err := Preview(r, &Look{WidthPX: 10}); err == nil {
		t.Error("a picture 10 pixels wide is drawn")
	}
}

// TestLeader: all of the leader (1200 mm before time 0) and the trailer (500 mm
// after the last hole) are drawn on demand.
func TestLeader(t *testing.T) {
	r := rollOf(t, "88-note", hole{60, 10, 10}, hole{62, 900, 900})
	d := longOf(t, r, &Options{Leader: true})
	box, _ := d.Layer(EdgesLayer, "").Marks[0].(*draw.Path).Bounds()
	if from, to := box.Min.X+draw.Hairline/2, box.Max.X-draw.Hairline/2; math.Abs(from+1200) > 1e-9 ||
		math.Abs(to-1400.8636) > 1e-9 {
		t.Errorf("the paper is drawn from %v to %v, want -1200 to 900 + 0.8636 + 500", from, to)
	}
}

// TestEmptyRoll: a roll without holes is paper with its marks.
func TestEmptyRoll(t *testing.T) {
	r := rollOf(t, "88-note")
	pages := tiles(t, r, nil)
	if len(pages) != 2 {
		t.Errorf("%d pages, want guide and one tile", len(pages))
	}
	longOf(t, r, nil)
	if _, _, err := Preview(r, nil); err != nil {
		t.Error(err)
	}
}

// TestPreview: the picture is as wide as asked for, whatever is shown.
func TestPreview(t *testing.T) {
	r := scattered(t, "88-note", 300, 3000)
	for _, look := range []Look{
		{}, {Title: "Tidewheel", Voices: []string{"low", "high", "third"}}, {Dark: true, FromSec: 2, ToSec: 6, Bar: true, WidthPX: 900},
		{Strips: 5, Plain: true, WidthPX: 500}, {Title: drawcases.Titles[3], Voices: drawcases.Titles, Back: true},
	} {
		d, scale, err := Preview(r, &look)
		if err != nil {
			t.Fatal(err)
		}
		want := look.WidthPX
		if want == 0 {
			want = 2000
		}
		if w, _ := (&png.Options{PixelsPerMM: scale}).Size(d); w != int64(want) {
			t.Errorf("%+v: %d pixels wide, want %d", look, w, want)
		}
		if err := d.Check(); err != nil {
			t.Error(err)
		}
	}
}

// TestLegendOfStretch: a picture of a stretch names the voices that it shows. At
// 40.64 mm/s the holes run from 2.5 to 4.9 s, 7.4 to 12.3 s, 22.1 to 24.6 s.
func TestLegendOfStretch(t *testing.T) {
	r := rollOf(t, "88-note", hole{60, 100, 200}, hole{61, 300, 500}, hole{62, 900, 1000})
	for _, tt := range []struct {
		from, to float64
		want     string
	}{{0, 0, "low high third"}, {5, 10, "high"}, {4, 10, "low high"}, {20, 30, "third"}, {13, 20, ""}} {
		d, _, err := Preview(r, &Look{Voices: []string{"low", "high", "third"}, FromSec: tt.from, ToSec: tt.to})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, l := range d.Layers {
			for _, m := range l.Marks {
				if text, ok := m.(*draw.Text); ok && slices.Contains([]string{"low", "high", "third"}, text.Text) {
					got = append(got, text.Text)
				}
			}
		}
		if strings.Join(got, " ") != tt.want {
			t.Errorf("from %v to %v s: the legend names %q, want %q", tt.from, tt.to, got, tt.want)
		}
	}
}

// The blank paper of a long drawing says where the music starts: START 7 mm above
// the middle of 285.75 mm, 142.875; under the middle an arrow of 32 mm that points
// to the start; the way of the paper 6.5 mm below; BASS and TREBLE along the edges.
// All begin 6 mm from where the blank does, 60 mm before the row of time 0.
func TestBeginningOfLongDrawing(t *testing.T) {
	d := longOf(t, scattered(t, "88-note", 50, 300), &Options{})
	const x, mid = -60 + 6, 142.875
	want := map[string]draw.Point{
		"START": {X: x, Y: mid - 7}, "the paper moves this way": {X: x, Y: mid + 6.5},
		"BASS": {X: x, Y: 9}, "TREBLE": {X: x, Y: 285.75 - 4.6},
	}
	var arrows []draw.Rect
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			switch m := m.(type) {
			case *draw.Text:
				at, ok := want[m.Text]
				if ok && m.At.X < 0 && math.Hypot(m.At.X-at.X, m.At.Y-at.Y) < 1e-9 {
					delete(want, m.Text)
				}
			case *draw.Path:
				if b, ok := m.Bounds(); ok && m.Fill.A != 0 && b.W() > 31 && b.W() < 34 {
					arrows = append(arrows, b.Grow(-draw.Hairline/2))
					if tip := m.Steps[0].P[0]; math.Hypot(tip.X-x, tip.Y-mid-0.5) > 1e-9 {
						t.Errorf("the arrow points to %v", tip)
					}
				}
			}
		}
	}
	for text, at := range want {
		t.Errorf("%s does not stand at %v", text, at)
	}
	if len(arrows) != 1 || math.Abs(arrows[0].Min.X-x) > 1e-9 || math.Abs(arrows[0].Max.X-x-32) > 1e-9 ||
		math.Abs(arrows[0].H()-2*0.36*5) > 1e-9 { // a level one is as high as its head
		t.Errorf("arrows %v", arrows)
	}
}
