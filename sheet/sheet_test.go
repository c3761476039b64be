package sheet

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/draw"
	"rollwright/instrument"
	"rollwright/internal/drawcases"
	"rollwright/internal/judge"
	"rollwright/internal/pixels"
	"rollwright/pdf"
	"rollwright/png"
	"rollwright/roll"
	"rollwright/svg"
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

// nearest is the distance of the shape nearest to x, y, among those of about
// the given area.
func nearest(shapes []pixels.Shape, x, y, area float64) float64 {
	best := math.Inf(1)
	for _, s := range shapes {
		if s.Area > 0.8*area && s.Area < 1.25*area {
			best = min(best, math.Hypot(s.X-x, s.Y-y))
		}
	}
	return best
}

func slotArea(die, length float64) float64 { return die*length + math.Pi*die*die/4 }

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

// TestHolesInTiles: poppler and mupdf put every hole of the second tile where
// the roll has it, to 0.05 mm. On A4 lying, margins 5, head 14, body 170: the
// body's lower end is at 5 + 14 + 170 = 189 mm of the sheet and is the place
// along of -30 + 160 = 130; the paper's centre, 142.875 across, is at 148.5.
func TestHolesInTiles(t *testing.T) {
	r := scattered(t, "65-note", 80, 420)
	die := r.Instrument.Die.DiameterMM
	path := save(t, "a.pdf", pdfOf(t, tiles(t, r, nil)[2]))
	for _, program := range []string{"pdftoppm", "mutool"} {
		t.Run(program, func(t *testing.T) {
			args := []string{"-png", "-r", fmt.Sprint(dpi), path}
			if program == "mutool" {
				args = []string{"draw", "-q", "-r", fmt.Sprint(dpi), "-F", "png", "-o", "-", path}
			}
			shapes := pixels.Dark(pixels.Decode(t, judge.Run(t, program, args...)), perMM)
			checkHoles(t, r, shapes, die, func(along, across float64) (x, y float64, ok bool) {
				return 148.5 + across - 142.875, 189 - (along - 130), along > 144 && along < 270
			})
		})
	}
}

func checkHoles(t *testing.T, r *roll.Roll, shapes []pixels.Shape, die float64, place func(along, across float64) (x, y float64, ok bool)) {
	t.Helper()
	n, worst := 0, 0.0
	for _, s := range r.Slots {
		x, y, ok := place((s.FirstMM+s.LastMM)/2, r.Instrument.Bar.Ports[s.Port].AcrossMM)
		if !ok {
			continue
		}
		n++
		off := nearest(shapes, x, y, slotArea(die, s.LastMM-s.FirstMM))
		worst = max(worst, off)
		if off > 0.05 {
			t.Errorf("the hole at %.3f mm along, port %d, is %.3f mm off", s.FirstMM, s.Port+1, off)
		}
	}
	if n < 20 {
		t.Errorf("only %d holes looked at", n)
	}
	t.Logf("%d holes, at most %.4f mm off", n, worst)
}

// TestHolesInLongDrawings: the same for the long page by poppler, mupdf and
// librsvg. Its frame begins 18 mm before the paper, which begins at
// -60: x = along + 78, y = across + 18.
func TestHolesInLongDrawings(t *testing.T) {
	r := scattered(t, "65-note", 60, 240)
	d := longOf(t, r, nil)
	var s bytes.Buffer
	if err := svg.Encode(&s, d, nil); err != nil {
		t.Fatal(err)
	}
	pdfPath, svgPath := save(t, "a.pdf", pdfOf(t, d)), save(t, "a.svg", s.Bytes())
	for program, args := range map[string][]string{
		"pdftoppm":     {"-png", "-r", fmt.Sprint(dpi), pdfPath},
		"mutool":       {"draw", "-q", "-r", fmt.Sprint(dpi), "-F", "png", "-o", "-", pdfPath},
		"rsvg-convert": {"--unlimited", "--dpi-x", fmt.Sprint(dpi), "--dpi-y", fmt.Sprint(dpi), svgPath},
	} {
		t.Run(program, func(t *testing.T) {
			shapes := pixels.Dark(pixels.Decode(t, judge.Run(t, program, args...)), perMM)
			checkHoles(t, r, shapes, r.Instrument.Die.DiameterMM, func(along, across float64) (x, y float64, ok bool) {
				return along + 78, across + 18, true
			})
		})
	}
}

