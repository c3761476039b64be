package figure_test

import (
	"bytes"
	"fmt"
	"image"
	stdpng "image/png"
	"math"
	"strconv"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/png"
	"rollwright/draw/typeface"
	"rollwright/telling/figure"
)

// The worked examples, with the counts that follow from the least common
// multiple: 7 against 6 (common practice), 29 against 17 (K. Kothman, course
// notes musTh 212, 2012, on Messiaen's Quatuor, I, piano), 5 against 15 (the
// same, cello: one talea holds three colors), 8 against 5 (Open Knowledge
// Graph, isorhythm questions).
var worked = []struct {
	pitches, strokes       int
	notes, colores, taleae int
	reached                int // durations that one pitch meets
	talea                  string
}{
	{7, 6, 42, 6, 7, 6, "3 2 2 (1) 2 2 1"},
	{29, 17, 493, 17, 29, 17, "4 4 4 2 3 2 2 2 2 3 3 3 1 2 3 4 8"},
	{5, 15, 15, 3, 1, 3, "4 3 4 4 1 1 3 1 1 1 1 3 1 1 4"},
	{8, 5, 40, 5, 8, 5, "3 1 2 2 4"},
}

// workedInput is a piece of so many pitches, all different.
func workedInput(t *testing.T, pitches int, talea string) *figure.Input {
	t.Helper()
	var color []string
	for i := range pitches {
		color = append(color, fmt.Sprintf("%c%d", "CDEFGAB"[i%7], 2+i/7))
	}
	return input(t, fmt.Sprintf("voice \"line\" {\n  talea = %q\n  color = %q\n}\n", talea, strings.Join(color, " ")))
}

// painted paints a figure and gives the colour of a place in millimetres.
func painted(t *testing.T, f *figure.Figure, pixelsPerMM float64) func(x, y float64) draw.Ink {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, f.Drawing, &png.Options{PixelsPerMM: pixelsPerMM}); err != nil {
		t.Fatal(err)
	}
	img, err := stdpng.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	frame := f.Drawing.Frame
	return func(x, y float64) draw.Ink {
		p := image.Pt(int((x-frame.Min.X)*pixelsPerMM), int((y-frame.Min.Y)*pixelsPerMM))
		r, g, b, _ := img.At(p.X, p.Y).RGBA()
		return draw.Ink{R: uint8(r >> 8), G: uint8(g >> 8), B: uint8(b >> 8), A: 255}
	}
}

func isWhite(i draw.Ink) bool { return i.R > 0xf4 && i.G > 0xf4 && i.B > 0xf4 }

// like reports whether a colour is one of a hue within some noise of edges.
func like(a, b draw.Ink, off int) bool {
	d := func(x, y uint8) int { return max(int(x)-int(y), int(y)-int(x)) }
	return d(a.R, b.R) <= off && d(a.G, b.G) <= off && d(a.B, b.B) <= off
}

func TestGrid(t *testing.T) {
	for _, c := range worked {
		f := drawn(t, "grid", workedInput(t, c.pitches, c.talea), figure.Options{})
		want := fmt.Sprintf("%d notes = %d × %d pitches = %d × %d durations", c.notes, c.colores, c.pitches, c.taleae,
			c.strokes)
		if got := text(t, f, "counts").Text; got != want {
			t.Errorf("%d on %d: counts %q, want %q", c.pitches, c.strokes, got, want)
		}
		if s := fmt.Sprintf("after %d notes the color (the repeating series of pitches) has gone round %d times", c.notes,
			c.colores); !strings.Contains(f.Caption, s) {
			t.Errorf("%d on %d: caption %q lacks %q", c.pitches, c.strokes, f.Caption, s)
		}
		// Note k stands where pitch (k-1) mod n crosses duration (k-1) mod m; the
		// longer series lies across. The grid is n by m cells.
		columns, rows := c.strokes, c.pitches
		if columns < rows {
			columns, rows = rows, columns
		}
		first := path(t, f, "cell-1")
		x0, y0 := first.Steps[0].P[0].X, first.Steps[0].P[0].Y
		w, h := first.Steps[1].P[0].X-x0, first.Steps[2].P[0].Y-y0
		pixel := painted(t, f, 12)
		filled := map[[2]int]bool{}
		for k := range c.notes {
			column, row := k%columns, k%rows
			filled[[2]int{column, row}] = true
			number := text(t, f, fmt.Sprintf("note-%d", k+1))
			if got := strconv.Itoa(k + 1); number.Text != got {
				t.Fatalf("note %d is numbered %s", k+1, number.Text)
			}
			if cx := x0 + w*(float64(column)+0.5); math.Abs(number.At.X-cx) > 1e-6 ||
				math.Abs(number.At.Y-(y0+h*(float64(row)+0.5))) > h/2 {
				t.Fatalf("%d on %d: note %d stands at %v, its cell is column %d, row %d", c.pitches, c.strokes, k+1, number.At,
					column+1, row+1)
			}
		}
		for column := range columns {
			for row := range rows {
				// A corner of the cell, away from its number and from lines.
				ink := pixel(x0+w*(float64(column)+0.5), y0+h*(float64(row)+0.09))
				if filled[[2]int{column, row}] == isWhite(ink) && !(column == 0 && row == 0) &&
					!(column == (c.notes-1)%columns && row == (c.notes-1)%rows) {
					t.Fatalf("%d on %d: column %d, row %d is %v, reached: %v", c.pitches, c.strokes, column+1, row+1, ink,
						filled[[2]int{column, row}])
				}
			}
		}
		if n := len(filled); n != c.pitches*c.reached {
			t.Errorf("%d on %d: %d cells are reached, want %d", c.pitches, c.strokes, n, c.pitches*c.reached)
		}
	}
}

