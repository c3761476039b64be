package figure_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/pdf"
	"rollwright/draw/svg"
	"rollwright/examples"
	"rollwright/internal/judge"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/telling/figure"
	"rollwright/text/source"
	"rollwright/text/words"
)

// input performs a piece.
func input(t testing.TB, text string) *figure.Input {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "test.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	var in []*instrument.Instrument
	for _, piano := range p.Pianos {
		i, err := instrument.Load(piano.Instrument, "")
		if err != nil {
			t.Fatal(err)
		}
		in = append(in, i)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var made *plan.Plan
	return &figure.Input{
		Title: p.Title, Performance: perf,
		Plan: func() *plan.Plan {
			if made == nil {
				made = plan.New(perf, plan.Options{})
			}
			return made
		},
		Rolls: func() ([]*roll.Roll, error) { return lay.Of(perf, in) },
	}
}

func drawn(t testing.TB, kind string, in *figure.Input, o figure.Options) *figure.Figure {
	t.Helper()
	f, err := figure.Draw(kind, in, o)
	if err != nil {
		t.Fatalf("%s: %v", kind, err)
	}
	return f
}

// texts are all texts of a figure.
func texts(f *figure.Figure) []*draw.Text {
	var out []*draw.Text
	for _, l := range f.Drawing.Layers {
		for _, m := range l.Marks {
			if t, ok := m.(*draw.Text); ok {
				out = append(out, t)
			}
		}
	}
	return out
}

// text is the text with an identifier.
func text(t testing.TB, f *figure.Figure, id string) *draw.Text {
	t.Helper()
	for _, m := range texts(f) {
		if m.ID == id {
			return m
		}
	}
	t.Fatalf("%s has no text %q", f.Kind, id)
	return nil
}

// path is the path with an identifier.
func path(t testing.TB, f *figure.Figure, id string) *draw.Path {
	t.Helper()
	for _, l := range f.Drawing.Layers {
		for _, m := range l.Marks {
			if p, ok := m.(*draw.Path); ok && p.ID == id {
				return p
			}
		}
	}
	t.Fatalf("%s has no path %q", f.Kind, id)
	return nil
}

const canon = `
title = "Four to meet"
tune "t" {
  talea = "3 2 2 (1) 2 2 3"
  color = "C2 G2 C3 Bb2 F2 Eb2 D3 A2 E3 B2 F#3"
}
canon "four" {
  subject = "t"
  meet    = "2/3"
  lasts   = "240 s"
  speeds  = "4 : 5 : sqrt(31) : 6"
  voice "I" {}
  voice "II" {
    transpose = 7
  }
  voice "III" {
    transpose = 14
  }
  voice "IV" {
    transpose = 19
  }
}
`

// every is the pieces of the program and one more.
func every(t testing.TB) map[string]*figure.Input {
	t.Helper()
	all := map[string]*figure.Input{"canon": input(t, canon)}
	for _, e := range examples.List() {
		text, err := examples.Source(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		all[e.Name] = input(t, string(text))
	}
	return all
}

// Every kind of every piece, in both sizes and inks: it can be drawn, its texts
// lie within its frame, black is black, and the same piece gives the same bytes.
func TestEveryFigure(t *testing.T) {
	for name, in := range every(t) {
		for _, k := range figure.Kinds() {
			for _, o := range []figure.Options{{}, {Size: figure.Slide, Ink: figure.BlackInk}} {
				f, err := figure.Draw(k.Name, in, o)
				if err != nil {
					if k.Name == "lag" && strings.Contains(err.Error(), "a figure of lag needs two voices of one canon") {
						continue
					}
					if k.Name == "ring" && strings.Contains(err.Error(), "a ring shows durations of whole units") {
						continue
					}
					t.Errorf("%s, %s: %v", name, k.Name, err)
					continue
				}
				check(t, name, f, o)
				if name != "canon" {
					continue
				}
				var a, b bytes.Buffer
				if err := svg.Encode(&a, f.Drawing, nil); err != nil {
					t.Errorf("%s, %s: %v", name, k.Name, err)
				}
				again := drawn(t, k.Name, in, o)
				if err := svg.Encode(&b, again.Drawing, nil); err != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
					t.Errorf("%s, %s: other bytes the second time", name, k.Name)
				}
			}
		}
	}
}

func check(t *testing.T, name string, f *figure.Figure, o figure.Options) {
	t.Helper()
	d := f.Drawing
	if err := d.Check(); err != nil {
		t.Errorf("%s, %s: %v", name, f.Kind, err)
	}
	if f.Caption == "" || strings.ContainsAny(f.Caption+f.Title, "[]{}") {
		t.Errorf("%s, %s: caption %q, title %q", name, f.Kind, f.Caption, f.Title)
	}
	if w, h := d.Frame.W(), d.Frame.H(); o.Size == figure.Slide &&
		(math.Abs(w-338.667) > 0.01 || math.Abs(h-190.5) > 0.01) || o.Size == figure.Page &&
		(math.Abs(w-160) > 1e-9 || h > 260) {
		t.Errorf("%s, %s: %g by %g mm", name, f.Kind, w, h)
	}
	grow := d.Frame.Grow(0.5)
	ids := map[string]bool{}
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			if id := draw.NameOf(m).ID; id != "" {
				if ids[id] {
					t.Errorf("%s, %s: two marks are called %s", name, f.Kind, id)
				}
				ids[id] = true
			}
			switch m := m.(type) {
			case *draw.Text:
				if b := m.Bounds(); b.Min.X < grow.Min.X || b.Max.X > grow.Max.X || b.Min.Y < grow.Min.Y || b.Max.Y > grow.Max.Y {
					t.Errorf("%s, %s: %q reaches out of the frame: %v of %v", name, f.Kind, m.Text, b, d.Frame)
				}
				grey(t, name, f, o, m.Ink)
			case *draw.Path:
				grey(t, name, f, o, m.Fill)
				grey(t, name, f, o, m.Stroke.Ink)
			case *draw.Slots:
				grey(t, name, f, o, m.Ink)
			}
		}
	}
}