// TestBridges: as cut, the punches that overlap are one opening and bridges
// stay; as slots there is one opening; as punches every one is drawn. With
// d 1.7272, bridge spacing 2.2578 and 4 mm open at first, a slot of 12 mm
// between centres has: open 4 - 1.7272 = 2.2728 mm from the first centre, in
// ceil(2.2728/1.1289) = 3 spaces of 0.7576; then floor((12 - 2.2728)/2.2578) = 4 webs to 11.304; what
// is left, 0.696, is less than d + 0.4, so a last overlapping punch at 12.
func TestBridges(t *testing.T) {
	r := rollOf(t, "88-note", hole{60, 10, 22})
	for _, c := range []struct {
		holes Holes
		want  [][2]float64
	}{
		{AsSlots, [][2]float64{{10, 22}}},
		{AsCut, [][2]float64{{10, 12.2728}, {14.5306, 14.5306}, {16.7884, 16.7884}, {19.0462, 19.0462}, {21.304, 22}}},
		{AsPunches, [][2]float64{{10, 10}, {10.7576, 10.7576}, {11.5152, 11.5152}, {12.2728, 12.2728}, {14.5306, 14.5306}, {16.7884, 16.7884}, {19.0462, 19.0462}, {21.304, 21.304}, {22, 22}}},
	} {
		var got [][2]float64
		for _, s := range holesOf(longOf(t, r, &Options{Holes: c.holes})) {
			got = append(got, [2]float64{math.Round(s.X1*1e4) / 1e4, math.Round(s.X2*1e4) / 1e4})
		}
		if fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%d: %v, want %v", c.holes, got, c.want)
		}
	}
}

func holesOf(d *draw.Drawing) []draw.Segment {
	var out []draw.Segment
	for _, m := range d.Layer(HolesLayer, "").Marks {
		out = append(out, m.(*draw.Slots).Segments...)
	}
	return out
}

// TestTilesCover: whatever the roll and the options, every opening lies whole
// in a tile or on both sides of a seam, neighbours overlap, and tile n begins
// where its text says.
func TestTilesCover(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		o := &Options{
			Paper:       Paper(rapid.IntRange(0, 1).Draw(rt, "paper")),
			OverlapMM:   rapid.Float64Range(6, 50).Draw(rt, "overlap"),
			ScaleAlong:  rapid.Float64Range(0.9, 1.1).Draw(rt, "scale"),
			Names:       rapid.Bool().Draw(rt, "names"),
			ScaleAcross: rapid.Float64Range(0.9, 1.1).Draw(rt, "across"),
		}
		r := scattered(t, "88-note", rapid.IntRange(1, 60).Draw(rt, "n"), rapid.Float64Range(1, 3000).Draw(rt, "length"))
		j, err := newJob(r, o)
		if err != nil {
			rt.Fatal(err)
		}
		p, err := j.plan()
		if err != nil {
			rt.Fatal(err)
		}
		if p.from > -tileLeadIn || p.from+float64(p.count-1)*p.advance+p.body < j.last+tileLeadOut-1e-6 {
			rt.Fatalf("%d tiles from %v do not hold the roll to %v", p.count, p.from, j.last)
		}
		if p.count > 1 && p.from+float64(p.count-2)*p.advance+p.body >= j.last+tileLeadOut+1e-6 {
			rt.Fatalf("the last of %d tiles shows nothing", p.count)
		}
		pages, err := Tiles(r, o)
		if err != nil {
			rt.Fatal(err)
		}
		// Places are compared in steps of 0.01 mm, the next step included.
		seen := map[[2]int]bool{}
		step := func(v float64) int { return int(math.Round(v * 100)) }
		for i, d := range pages[1:] {
			if err := d.Check(); err != nil {
				rt.Fatal(err)
			}
			low := p.from + float64(i)*p.advance
			bottom := p.margin + headMM + p.body*o.ScaleAlong
			for _, s := range holesOf(d) {
				if s.Y2 > bottom+2 || s.Y1 < p.margin+headMM-2 {
					rt.Fatalf("tile %d draws %v, outside itself", i+1, s)
				}
				a, b := low+(bottom-s.Y1)/o.ScaleAlong, low+(bottom-s.Y2)/o.ScaleAlong
				for k := range 9 {
					seen[[2]int{step(a) + k/3 - 1, step(b) + k%3 - 1}] = true
				}
			}
		}
		for _, list := range j.openers {
			for _, s := range list {
				if !seen[[2]int{step(s.from), step(s.to)}] {
					rt.Fatalf("the opening from %v to %v is on no tile", s.from, s.to)
				}
			}
		}
	})
}

