package film_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"rollwright/internal/flicker"
	"rollwright/internal/rollcases"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/telling/film"
)

const looms = `
title = "Two Looms"
tempo = 96
voice "low" {
  talea = "2 1 1"
  color = "C3 G3 D4 A3"
  extent = "60 notes"
}
voice "high" {
  like = "low"
  speed = sqrt(2)
  transpose = 19
  extent = "84 notes"
}
`

// filmed is a film of a piece's rolls.
func filmed(t testing.TB, text string, look film.Look) (*film.Film, []*roll.Roll) {
	t.Helper()
	rolls := rollcases.Rolls(t, text)
	f, err := film.New(&film.Input{Title: "Two Looms", Composer: "Hollinbeck Mill", Voices: rolls[0].Voices, Rolls: rolls},
		look)
	if err != nil {
		t.Fatal(err)
	}
	return f, rolls
}

// TestTimes: a picture for each part of a second that begins in the stretch.
func TestTimes(t *testing.T) {
	for _, c := range []struct {
		look   film.Look
		frames int
		last   float64 // what the last picture shows
	}{
		{film.Look{ToSec: 1}, 30, 29.0 / 30},
		{film.Look{ToSec: 1.01}, 31, 1},
		{film.Look{FromSec: 2, ToSec: 2.5, Rate: 60}, 30, 2 + 29.0/60},
		{film.Look{ToSec: 1, Pace: 0.5}, 60, 0.5 * 59.0 / 30}, // half as fast lasts twice as long
		{film.Look{ToSec: 0.1 * 3, Rate: 10}, 3, 0.2},         // 0.30000000000000004
	} {
		f, _ := filmed(t, looms, c.look)
		if n := f.Frames(); n != c.frames || math.Abs(f.SecAt(n-1)-c.last) > 1e-9 {
			t.Errorf("%+v: %d pictures, the last at %g s; want %d, %g s", c.look, n, f.SecAt(n-1), c.frames, c.last)
		}
	}
}

// TestSameBytes: a picture is the same whoever painted what before it.
func TestSameBytes(t *testing.T) {
	f, _ := filmed(t, looms, film.Look{ToSec: 30})
	inOrder, alone := f.Painter(), f.Painter()
	for i := range 40 {
		inOrder.Frame(i)
	}
	for _, i := range []int{40, 700, 3} {
		if !bytes.Equal(bytes.Clone(inOrder.Frame(i)), alone.Frame(i)) {
			t.Errorf("picture %d differs", i)
		}
	}
	before := bytes.Clone(alone.Frame(40))
	if bytes.Equal(before, alone.Frame(41)) {
		t.Error("nothing moves")
	}
}

// TestAgainstThePaper holds pictures against the roll: what lies over the bar's
// ports is lit, what is shut is dark, and holes lie so many millimetres from the bar
// as the transport says.
func TestAgainstThePaper(t *testing.T) {
	for _, square := range []bool{false, true} {
		f, rolls := filmed(t, looms, film.Look{ToSec: 30, Square: square})
		r := rolls[0]
		for _, i := range []int{15, 100, 250} {
			rgb, sec := f.Painter().Frame(i), f.SecAt(i)
			row := r.Instrument.Transport.AlongMM(sec)
			open := map[int32]bool{}
			for k := range r.Slots {
				if s := &r.Slots[k]; s.LeadMM <= row && row <= s.TrailMM {
					open[s.Port] = true
				}
			}
			g := geometryOf(f, r)
			for port := range r.Instrument.Bar.Ports {
				p := int32(port)
				lit := g.at(rgb, g.x(p), g.bar)[2] > 0xc0 // the brass has less blue
				if x := g.x(p); x < float64(g.left)+2 || x > float64(g.left+g.width)-2 {
					continue
				}
				if lit != open[p] {
					t.Errorf("picture %d: port %d is lit: %v, open: %v", i, port, lit, open[p])
				}
			}
			seen := 0
			for k := range r.Slots {
				s := &r.Slots[k]
				y := g.bar - (s.FirstMM-row)*g.scale
				if y < float64(g.top)+4 || y > float64(g.top+g.height)-4 || math.Abs(y-g.bar) < 20 || open[s.Port] {
					continue
				}
				seen++
				if c := g.at(rgb, g.x(s.Port), y); c[0] > 0x60 {
					t.Errorf("picture %d: no hole of %d at %.1f mm from the bar: %v", i, s.Port, s.FirstMM-row, c)
				}
				// beside it, halfway to the next port, is paper
				if c := g.at(rgb, g.x(s.Port)+g.scale*1.45+2, y); c[0] < 0xd0 {
					t.Errorf("picture %d: no paper beside the hole of %d: %v", i, s.Port, c)
				}
			}
			if seen < 8 {
				t.Errorf("picture %d shows %d holes", i, seen)
			}
		}
	}
}

// geometry is where the paper of a film of one roll lies, reckoned anew: a window of
// ports in use with 12 mm on both sides, at least 130 mm of it.
type geometry struct {
	width, height, left, top int
	pitch                    int // of a picture's rows
	from, scale, bar         float64
	in                       *instrument.Instrument
}

