package sheet

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"rollwright/draw"
	"rollwright/draw/svg"
	"rollwright/internal/judge"
	"rollwright/internal/pixels"
	"rollwright/paper/roll"
)

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

func checkHoles(t *testing.T, r *roll.Roll, shapes []pixels.Shape, die float64,
	place func(along, across float64) (x, y float64, ok bool)) {
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