// TestNothingCollides: no text, cross or ruler of a tile lies on a hole or on
// another text, however dense the roll.
func TestNothingCollides(t *testing.T) {
	for _, name := range []string{"88-note", "65-note"} {
		for _, paper := range []Paper{A4, Letter} {
			for _, names := range []bool{false, true} {
				r := scattered(t, name, 900, 900)
				for i, d := range tiles(t, r, &Options{Title: strings.Repeat("A long title ", 20), Paper: paper, Names: names}) {
					checkClear(t, fmt.Sprintf("%s, %v, names %v, page %d", name, paper, names, i), d, r.Instrument.Die.DiameterMM)
				}
			}
		}
	}
	for _, names := range []bool{false, true} {
		r := scattered(t, "88-note", 400, 900)
		checkClear(t, "long", longOf(t, r, &Options{Title: strings.Repeat("A long title ", 40), Names: names}), r.Instrument.Die.DiameterMM)
	}
}

func checkClear(t *testing.T, what string, d *draw.Drawing, die float64) {
	t.Helper()
	var texts []*draw.Text
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			if text, ok := m.(*draw.Text); ok && text.Text != "" {
				texts = append(texts, text)
			}
		}
	}
	for i, a := range texts {
		box := a.Bounds().Grow(-0.1)
		if f := d.Frame; box.Min.X < f.Min.X+4 || box.Max.X > f.Max.X-4 || box.Min.Y < f.Min.Y+4 || box.Max.Y > f.Max.Y-4 {
			t.Errorf("%s: %q leaves the sheet", what, a.Text)
		}
		for _, b := range texts[:i] {
			if box.Overlaps(b.Bounds().Grow(-0.1)) {
				t.Errorf("%s: %q lies on %q", what, a.Text, b.Text)
			}
		}
		for _, s := range holesOf(d) {
			if clip := d.Layer(HolesLayer, "").Clip; clip != nil && !box.Overlaps(*clip) {
				continue
			}
			if box.Overlaps(draw.Box(s.X1, s.Y1, s.X2, s.Y2).Grow(die / 2)) {
				t.Errorf("%s: %q lies on the hole at %v", what, a.Text, s)
			}
		}
	}
}

// TestRulers: rulers are 100 mm times the scale asked for, on every sheet.
func TestRulers(t *testing.T) {
	r := scattered(t, "88-note", 100, 300)
	for i, d := range tiles(t, r, &Options{ScaleAlong: 1.02, ScaleAcross: 0.99}) {
		var level, upright bool
		for _, m := range d.Layer(MarksLayer, "").Marks {
			p, ok := m.(*draw.Path)
			if !ok || len(p.Steps) != 24 { // a line and 11 ticks
				continue
			}
			a, b := p.Steps[0].P[0], p.Steps[1].P[0]
			level = level || math.Abs(math.Abs(b.X-a.X)-99) < 1e-9
			upright = upright || math.Abs(math.Abs(b.Y-a.Y)-102) < 1e-9
		}
		if !level || !upright {
			t.Errorf("page %d: ruler across %v, along %v", i, level, upright)
		}
	}
}