// Along a circle through the teeth, paper and ground alternate once a tooth.
func TestWheels(t *testing.T) {
	for _, c := range worked {
		f := drawn(t, "wheels", workedInput(t, c.pitches, c.talea), figure.Options{Ink: figure.BlackInk})
		if got, want := text(t, f, "counts").Text, fmt.Sprintf("%d notes = %d × %d pitches = %d × %d durations", c.notes,
			c.colores, c.pitches, c.taleae, c.strokes); got != want {
			t.Errorf("counts %q, want %q", got, want)
		}
		turns := func(n int) string {
			if n == 1 {
				return "turns 1 time"
			}
			return fmt.Sprintf("turns %d times", n)
		}
		if a, b := text(t, f, "color-turns").Text, text(t, f, "talea-turns").Text; a != turns(c.colores) ||
			b != turns(c.taleae) {
			t.Errorf("%d on %d: %q and %q", c.pitches, c.strokes, a, b)
		}
		for i, teeth := range []int{c.pitches, c.strokes} {
			w := f.Wheels[i]
			alone := &figure.Figure{Drawing: &draw.Drawing{Frame: f.Drawing.Frame,
				Layers: []*draw.Layer{f.Drawing.Layer(w.Layer, "")}}}
			pixel := painted(t, alone, 12)
			const steps = 8000
			on := make([]bool, steps)
			for k := range on {
				sin, cos := math.Sincos(2 * math.Pi * float64(k) / steps)
				on[k] = !isWhite(pixel(w.Centre.X+w.RadiusMM*cos, w.Centre.Y+w.RadiusMM*sin))
			}
			// Where the circle touches a slanting edge a pixel or two flicker: each
			// place is what most of its neighbours are.
			changes, was := 0, mostly(on, steps-1)
			for k := range on {
				if now := mostly(on, k); now != was {
					changes, was = changes+1, now
				}
			}
			if w.Teeth != teeth || changes != 2*teeth {
				t.Errorf("%d on %d, wheel %d: %d teeth, %d edges along the rim, want %d teeth", c.pitches, c.strokes, i, w.Teeth,
					changes, teeth)
			}
		}
		// Radii are as the teeth, so both wheels mesh.
		if a, b := f.Wheels[0].RadiusMM/float64(c.pitches), f.Wheels[1].RadiusMM/float64(c.strokes); math.Abs(a-b) > 1e-9 ||
			math.Abs(f.Wheels[1].Centre.X-f.Wheels[0].Centre.X-f.Wheels[0].RadiusMM-f.Wheels[1].RadiusMM) > 1e-9 {
			t.Errorf("%d on %d: the wheels do not mesh: %+v", c.pitches, c.strokes, f.Wheels)
		}
	}
}

// mostly is what most of the 31 places around place k of a circle are.
func mostly(on []bool, k int) bool {
	count := 0
	for i := -15; i <= 15; i++ {
		if on[(k+i+len(on))%len(on)] {
			count++
		}
	}
	return count > 15
}