func grey(t *testing.T, name string, f *figure.Figure, o figure.Options, i draw.Ink) {
	t.Helper()
	if o.Ink == figure.BlackInk && (i.R != i.G || i.G != i.B) {
		t.Errorf("%s, %s: the ink %v is not grey", name, f.Kind, i)
	}
}

// On a slide of 720 pixels of height no type of the worked examples is smaller
// than 28 pixels, but for the numbers in the cells of a grid and on wheels.
func TestSlideType(t *testing.T) {
	in := input(t, canon)
	for _, kind := range []string{"lines", "meeting", "lag", "tempo", "gaps"} {
		f := drawn(t, kind, in, figure.Options{Size: figure.Slide})
		for _, m := range texts(f) {
			if px := m.SizeMM * 720 / 190.5; px < 27.9 && m.ID == "" {
				t.Errorf("%s: %q is %.1f pixels high", kind, m.Text, px)
			}
		}
	}
}

func TestErrors(t *testing.T) {
	in := input(t, canon)
	plain := input(t, "voice \"a\" {\n  talea = 1\n  color = \"C4\"\n}\nvoice \"b\" {\n  talea = 1\n  color = \"C4\"\n}\n")
	for _, c := range []struct {
		kind string
		in   *figure.Input
		o    figure.Options
		want string
	}{
		{"whels", in, figure.Options{}, "did you mean wheels? There are: grid, wheels"},
		{"grid", in, figure.Options{Voice: "V"}, `the piece has no voice "V"; did you mean`},
		{"lag", in, figure.Options{Pair: [2]string{"I", "I"}}, "stands there twice"},
		{"lag", plain, figure.Options{}, "the piece has no canon"},
		{"lag", plain, figure.Options{Pair: [2]string{"a", "b"}}, "the piece has no canon"},
		{"lines", in, figure.Options{FromSec: 9, ToSec: 3}, "must be later"},
		{"gaps", plain, figure.Options{Voice: "a"}, "no two notes at different instants"},
		{"paper", in, figure.Options{FromSec: 5000, ToSec: 5001}, "no hole between"},
		{"paper", &figure.Input{Performance: in.Performance}, figure.Options{}, "no roll"},
		{"grid", input(t, "voice \"a\" {\n  talea = \"400 times 1\"\n  color = \"C4\"\n}\n"), figure.Options{}, "a grid shows up to 150"},
		{"wheels", input(t, "voice \"a\" {\n  talea = \"500 times 1\"\n  color = \"C4\"\n}\n"), figure.Options{}, "up to 400 teeth"},
	} {
		if _, err := figure.Draw(c.kind, c.in, c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s %+v: %v, want %q", c.kind, c.o, err, c.want)
		}
	}
}