// TestScale: places are multiplied, holes keep their size. 20.1083 from the
// edge is 122.7667 from the centre, times 1.01 is 123.9943; the place 50 lies
// 80 mm above the tile's first millimetre, -30, times 0.98 is 78.4.
func TestScale(t *testing.T) {
	r := rollOf(t, "88-note", hole{21, 50, 50})
	d := tiles(t, r, &Options{ScaleAlong: 0.98, ScaleAcross: 1.01})[1]
	s := holesOf(d)[0]
	bottom := 5 + 14 + 170*0.98
	if math.Abs(s.X1-(148.5-123.99433)) > 1e-4 || math.Abs(s.Y1-(bottom-78.4)) > 1e-9 {
		t.Errorf("the hole lies at %v", s)
	}
	if w := d.Layer(HolesLayer, "").Marks[0].(*draw.Slots).WidthMM; w != r.Instrument.Die.DiameterMM {
		t.Errorf("the hole is %v wide", w)
	}
}

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
		{"tile 2 of 3", "from 130.0 mm to 300.0 mm", "joins above tile 1", "1a", "1b", "2a", "2b", "100 mm across", "100 mm along", "--scale-across", "200"},
		{"tile 3 of 3", "from 290.0 mm to 460.0 mm", "joins above tile 2", "2a", "END", "1 ft"},
	} {
		for _, w := range want {
			if !strings.Contains(text[i], w) {
				t.Errorf("page %d does not say %q:\n%s", i, w, text[i])
			}
		}
	}
	letter := string(judge.Run(t, "pdftotext", "-layout", save(t, "b.pdf", pdfOf(t, tiles(t, r, &Options{Paper: Letter, Back: true})...)), "-"))
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
	if from, to := box.Min.X+draw.Hairline/2, box.Max.X-draw.Hairline/2; math.Abs(from+1200) > 1e-9 || math.Abs(to-1400.8636) > 1e-9 {
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

// BenchmarkTiles makes the tiles of 200,000 slots over 30 m and writes them.
func BenchmarkTiles(b *testing.B) {
	r := scattered(b, "88-note", 200_000, 30_000)
	for b.Loop() {
		pages, err := Tiles(r, nil)
		if err != nil {
			b.Fatal(err)
		}
		var c drawcases.Counter
		if err := pdf.Encode(&c, pages, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLong makes the long drawing of 200,000 slots and writes it as SVG.
func BenchmarkLong(b *testing.B) {
	r := scattered(b, "88-note", 200_000, 30_000)
	for b.Loop() {
		d, err := Long(r, nil)
		if err != nil {
			b.Fatal(err)
		}
		var c drawcases.Counter
		if err := svg.Encode(&c, d, nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPreview makes the picture of 200,000 slots and paints it.
func BenchmarkPreview(b *testing.B) {
	r := scattered(b, "88-note", 200_000, 30_000)
	for b.Loop() {
		d, scale, err := Preview(r, &Look{Title: "Many"})
		if err != nil {
			b.Fatal(err)
		}
		var c drawcases.Counter
		if err := png.Encode(&c, d, &png.Options{PixelsPerMM: scale}); err != nil {
			b.Fatal(err)
		}
	}
}

// ExampleTiles makes the sheets of a roll with two holes.
func ExampleTiles() {
	in, err := instrument.Load("88-note", ".")
	if err != nil {
		fmt.Println(err)
		return
	}
	port, _ := in.Bar.Port(60)
	r := &roll.Roll{Instrument: in, Slots: []roll.Slot{
		{LeadMM: 10, TrailMM: 11.7272, FirstMM: 10.8636, LastMM: 10.8636, Port: int32(port), Punches: 1},
		{LeadMM: 300, TrailMM: 301.7272, FirstMM: 300.8636, LastMM: 300.8636, Port: int32(port), Punches: 1},
	}}
	pages, err := Tiles(r, &Options{Title: "Two holes"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range pages {
		for _, m := range d.Layer(MarksLayer, "").Marks {
			if t, ok := m.(*draw.Text); ok && strings.HasPrefix(t.Text, "from ") {
				fmt.Println(t.Text)
			}
		}
	}
	// Output:
	// from −30.0 mm to 140.0 mm · plays 0:00.0 to 0:03.4
	// from 130.0 mm to 300.0 mm · plays 0:03.2 to 0:07.4
	// from 290.0 mm to 460.0 mm · plays 0:07.1 to 0:11.3
}