// In 7 on 6, statement s of the color begins with note 7(s-1)+1, that is in
// statement 1 + 7(s-1)/6 of the talea at its stroke 7(s-1) mod 6; strokes begin
// at 0 3 5 8 10 12 of 13 units.
func TestStrips(t *testing.T) {
	f := drawn(t, "strips", workedInput(t, 7, "3 2 2 (1) 2 2 1"), figure.Options{})
	starts := []float64{0, 3, 5, 8, 10, 12}
	left := path(t, f, "pitch-1").Steps[0].P[0]
	scale := (path(t, f, "pitch-2").Steps[0].P[0].X - left.X) / 3
	row := path(t, f, "pitch-7").Steps[0].P[0].Y - left.Y
	for k := range 42 {
		p := path(t, f, fmt.Sprintf("pitch-%d", k+1)).Steps[0].P[0]
		if x, y := left.X+starts[k%6]*scale, left.Y+row*float64(k/6); math.Abs(p.X-x) > 1e-6 || math.Abs(p.Y-y) > 1e-6 {
			t.Errorf("pitch %d lies at %v, want %g, %g", k+1, p, x, y)
		}
	}
	pixel := painted(t, f, 12)
	for s := range 6 {
		note := 7 * s
		x, y := left.X+starts[note%6]*scale, left.Y+row*float64(note/6)
		if ink := pixel(x, y+2); !like(ink, draw.Brass, 8) {
			t.Errorf("color %d begins at %g, %g: the edge is %v", s+1, x, y, ink)
		}
		if n := text(t, f, fmt.Sprintf("color-%d", s+1)); n.Text != strconv.Itoa(s+1) || n.At.X < x || n.At.X > x+2 {
			t.Errorf("color %d: number %q at %v", s+1, n.Text, n.At)
		}
	}
}

// The canon 4 : 5 : sqrt(31) : 6, meeting at 2/3, the slowest lasting 240 s:
// length L/s, start 160 - 2/3 of it.
var (
	canonStarts = []float64{0, 32, 45.0526, 53.3333}
	canonEnds   = []float64{240, 224, 217.4737, 213.3333}
)

func TestMeeting(t *testing.T) {
	f := drawn(t, "meeting", input(t, canon), figure.Options{})
	if !strings.Contains(f.Caption, "All reach unit 110 at 160 s.") ||
		!strings.Contains(f.Caption, "it begins at 160.000 − 106.667 = 53.333 s") {
		t.Errorf("caption %q", f.Caption)
	}
	if got := text(t, f, "meeting-time").Text; got != "2:40.0" {
		t.Errorf("the meeting point is labelled %q", got)
	}
	pixel := painted(t, f, 16)
	for v := range canonStarts {
		hue := draw.VoiceHue(v)
		p := path(t, f, fmt.Sprintf("line-%d", v+1))
		first, last := p.Steps[0].P[0], p.Steps[len(p.Steps)-1].P[0]
		// 165 units of 15 each statement, 11 statements.
		for _, c := range []struct{ got, want draw.Point }{
			{first, draw.Point{X: f.Time.At(canonStarts[v]), Y: f.Units.At(0)}}, {last, draw.Point{X: f.Time.At(canonEnds[v]), Y: f.Units.At(165)}},
		} {
			if math.Hypot(c.got.X-c.want.X, c.got.Y-c.want.Y) > 0.001 {
				t.Errorf("voice %d: %v, want %v", v+1, c.got, c.want)
			}
		}
		// A quarter of the way up, where lines are apart, the pixel has the hue; a
		// dash may just be off, so some of a small stretch must have it.
		found := false
		for k := range 60 {
			share := 0.2 + 0.001*float64(k)
			at := canonStarts[v] + (canonEnds[v]-canonStarts[v])*share
			found = found || like(pixel(f.Time.At(at), f.Units.At(165*share)), hue, 24)
		}
		if !found {
			t.Errorf("voice %d: its hue is not where its line is", v+1)
		}
	}
	// The ring around 160 s and 110 units.
	if ink := pixel(f.Time.At(160)-1.6, f.Units.At(110)); !like(ink, draw.Brass, 16) {
		t.Errorf("the ring is %v", ink)
	}
}

