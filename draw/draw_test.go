package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/draw/typeface"
)

func TestAppendMM(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "0"}, {math.Copysign(0, -1), "0"}, {-0.00004, "0"}, {1, "1"}, {-1, "-1"}, {0.5, "0.5"}, {0.00005, "0.0001"},
		{-0.00005, "-0.0001"}, {1.7272, "1.7272"}, {285.75, "285.75"}, {20.108333, "20.1083"}, {999.99996, "1000"}, {-30000.12344, "-30000.1234"},
		{1.0203, "1.0203"}, {1e6, "1000000"},
	} {
		if got := string(AppendMM(nil, c.v)); got != c.want {
			t.Errorf("%v is written %s, want %s", c.v, got, c.want)
		}
	}
}

// TestAppendMMIsNearest: what is read back differs by at most half of the last
// decimal.
func TestAppendMMIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-Limit, Limit).Draw(t, "v")
		text := string(AppendMM(nil, v))
		got, err := strconv.ParseFloat(text, 64)
		if err != nil || math.Abs(got-v) > 0.5e-4+1e-9 {
			t.Fatalf("%v is written %s", v, text)
		}
		if _, frac, ok := strings.Cut(text, "."); ok && (len(frac) > 4 || strings.HasSuffix(frac, "0")) {
			t.Fatalf("%v is written %s", v, text)
		}
	})
}

// TestCircle: the four Béziers stay within 0.03 % of the radius, and lines
// within their tolerance of that.
func TestCircle(t *testing.T) {
	const r, tol = 50, 0.01
	lines := (&Path{}).Circle(3, 4, r).Flatten(tol)
	if len(lines) != 1 || !lines[0].Closed {
		t.Fatalf("%d lines", len(lines))
	}
	points := lines[0].Points
	for i, p := range points {
		q := points[(i+1)%len(points)]
		for _, at := range []Point{p, {(p.X + q.X) / 2, (p.Y + q.Y) / 2}} {
			if off := math.Abs(math.Hypot(at.X-3, at.Y-4) - r); off > 0.0003*r+tol {
				t.Fatalf("%v lies %v off the circle", at, off)
			}
		}
	}
}

// TestCapsuleArea: a slot of 10 mm between centres and radius 2 has the area
// 10*4 + pi*4 = 52.566 mm², however it is turned.
func TestCapsuleArea(t *testing.T) {
	for _, s := range []Segment{{0, 0, 10, 0}, {10, 0, 0, 0}, {0, 0, 0, 10}, {0, 0, 6, 8}, {0, 0, -6, 8}} {
		p := (&Path{}).Capsule(s, 2)
		if got := area(p.Flatten(0.001)); math.Abs(got-52.566) > 0.03 {
			t.Errorf("%v: area %v, want 52.566", s, got)
		}
	}
}

// area is what the lines enclose by the shoelace formula, positive when they
// run clockwise as seen.
func area(lines []Line) float64 {
	sum := 0.0
	for _, l := range lines {
		for i, p := range l.Points {
			q := l.Points[(i+1)%len(l.Points)]
			sum += (p.X*q.Y - q.X*p.Y) / 2
		}
	}
	return sum
}

// TestArc: three quarters of a circle of radius 10, closed through its centre,
// have three quarters of its area.
func TestArc(t *testing.T) {
	p := (&Path{}).MoveTo(0, 0).Arc(0, 0, 10, -90, 180).Close()
	if got, want := area(p.Flatten(0.001)), 0.75*math.Pi*100; math.Abs(got-want) > 0.1 {
		t.Errorf("area %v, want %v", got, want)
	}
	back := area((&Path{}).MoveTo(0, 0).Arc(0, 0, 10, 180, -90).Close().Flatten(0.001))
	if math.Abs(back+0.75*math.Pi*100) > 0.1 {
		t.Errorf("backwards: area %v", back)
	}
}

// TestFlattenAfterClose: what follows a Close begins where the closed line
// began (PDF and SVG say the same).
func TestFlattenAfterClose(t *testing.T) {
	lines := (&Path{}).MoveTo(1, 1).LineTo(2, 1).LineTo(2, 2).Close().LineTo(5, 5).Flatten(0.1)
	want := []Line{{Points: []Point{{1, 1}, {2, 1}, {2, 2}}, Closed: true}, {Points: []Point{{1, 1}, {5, 5}}}}
	if fmt.Sprint(lines) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", lines, want)
	}
}

// TestDashes: 3 on, 2 off over 12 mm are dashes at 0-3, 5-8, 10-12, around a
// corner as well.
func TestDashes(t *testing.T) {
	line := Line{Points: []Point{{0, 0}, {7, 0}, {7, 5}}}
	got := fmt.Sprint(Dashes(line, []float64{3, 2}))
	want := fmt.Sprint([]Line{{Points: []Point{{0, 0}, {3, 0}}}, {Points: []Point{{5, 0}, {7, 0}, {7, 1}}},
		{Points: []Point{{7, 3}, {7, 5}}}})
	if got != want {
		t.Errorf("%v, want %v", got, want)
	}
	if whole := Dashes(line, nil); len(whole) != 1 || len(whole[0].Points) != 3 {
		t.Errorf("without a pattern: %v", whole)
	}
}