func geometryOf(f *film.Film, r *roll.Roll) geometry {
	g := geometry{left: 840, width: 1920 - 28 - 840, height: 1080, in: r.Instrument}
	if g.pitch, _ = f.Size(); g.pitch == 1080 {
		g.left, g.width, g.top, g.height = 28, 1080-56, 104, 1008-104
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range r.Slots {
		x := r.Instrument.Bar.Ports[r.Slots[i].Port].AcrossMM
		low, high = min(low, x), max(high, x)
	}
	across := max(high-low+24, 130)
	g.from, g.scale = (low+high-across)/2, float64(g.width)/across
	g.bar = float64(g.top) + 0.76*float64(g.height)
	return g
}

func (g *geometry) x(port int32) float64 {
	return float64(g.left) + (g.in.Bar.Ports[port].AcrossMM-g.from)*g.scale
}

func (g *geometry) at(rgb []byte, x, y float64) [3]byte {
	x = min(max(x, 0), float64(g.pitch-1))
	return [3]byte(rgb[3*(int(y)*g.pitch+int(x)):])
}

// luminance is the relative luminance of WCAG 2.2, from linear light.
var linear = func() (l [256]float64) {
	for i := range l {
		c := float64(i) / 255
		if l[i] = c / 12.92; c > 0.04045 {
			l[i] = math.Pow((c+0.055)/1.055, 2.4)
		}
	}
	return l
}()

// TestFlashes holds the densest example to WCAG 2.2, 2.3.1: no more than three
// flashes in a second over more than a quarter of any rectangle of 341 by 256 pixels
// of a picture 1024 pixels wide. A flash is a pair of opposing changes in relative
// luminance of a tenth or more of the most, the darker below 0.80.
func TestFlashes(t *testing.T) {
	text, at := densest(t)
	for _, square := range []bool{false, true} {
		f, _ := filmed(t, text, film.Look{FromSec: at, ToSec: at + 1, Square: square, Dark: square})
		wide, _ := f.Size()
		const cell = 8
		columns, rows := wide/cell, 1080/cell
		history := make([][]float64, columns*rows)
		painter := f.Painter()
		for i := range f.Frames() {
			rgb := painter.Frame(i)
			for c := range history {
				sum := 0.0
				for y := range cell {
					at := 3 * ((c/columns*cell+y)*wide + c%columns*cell)
					for x := range cell {
						p := rgb[at+3*x:]
						sum += 0.2126*linear[p[0]] + 0.7152*linear[p[1]] + 0.0722*linear[p[2]]
					}
				}
				history[c] = append(history[c], sum/cell/cell)
			}
		}
		worst := flicker.Worst(history, columns, 341*wide/1024/cell, 256*wide/1024/cell)
		t.Logf("square %v: at most %.1f %% of a rectangle flash", square, 100*worst)
		if worst > 0.25 {
			t.Errorf("square %v: %.0f %% of a rectangle flash more than three times a second", square, 100*worst)
		}
	}
}

// densest is the example with the most holes on screen at once, and when.
func densest(t *testing.T) (text string, sec float64) {
	names, err := filepath.Glob(filepath.Join("..", "..", "examples", "*.piece"))
	if err != nil || len(names) == 0 {
		t.Fatal("no examples", err)
	}
	most, which := 0, ""
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rollcases.Rolls(t, string(data)) {
			const shownMM = 200
			for first, last := 0, 0; last < len(r.Slots); last++ {
				for r.Slots[last].LeadMM-r.Slots[first].LeadMM > shownMM {
					first++
				}
				if n := last - first + 1; n > most {
					most, which, text, sec = n, name, string(data), r.Instrument.Transport.Sec(r.Slots[first].LeadMM)
				}
			}
		}
	}
	t.Logf("%s has %d holes on screen at %.1f s", filepath.Base(which), most, sec)
	return text, math.Floor(sec)
}

func TestErrors(t *testing.T) {
	rolls := rollcases.Rolls(t, looms)
	in := &film.Input{Title: "x", Voices: rolls[0].Voices, Rolls: rolls}
	for _, look := range []film.Look{
		{}, {FromSec: 2, ToSec: 1}, {ToSec: math.Inf(1)}, {ToSec: math.NaN()}, {ToSec: 1, Rate: 61}, {ToSec: 1, Rate: -1},
		{ToSec: 1, Pace: -1}, {FromSec: -1, ToSec: 1}, {ToSec: 1e5},
	} {
		if _, err := film.New(in, look); err == nil {
			t.Errorf("%+v is taken", look)
		}
	}
	empty := *rolls[0]
	empty.Slots = nil
	if _, err := film.New(&film.Input{Rolls: []*roll.Roll{&empty}}, film.Look{ToSec: 1}); err == nil {
		t.Error("a film of nothing")
	}
}

func Example() {
	rolls := rollcases.Rolls(silent{}, looms)
	f, err := film.New(&film.Input{Title: "Two Looms", Voices: rolls[0].Voices, Rolls: rolls},
		film.Look{ToSec: 2, Square: true})
	if err != nil {
		panic(err)
	}
	rgb := f.Painter().Frame(0)
	width, height := f.Size()
	fmt.Println(f.Frames(), "pictures of", width, "by", height, "pixels,", len(rgb), "bytes each")
	// Output: 60 pictures of 1080 by 1080 pixels, 3499200 bytes each
}

func BenchmarkFrame(b *testing.B) {
	f, _ := filmed(b, looms, film.Look{ToSec: 30})
	p := f.Painter()
	for i := 0; b.Loop(); i++ {
		p.Frame(i % f.Frames())
	}
}

// silent is a test that panics in place of failing, for the example.
type silent struct{}

func (silent) Helper()          {}
func (silent) Fatal(why ...any) { panic(fmt.Sprint(why...)) }