func TestLag(t *testing.T) {
	f := drawn(t, "lag", input(t, canon), figure.Options{})
	// At the start of the music IV is 53.3333 s behind I, at the end 26.6667 s ahead.
	if !strings.Contains(f.Caption, "IV is 53.3 s behind, at the end 26.7 s ahead") {
		t.Errorf("caption %q", f.Caption)
	}
	for v := 1; v < 4; v++ {
		p := path(t, f, fmt.Sprintf("lag-%d", v+1))
		first, last := p.Steps[0].P[0], p.Steps[len(p.Steps)-1].P[0]
		for _, c := range []struct{ got, want draw.Point }{
			{first, draw.Point{X: f.Time.At(0), Y: f.Units.At(canonStarts[v])}}, {last, draw.Point{X: f.Time.At(240), Y: f.Units.At(canonEnds[v] - 240)}},
		} {
			if math.Hypot(c.got.X-c.want.X, c.got.Y-c.want.Y) > 0.001 {
				t.Errorf("voice %d: %v, want %v", v+1, c.got, c.want)
			}
		}
	}
	pixel := painted(t, f, 16)
	if ink := pixel(f.Time.At(200), f.Units.At(0)); !like(ink, draw.VoiceHue(0), 16) {
		t.Errorf("the line of no lag is %v", ink)
	}
	if ink := pixel(f.Time.At(160), f.Units.At(0)-1.6); !like(ink, draw.Brass, 16) {
		t.Errorf("the ring is %v", ink)
	}
}

// 60 to 120 quarter notes a minute over 16 of them take 11.5416 s when equal
// units change the tempo by equal ratios; then T(b) = 60 * 2^(b/16) and
// t(b) = 16/ln 2 * (1 - 2^(-b/16)).
func TestTempo(t *testing.T) {
	f := drawn(t, "tempo", input(t, "voice \"v\" {\n  unit = \"1/4\"\n  talea = \"16 times 1\"\n  color = \"C4\"\n  tempo_path {\n    leg {\n      from = 60\n      to = 120\n      over = 16\n    }\n  }\n}\n"), figure.Options{})
	if want := "v goes from 60 to 120 quarter notes a minute in 11.5 s: 120 / 60 = 2 times as fast at the end."; !strings.Contains(f.Caption, want) {
		t.Errorf("caption %q", f.Caption)
	}
	if math.Abs(f.Time.To-11.5416) > 0.0001 {
		t.Errorf("the time axis ends at %g", f.Time.To)
	}
	pixel := painted(t, f, 16)
	for b := 1.0; b < 16; b++ {
		at, tempo := 16/math.Ln2*(1-math.Exp2(-b/16)), 60*math.Exp2(b/16)
		if ink := pixel(f.Time.At(at), f.Units.At(tempo)); !like(ink, draw.VoiceHue(0), 30) {
			t.Errorf("after %g quarter notes, %g s, tempo %g: %v", b, at, tempo, ink)
		}
		if ink := pixel(f.Time.At(at), f.Units.At(tempo)-1.5); like(ink, draw.VoiceHue(0), 30) {
			t.Errorf("the line is thicker than it should be at %g s", at)
		}
	}
}

// I and II play 4 : 5. Statements of 15 units: I takes 240/11 s for each, and
// the canon meets at 160 s.
func TestLines(t *testing.T) {
	f := drawn(t, "lines", input(t, canon), figure.Options{})
	for n := range 11 {
		for v := range canonStarts {
			p := path(t, f, fmt.Sprintf("talea-%d-%d", v+1, n+1)).Steps[0].P[0]
			at := canonStarts[v] + (canonEnds[v]-canonStarts[v])*float64(n)/11
			if math.Abs(p.X-f.Time.At(at)) > 0.001 {
				t.Errorf("voice %d, talea %d begins at %g mm, want %g", v+1, n+1, p.X, f.Time.At(at))
			}
		}
	}
	pixel := painted(t, f, 16)
	mark := path(t, f, "meeting-point").Steps
	if x := mark[0].P[0].X; math.Abs(x-f.Time.At(160)) > 1e-9 || !like(pixel(x, mark[0].P[0].Y+0.5), draw.Brass, 16) {
		t.Errorf("the meeting point stands at %g, want %g", x, f.Time.At(160))
	}
	// Marks between I and II are the plan's, each a line with two dots; each is
	// dark on paper.
	meets := path(t, f, "meet-1-2").Steps
	if len(meets) != 2*13 {
		t.Errorf("%d meetings of I and II are drawn, the caption says: %s", len(meets)/2, f.Caption)
	}
	for i := 0; i < len(meets); i += 2 {
		x, y := meets[i].P[0].X, (meets[i].P[0].Y+meets[i+1].P[0].Y)/2
		if ink := pixel(x, y); ink.R > 0x90 {
			t.Errorf("meeting %d at %g: %v", i/2+1, x, ink)
		}
	}
}