// Plain words replace the words of the trade everywhere; a talk explains them
// in its first figure only.
func TestWords(t *testing.T) {
	in := input(t, canon)
	for _, k := range figure.Kinds() {
		f := drawn(t, k.Name, in, figure.Options{Plain: true})
		all := f.Title + f.Caption
		for _, m := range texts(f) {
			all += m.Text
		}
		for _, word := range []string{"color", "talea", "colores"} {
			if strings.Contains(strings.ToLower(all), word) {
				t.Errorf("%s: plain words with %q: %s", k.Name, word, all)
			}
		}
	}
	talk := words.English().Begin()
	first, second := drawn(t, "grid", in, figure.Options{Talk: talk}), drawn(t, "wheels", in, figure.Options{Talk: talk})
	if !strings.Contains(first.Caption, "color (the repeating series of pitches)") ||
		strings.Contains(second.Caption, "(the repeating") {
		t.Errorf("%q, then %q", first.Caption, second.Caption)
	}
}

// pdffonts, of poppler, sees every font embedded and subset.
func TestFontsEmbedded(t *testing.T) {
	program := judge.Program(t, "pdffonts")
	in := input(t, canon)
	for _, kind := range []string{"wheels", "notation"} {
		name := filepath.Join(t.TempDir(), "figure.pdf")
		var b bytes.Buffer
		if err := pdf.Encode(&b, []*draw.Drawing{drawn(t, kind, in, figure.Options{}).Drawing}, nil); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(program, name).CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")[2:]
		if len(lines) < 2 || kind == "notation" && !strings.Contains(string(out), "RollwrightMusic") {
			t.Errorf("%s:\n%s", kind, out)
		}
		for _, l := range lines {
			if !strings.Contains(l, "yes yes yes") { // embedded, subset, with Unicode
				t.Errorf("%s: %s", kind, l)
			}
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	in := input(b, canon)
	for _, k := range figure.Kinds() {
		b.Run(k.Name, func(b *testing.B) {
			for b.Loop() {
				if _, err := figure.Draw(k.Name, in, figure.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func ExampleDraw() {
	p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: []byte("voice \"low\" {\n  talea = \"3 2 2 (1) 2\"\n  color = \"C2 G2 C3\"\n}\n")})
	if err != nil {
		panic(err)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		panic(err)
	}
	f, err := figure.Draw("wheels", &figure.Input{Performance: perf}, figure.Options{Size: figure.Slide})
	if err != nil {
		panic(err)
	}
	fmt.Println(f.Title)
	fmt.Printf("%.0f by %.1f mm, a wheel of %d teeth and one of %d gaps\n", f.Drawing.Frame.W(), f.Drawing.Frame.H(),
		f.Wheels[0].Teeth, f.Wheels[1].Teeth)
	// Output:
	// low: two wheels, 3 teeth and 4 gaps
	// 339 by 190.5 mm, a wheel of 3 teeth and one of 4 gaps
}