// TestDashesCover: dashes are so much of the line as the pattern says.
func TestDashesCover(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(0.1, 200).Draw(t, "length")
		on, off := rapid.Float64Range(0.05, 9).Draw(t, "on"), rapid.Float64Range(0.05, 9).Draw(t, "off")
		sum := 0.0
		for _, d := range Dashes(Line{Points: []Point{{0, 0}, {length / 3, 0}, {length, 0}}}, []float64{on, off}) {
			sum += d.Points[len(d.Points)-1].X - d.Points[0].X
		}
		whole := math.Floor(length / (on + off))
		want := whole*on + min(on, length-whole*(on+off))
		if math.Abs(sum-want) > 1e-6 {
			t.Fatalf("dashes of %v in all, want %v", sum, want)
		}
	})
}

// TestTextBounds: the outline of a text lies within its bounds, wherever it is
// anchored and however it is turned.
func TestTextBounds(t *testing.T) {
	for _, anchor := range []Anchor{Start, Middle, End} {
		for _, turn := range []float64{0, 90, -90, 180, 30} {
			text := &Text{At: Point{10, 20}, Text: "BASS 12", SizeMM: 5, Face: typeface.SansBold, Anchor: anchor, TurnDeg: turn}
			out, ok := text.Outline().Bounds()
			in := text.Bounds().Grow(0.1)
			if !ok || out.Min.X < in.Min.X || out.Min.Y < in.Min.Y || out.Max.X > in.Max.X || out.Max.Y > in.Max.Y {
				t.Errorf("anchor %d, %v degrees: outline %v outside %v", anchor, turn, out, in)
			}
		}
	}
	// Turned by 90 degrees a text runs downwards.
	down := (&Text{Text: "BASS", SizeMM: 5, TurnDeg: 90}).Bounds()
	if !(down.H() > down.W() && down.Max.Y > 5) {
		t.Errorf("turned by 90 degrees: %v", down)
	}
}

func TestVoicesDiffer(t *testing.T) {
	seen := map[string]int{}
	for v := range 64 {
		s := VoiceStroke(v, 1)
		key := fmt.Sprint(s.Ink, s.DashMM)
		if old, ok := seen[key]; ok {
			t.Errorf("voices %d and %d look alike", old, v)
		}
		seen[key] = v
	}
	if VoiceHue(-1) != VoiceHue(7) {
		t.Error("an index below 0 has no hue")
	}
}

func TestCheck(t *testing.T) {
	frame := Box(0, 0, 10, 10)
	layer := func(m Mark) *Drawing { return &Drawing{Frame: frame, Layers: []*Layer{{ID: "a", Marks: []Mark{m}}}} }
	nan, inf := math.NaN(), math.Inf(1)
	for name, c := range map[string]struct {
		d    *Drawing
		want string
	}{
		"fine":          {layer((&Path{}).Line(0, 0, 1, 1)), ""},
		"no frame":      {&Drawing{}, "the frame of the drawing is 0 x 0 mm"},
		"frame NaN":     {&Drawing{Frame: Box(0, 0, nan, 1)}, "the frame of the drawing"},
		"huge":          {&Drawing{Frame: Box(0, 0, 2*Limit, 1)}, "the frame of the drawing"},
		"layer ID":      {&Drawing{Frame: frame, Layers: []*Layer{{ID: "a b"}}}, `layer ID "a b"`},
		"mark ID":       {layer(&Path{Named: Named{ID: `x"`}}), `ID "x\""`},
		"slot":          {layer(&Slots{Segments: []Segment{{0, nan, 0, 0}}}), "layer a: a coordinate"},
		"slot width":    {layer(&Slots{WidthMM: -1}), "layer a: a coordinate"},
		"path":          {layer((&Path{}).Line(0, 0, inf, 0)), "layer a: a coordinate"},
		"first step":    {layer((&Path{}).LineTo(1, 1)), "begin with a MoveTo"},
		"negative dash": {layer(&Path{Stroke: Stroke{DashMM: []float64{1, -1}}}), "negative length"},
		"no dash":       {layer(&Path{Stroke: Stroke{DashMM: []float64{0, 0}}}), "shorter than 0.01 mm"},
		"text":          {layer(&Text{SizeMM: inf}), "layer a: a coordinate"},
	} {
		err := c.d.Check()
		if c.want == "" && err != nil || c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func Example() {
	d := &Drawing{Frame: Box(0, 0, 100, 50), Title: "Two slots"}
	d.Layer("holes", "Holes").Add(&Slots{
		Named:    Named{ID: "port-1", Title: "A0"},
		Ink:      InkDark,
		WidthMM:  1.7272,
		Segments: []Segment{{10, 20, 30, 20}, {40, 20, 40, 20}},
	})
	d.Layer("marks", "Marks").Add((&Path{Stroke: Hair(InkDark)}).Rect(Box(5, 5, 95, 45)))
	for _, l := range d.Layers {
		fmt.Printf("%s: %d %q\n", l.Name(), len(l.Marks), NameOf(l.Marks[0]).Title)
	}
	fmt.Println(d.Check())
	// Output:
	// Holes: 1 "A0"
	// Marks: 1 ""
	// <nil>
}