// A canon 3 : 2 of equal notes on one unit: every third note of the fast voice
// meets every second of the slow one.
func TestLinesMeetings(t *testing.T) {
	f := drawn(t, "lines", input(t, "tempo = 60\nvoice \"a\" {\n  unit = \"1/4\"\n  talea = 1\n  color = \"C4\"\n  extent = \"12 notes\"\n  speed = 3\n}\nvoice \"b\" {\n  unit = \"1/4\"\n  talea = 1\n  color = \"C5\"\n  extent = \"8 notes\"\n  speed = 2\n}\n"), figure.Options{})
	meets := path(t, f, "meet-1-2").Steps
	if len(meets) != 2*4 { // at 0, 1, 2 and 3 s
		t.Fatalf("%d meetings", len(meets)/2)
	}
	for i := range 4 {
		if x := meets[2*i].P[0].X; math.Abs(x-f.Time.At(float64(i))) > 1e-6 {
			t.Errorf("meeting %d at %g, want %g", i+1, x, f.Time.At(float64(i)))
		}
	}
	if !strings.Contains(f.Caption, "a and b strike together 4 times, first at 0:00.0 and last at 0:03.0.") {
		t.Errorf("caption %q", f.Caption)
	}
}

// In 7 on 6 each talea has gaps of 3, 2, 3 (2 and a silence), 2, 2, 1 units of
// an eighth of a second: over seven taleae 14 of 3 units, 21 of 2 units, and 6
// of 1 unit between statements.
func TestGaps(t *testing.T) {
	f := drawn(t, "gaps", workedInput(t, 7, "3 2 2 (1) 2 2 1"), figure.Options{})
	pixel := painted(t, f, 12)
	for i, want := range []struct {
		gap   string
		count int
	}{{"125 ms", 6}, {"250 ms", 21}, {"375 ms", 14}} {
		gap, count := text(t, f, fmt.Sprintf("gap-%d", i+1)), text(t, f, fmt.Sprintf("count-%d", i+1))
		if gap.Text != want.gap || count.Text != strconv.Itoa(want.count) || gap.At.X != count.At.X {
			t.Errorf("bar %d: %s %s, want %+v", i+1, gap.Text, count.Text, want)
		}
		top := f.Units.At(float64(want.count))
		if in, out := pixel(gap.At.X, top+0.4), pixel(gap.At.X-2.4, top-0.5); isWhite(in) || !isWhite(out) &&
			!like(out, draw.InkFaint, 40) {
			t.Errorf("bar %d does not end at %g: %v below, %v above", i+1, top, in, out)
		}
	}
}

// At roll tempo 80 the paper moves 40.64 mm a second (Music Roll Standards,
// Chicago, 13 Feb 1911: eight feet a minute). A hole begins where its note does,
// less what the port needs to open, and the bass lies at the top.
func TestPaper(t *testing.T) {
	in := input(t, "tempo = 60\nvoice \"v\" {\n  unit = \"1/4\"\n  talea = 1\n  color = \"C3 E3 C4\"\n  hold = 0.5\n}\n")
	f := drawn(t, "paper", in, figure.Options{ToSec: 3.2})
	rolls, err := in.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	pixel := painted(t, f, 24)
	scale := (f.Time.ToMM - f.Time.FromMM) / (f.Time.To - f.Time.From) / 40.64 // of the drawing
	var heights []float64
	for i := range rolls[0].Slots {
		s := &rolls[0].Slots[i]
		rim := path(t, f, fmt.Sprintf("slot-%d", i+1))
		b, _ := rim.Bounds()
		y := (b.Min.Y + b.Max.Y) / 2
		heights = append(heights, y)
		lead, trail := f.Time.At(s.LeadMM/40.64), f.Time.At(s.TrailMM/40.64)
		// Note i+1 begins at i s; its slot within a port's height of that.
		if at := f.Time.At(float64(i)); math.Abs(lead-at) > 1.2*scale {
			t.Errorf("slot %d begins at %g, note at %g", i+1, lead, at)
		}
		for _, c := range []struct {
			x    float64
			dark bool
		}{{lead + 0.25*scale, true}, {lead - 0.15*scale, false}, {trail - 0.25*scale, true}, {trail + 0.15*scale, false}} {
			if ink := pixel(c.x, y); (ink.R < 0x60) != c.dark {
				t.Errorf("slot %d, %g mm: %v, hole: %v", i+1, c.x, ink, c.dark)
			}
		}
		if name := text(t, f, fmt.Sprintf("name-%d", i+1)).Text; name != []string{"C3", "E3", "C4"}[i] {
			t.Errorf("slot %d is named %s", i+1, name)
		}
	}
	// Nine ports an inch: E3 is 4 ports from C3, C4 12.
	if a, b := (heights[1]-heights[0])/scale, (heights[2]-heights[0])/scale; math.Abs(a-4*25.4/9) > 0.01 ||
		math.Abs(b-12*25.4/9) > 0.01 {
		t.Errorf("E3 lies %g mm and C4 %g mm below C3, want %g and %g", a, b, 4*25.4/9, 12*25.4/9)
	}
}

