package sheet

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"
	"testing"

	"rollwright/draw"
	"rollwright/draw/dxf"
	"rollwright/draw/png"
	"rollwright/draw/svg"
	"rollwright/internal/judge"
	"rollwright/internal/pixels"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// hand says how a roll hangs, from the places of A0 and C8 (y down) and the
// direction in which the sheet's start lies.
type hand struct{ a0, c8, start [2]float64 }

// mirrored reports whether the sheet shows the back: seen from the front, with
// the start below, the bass is at the left. So the way from the start to the
// later hole, turned clockwise by a quarter, points from bass to treble.
func (h hand) mirrored() bool {
	later := [2]float64{-h.start[0], -h.start[1]}
	treble := [2]float64{-later[1], later[0]} // a quarter turn clockwise with y down
	d := [2]float64{h.c8[0] - h.a0[0], h.c8[1] - h.a0[1]}
	return d[0]*treble[0]+d[1]*treble[1] < 0
}

// inOrder reports whether A0 lies nearer to the start than C8.
func (h hand) inOrder() bool {
	d := [2]float64{h.c8[0] - h.a0[0], h.c8[1] - h.a0[1]}
	return d[0]*h.start[0]+d[1]*h.start[1] < 0
}

var (
	left  = [2]float64{-1, 0}
	below = [2]float64{0, 1}
	above = [2]float64{0, -1}
)

// handOf finds the two holes in a picture.
func handOf(t *testing.T, shapes []pixels.Shape, die float64, start [2]float64) hand {
	t.Helper()
	h := hand{start: start}
	found := 0
	for _, s := range shapes {
		w, l := s.X1-s.X0, s.Y1-s.Y0
		switch {
		case math.Abs(s.Area-slotArea(die, 12)) < 0.1*slotArea(die, 12) && math.Abs(min(w, l)-die) < 0.3 &&
			math.Abs(max(w, l)-12-die) < 0.3:
			h.a0 = [2]float64{s.X, s.Y}
			found++
		case math.Abs(s.Area-slotArea(die, 0)) < 0.1*slotArea(die, 0) && math.Abs(w-die) < 0.3 && math.Abs(l-die) < 0.3:
			h.c8 = [2]float64{s.X, s.Y}
			found += 10
		}
	}
	if found != 11 {
		t.Fatalf("found A0 %d times, C8 %d times", found%10, found/10)
	}
	return h
}

// solid is the roll of the hand on paper without bridges: A0 is struck first,
// long, at the bass edge; then C8, one punch, near the treble edge. They are
// told apart by their areas.
func solid(t testing.TB) *roll.Roll {
	r := rollOf(t, "88-note", hole{21, 10, 22}, hole{108, 60, 60})
	in := *r.Instrument
	in.Chain.Bridged = false
	r.Instrument = &in
	return r
}

// TestHand: A0 and then C8, read back from the pixels of every format, show
// the same hand.
func TestHand(t *testing.T) {
	r := solid(t)
	die := r.Instrument.Die.DiameterMM
	long := longOf(t, r, nil)
	tile := save(t, "tile.pdf", pdfOf(t, tiles(t, r, nil)[1]))
	page := save(t, "long.pdf", pdfOf(t, long))
	var vector, raster, cut bytes.Buffer
	if err := svg.Encode(&vector, long, nil); err != nil {
		t.Fatal(err)
	}
	drawing := save(t, "long.svg", vector.Bytes())
	picture, scale, err := Preview(r, &Look{Strips: 1, Plain: true})
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(&raster, picture, &png.Options{PixelsPerMM: scale}); err != nil {
		t.Fatal(err)
	}
	if err := dxf.Encode(&cut, long, nil); err != nil {
		t.Fatal(err)
	}
	at := func(out []byte) []pixels.Shape { return pixels.Dark(pixels.Decode(t, out), perMM) }
	res := fmt.Sprint(dpi)
	for name, c := range map[string]struct {
		start [2]float64
		holes func(t *testing.T) []pixels.Shape
	}{
		"pdf tile, poppler": {below, func(t *testing.T) []pixels.Shape {
			return at(judge.Run(t, "pdftoppm", "-png", "-r", res,
				tile))
		}},
		"pdf tile, mupdf": {below, func(t *testing.T) []pixels.Shape {
			return at(judge.Run(t, "mutool", "draw", "-q", "-r", res, "-F", "png", "-o", "-", tile))
		}},
		"pdf long, poppler": {left, func(t *testing.T) []pixels.Shape {
			return at(judge.Run(t, "pdftoppm", "-png", "-r", res,
				page))
		}},
		"svg, librsvg": {left, func(t *testing.T) []pixels.Shape {
			return at(judge.Run(t, "rsvg-convert", "--unlimited", "--dpi-x", res, "--dpi-y", res, drawing))
		}},
		"png": {left, func(t *testing.T) []pixels.Shape {
			return pixels.Dark(bleached(pixels.Decode(t, raster.Bytes())), scale)
		}},
		"dxf, ezdxf": {left, func(t *testing.T) []pixels.Shape { return dxfHoles(t, cut.Bytes()) }},
	} {
		t.Run(name, func(t *testing.T) {
			h := handOf(t, c.holes(t), die, c.start)
			if h.mirrored() || !h.inOrder() {
				t.Errorf("A0 at %.1f, C8 at %.1f: mirrored %v, in order %v", h.a0, h.c8, h.mirrored(), h.inOrder())
			}
			across := math.Abs((h.c8[0]-h.a0[0])*c.start[1]) + math.Abs((h.c8[1]-h.a0[1])*c.start[0])
			// 87 spaces of 25.4/9 mm.
			if want := 87 * 25.4 / 9; math.Abs(across-want) > 0.05 {
				t.Errorf("A0 and C8 are %.3f mm apart, want %.3f", across, want)
			}
		})
	}
	// START and BASS are printed where start and bass are.
	for name, path := range map[string]string{"tile": tile, "long": page} {
		w := words(t, path)
		start, bass, treble := w["START"], w["BASS"], w["TREBLE"]
		h := hand{a0: bass, c8: treble, start: below}
		if name == "long" {
			h.start = left
		}
		if h.mirrored() {
			t.Errorf("%s: BASS at %.1f, TREBLE at %.1f", name, bass, treble)
		}
		holes := handOf(t, at(judge.Run(t, "pdftoppm", "-png", "-r", res, path)), die, h.start)
		if way := [2]float64{start[0] - holes.a0[0], start[1] - holes.a0[1]}; way[0]*h.start[0]+way[1]*h.start[1] < 0 {
			t.Errorf("%s: START at %.1f lies after A0 at %.1f", name, start, holes.a0)
		}
	}
}

