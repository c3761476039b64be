// Package drawcases makes the drawings on which every format is tested. It is
// for tests alone.
package drawcases

import (
	"errors"
	"io"
	"math"
	"testing"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/internal/pixels"
)

// AllMarks is a small drawing with every kind of mark, every cap, fill rule,
// anchor and face, clipped, hidden, transparent and turned.
func AllMarks() *draw.Drawing {
	d := &draw.Drawing{Frame: draw.Box(-10, -5, 110, 55), Ground: draw.Paper, UpMM: 50, Title: "All & <marks>",
		Author: "Z. Ö.", Subject: "one of each"}
	clip := draw.Box(0, 0, 60, 50)
	holes := d.Layer("holes", "Holes")
	holes.Clip = &clip
	holes.Add(&draw.Slots{
		Named: draw.Named{ID: "port-1", Title: "A0 \"low\""}, Ink: draw.InkDark, WidthMM: 1.7272,
		Segments: []draw.Segment{{X1: 5, Y1: 10, X2: 25, Y2: 10}, {X1: 30, Y1: 10, X2: 30, Y2: 10},
			{X1: 5, Y1: 15, X2: 5, Y2: 25}, {X1: 10, Y1: 15, X2: 16, Y2: 23}, {X1: 55, Y1: 20, X2: 70, Y2: 20}},
	})
	marks := d.Layer("marks", "")
	marks.Add(
		(&draw.Path{Named: draw.Named{ID: "edge"}, Stroke: draw.Hair(draw.Brass)}).Rect(draw.Box(0, 0, 100, 50)),
		(&draw.Path{Fill: draw.VoiceHue(1), EvenOdd: true}).Circle(80, 20, 8).Circle(80, 20, 4),
		(&draw.Path{Fill: draw.Ink{R: 0, G: 114, B: 178, A: 128}, Stroke: draw.VoiceStroke(3, 0.6)}).Circle(80, 38, 7),
		(&draw.Path{Stroke: draw.Hair(draw.VoiceHue(2))}).Line(57, 43, 67, 33).Line(59, 44, 68, 35),
		(&draw.Path{Stroke: draw.Stroke{Ink: draw.Black, WidthMM: 1, DashMM: []float64{3}}}).Line(5, 47, 55, 47),
		(&draw.Path{Stroke: draw.Main(draw.Black)}).MoveTo(5, 30).CurveTo(15, 22, 25, 38, 35, 30),
	)
	for i, f := range typeface.All() {
		marks.Add(&draw.Text{At: draw.Point{X: 10, Y: 35 + 3*float64(i)}, SizeMM: 2.5, Face: f, Ink: draw.InkDark,
			Text: "B♭4 & 字 \x07 0.5", Anchor: draw.Anchor(i % 3), TurnDeg: float64(15 * i)})
	}
	off := d.Layer("later", "Later")
	off.Off = true
	off.Add((&draw.Path{Fill: draw.Black}).Rect(draw.Box(90, 2, 98, 10)))
	return d
}

// Many is a drawing of n slots on 88 ports.
func Many(n int) *draw.Drawing {
	d := &draw.Drawing{Frame: draw.Box(0, 0, float64(n), 285.75), UpMM: 285.75, Title: "Many"}
	l := d.Layer("holes", "Holes")
	for port := range 88 {
		s := &draw.Slots{Ink: draw.InkDark, WidthMM: 1.7272}
		y := 20.1083333 + 2.8222222*float64(port)
		for i := port; i < n; i += 88 {
			x := float64(i)*0.987 + float64(i%17)*0.0371
			s.Segments = append(s.Segments, draw.Segment{X1: x, Y1: y, X2: x + float64(i%5)*1.23, Y2: y})
		}
		l.Add(s)
	}
	return d
}

// ErrFull is what FullAfter gives when its disk is full.
var ErrFull = errors.New("no space left on device")

// FullAfter is a writer on a disk with room for n bytes.
func FullAfter(n int) io.Writer { return &full{n} }

type full struct{ room int }

func (f *full) Write(p []byte) (int, error) {
	if len(p) > f.room {
		n := f.room
		f.room = 0
		return n, ErrFull
	}
	f.room -= len(p)
	return len(p), nil
}

// Counter counts bytes.
type Counter struct{ N int }

func (c *Counter) Write(p []byte) (int, error) {
	c.N += len(p)
	return len(p), nil
}

// Titles are such as people, and not only people, write.
var Titles = []string{
	"", "Tidewheel", "Ebb & <Flow> \"two\" 'three'", "a\x00b\x1b[31mred\x07", "line\nbreak\r\n\ttab",
	"broken \xff\xfe bytes", "回転する潮", "Прилив и отлив",
	"right \u202eto left", ")( \\ %% ^ #", "]]> --> <!--", "\U0001F3B9 piano", "\uFFFE\uFFFF\uFEFF",
	"%%EOF endstream endobj",
}

// Holes is AllMarks with its slots alone.
func Holes() *draw.Drawing {
	d := AllMarks()
	d.Layers, d.Ground = d.Layers[:1], draw.Ink{}
	return d
}

// CheckHoles holds what a program has painted of Holes against where they are:
// to 0.02 mm, and cut at the layer's bounds.
func CheckHoles(t testing.TB, shapes []pixels.Shape) {
	t.Helper()
	if len(shapes) != 5 {
		t.Fatalf("%d shapes, want 5", len(shapes))
	}
	for _, want := range [][2]float64{{15, 10}, {30, 10}, {5, 20}, {13, 19}} {
		best := math.Inf(1)
		for _, s := range shapes {
			best = min(best, math.Hypot(s.X-10-want[0], s.Y-5-want[1]))
		}
		if best > 0.02 {
			t.Errorf("the slot at %v is %.3f mm off", want, best)
		}
	}
	for _, s := range shapes {
		if s.X1-10 > 60.06 {
			t.Errorf("a shape reaches to %.2f mm, beyond the bounds at 60", s.X1-10)
		}
	}
}