// Members of a color stand in figures as they sound and as their composer
// spells them: mirrored at C4 (60) and an octave up, Bb3 (58) is 120-58+12 = 74,
// D5, and the chord C4+E4 is 68+72, low note first, with E as A♭, as far below C as E is above; a fifth up, Eb2 is B♭2.
func TestPitchesAsTheySound(t *testing.T) {
	in := input(t, "voice \"m\" {\n  talea = \"2 1 1\"\n  color = \"Bb3 C4+E4\"\n  invert = \"C4\"\n  transpose = 12\n}\n"+
		"voice \"up\" {\n  talea = \"2 1 1\"\n  color = \"Eb2 C2\"\n  transpose = 7\n}\n")
	for voice, want := range map[string][]string{"m": {"D5", "A♭4+C5"}, "up": {"B♭2", "G2"}} {
		for _, kind := range []string{"grid", "wheels", "strips"} {
			all := map[string]bool{}
			for _, m := range texts(drawn(t, kind, in, figure.Options{Voice: voice})) {
				all[m.Text] = true
			}
			for _, name := range want {
				if kind == "wheels" && strings.Contains(name, "+") {
					continue // a tooth has no room for it
				}
				if !all[name] {
					t.Errorf("%s of %s has no %s: %v", kind, voice, name, all)
				}
			}
		}
	}
}

// A name stands where it finds room: 0.8 mm ahead of its hole, else 0.3 mm above
// it, else below, else 0.8 mm behind; ahead and behind with its capitals' middle
// at that of the hole. Three notes side by side follow each other closely: the
// first ones have room ahead, of the second ones the upper one above, the lower
// one below, the one between them behind, where a silence is.
func TestNamesFindRoom(t *testing.T) {
	in := input(t, "tempo = 60\nvoice \"v\" {\n  unit = \"1/4\"\n  talea = \"1 1 (2)\"\n  color = \"C4+D4+E4\"\n"+
		"  start = \"1 s\"\n  extent = \"2 notes\"\n  hold = 0.9\n}\n")
	f := drawn(t, "paper", in, figure.Options{ToSec: 5})
	rolls, err := in.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	for i := range rolls[0].Slots {
		s := &rolls[0].Slots[i]
		b, _ := path(t, f, fmt.Sprintf("slot-%d", i+1)).Bounds()
		n := text(t, f, fmt.Sprintf("name-%d", i+1))
		lead, trail, middle := f.Time.At(s.LeadMM/40.64), f.Time.At(s.TrailMM/40.64), (b.Min.Y+b.Max.Y)/2
		half := float64(typeface.Sans.CapHeight()) / typeface.UnitsPerEm * n.SizeMM / 2
		want := []draw.Point{
			{X: lead - 0.8 - n.WidthMM(), Y: middle + half},
			{X: lead - 0.8 - n.WidthMM(), Y: middle + half},
			{X: lead - 0.8 - n.WidthMM(), Y: middle + half},
			{X: lead, Y: b.Min.Y - 0.3},
			{X: trail + 0.8, Y: middle + half},
			{X: lead, Y: b.Max.Y + 0.3 + 2*half},
		}[i]
		if math.Hypot(n.At.X-want.X, n.At.Y-want.Y) > 1e-9 {
			t.Errorf("%s of slot %d stands at %v, want %v", n.Text, i+1, n.At, want)
		}
	}
}