// bleached is a picture of warm paper with the paper made white and the holes
// black.
func bleached(img image.Image) image.Image {
	out := image.NewGray(img.Bounds())
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			_, g, _, _ := img.At(x, y).RGBA()
			// The green of paper is 0xec, that of holes 0x1b.
			v := (float64(g)/257 - 0x1b) / (0xec - 0x1b) * 255
			if v > 150 && v < 250 { // bench and shade, but no hole's edge
				v = 255
			}
			out.SetGray(x, y, color.Gray{Y: uint8(min(max(v, 0), 255))})
		}
	}
	return out
}

// dxfHoles are the outlines on layer HOLES as ezdxf understands them, with y
// turned down.
func dxfHoles(t *testing.T, data []byte) []pixels.Shape {
	t.Helper()
	out := judge.Script(t, "ezdxf", `
import ezdxf, json, sys
from ezdxf import path
from ezdxf.math import area
doc = ezdxf.readfile(sys.argv[1])
a = doc.audit()
assert not a.errors and not a.fixes, (a.errors, a.fixes)
shapes = []
for e in doc.modelspace().query('*[layer=="HOLES"]'):
    ps = list(path.make_path(e).flattening(0.001))
    x0, x1, y0, y1 = min(p.x for p in ps), max(p.x for p in ps), min(p.y for p in ps), max(p.y for p in ps)
    shapes.append({"X": (x0+x1)/2, "Y": -(y0+y1)/2, "X0": x0, "X1": x1, "Y0": -y1, "Y1": -y0, "Area": area(ps)})
print(json.dumps(shapes))`, save(t, "a.dxf", data))
	var shapes []pixels.Shape
	if err := json.Unmarshal(out, &shapes); err != nil {
		t.Fatal(err)
	}
	return shapes
}

// TestDXFPlaces: x is the place along and y the paper's width less the place
// across, exactly.
func TestDXFPlaces(t *testing.T) {
	var b bytes.Buffer
	if err := dxf.Encode(&b, longOf(t, solid(t), nil), nil); err != nil {
		t.Fatal(err)
	}
	var got [][2]float64
	for _, s := range dxfHoles(t, b.Bytes()) {
		got = append(got, [2]float64{math.Round(s.X*1e3) / 1e3, math.Round(-s.Y*1e3) / 1e3})
	}
	slices.SortFunc(got, func(a, b [2]float64) int { return int(a[0] - b[0]) })
	// 20.1083 and 285.75 - 20.1083 across, turned: 265.642 and 20.108.
	if want := [][2]float64{{16, 265.642}, {60, 20.108}}; fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestOtherInstruments: paper that travels up begins above, a bass at the
// right is at the right, the back is the mirror of the front, and the long
// drawing is always the tile turned.
func TestOtherInstruments(t *testing.T) {
	for _, c := range []struct {
		up       bool
		bass     instrument.Side
		back     bool
		start    [2]float64 // of the tile
		bassLeft bool       // of the tile
		mirrored bool       // against the usual front
		topBass  bool       // of the long drawing
	}{
		{false, instrument.Left, false, below, true, false, true},
		{false, instrument.Left, true, below, false, true, false},
		{true, instrument.Left, false, above, true, true, false},
		{false, instrument.Right, false, below, false, true, false},
		{true, instrument.Right, false, above, false, false, true},
		{true, instrument.Right, true, above, true, true, false},
	} {
		r := solid(t)
		r.Instrument.Paper.TravelsUp, r.Instrument.Paper.Bass = c.up, c.bass
		o := &Options{Back: c.back}
		tile := placesOf(tiles(t, r, o)[1], c.start)
		long := placesOf(longOf(t, r, o), left)
		if !tile.inOrder() || !long.inOrder() {
			t.Errorf("%+v: C8 comes before A0", c)
		}
		if got := tile.a0[0] < tile.c8[0]; got != c.bassLeft {
			t.Errorf("%+v: bass at the left of the tile: %v", c, got)
		}
		if tile.mirrored() != c.mirrored || long.mirrored() != c.mirrored {
			t.Errorf("%+v: mirrored: tile %v, long %v", c, tile.mirrored(), long.mirrored())
		}
		if got := long.a0[1] < long.c8[1]; got != c.topBass {
			t.Errorf("%+v: bass at the top of the long drawing: %v", c, got)
		}
	}
}

func placesOf(d *draw.Drawing, start [2]float64) hand {
	h := hand{start: start}
	for _, s := range holesOf(d) {
		if s.Dot() {
			h.c8 = [2]float64{s.X1, s.Y1}
		} else {
			h.a0 = [2]float64{(s.X1 + s.X2) / 2, (s.Y1 + s.Y2) / 2}
		}
	}
	return h
}
