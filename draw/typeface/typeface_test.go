package typeface

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"rollwright/internal/judge"
)

// fontTools runs a script for Debian's python3-fonttools and decodes what it
// prints.
func fontTools(t *testing.T, script string, out any, args ...string) {
	t.Helper()
	if err := json.Unmarshal(judge.Script(t, "fontTools", script, args...), out); err != nil {
		t.Fatal(err)
	}
}

// TestMeasuresAgainstFontTools: character map, advances and outlines are what
// an independent reader of the same files finds.
func TestMeasuresAgainstFontTools(t *testing.T) {
	const script = `
import json, sys
from fontTools.ttLib import TTFont
from fontTools.pens.boundsPen import BoundsPen
font = TTFont(sys.argv[1])
glyphs = font.getGlyphSet()
out = {}
for rune, name in font.getBestCmap().items():
    pen = BoundsPen(glyphs)
    glyphs[name].draw(pen)
    out[rune] = [font.getGlyphID(name), font["hmtx"][name][0]] + list(pen.bounds or (0, 0, 0, 0))
print(json.dumps(out))`
	for _, f := range All() {
		path := filepath.Join(t.TempDir(), "font.ttf")
		if err := os.WriteFile(path, f.Data(), 0o600); err != nil {
			t.Fatal(err)
		}
		var want map[rune][6]float64
		fontTools(t, script, &want, path)
		if len(want) < 400 {
			t.Fatalf("%v: the judge sees %d characters", f, len(want))
		}
		for r, w := range want {
			g := f.Glyph(r)
			if float64(g) != w[0] || float64(f.Advance(g)) != w[1] {
				t.Errorf("%v: %q is glyph %d, %d wide; want %v, %v", f, r, g, f.Advance(g), w[0], w[1])
			}
			// Bounds of curves reach at most to their control points.
			x0, y0, x1, y1 := bounds(f.Outline(g))
			if w[2] < x0-1 || w[3] < y0-1 || w[4] > x1+1 || w[5] > y1+1 {
				t.Errorf("%v: %q reaches over (%v %v) to (%v %v), want %v", f, r, x0, y0, x1, y1, w[2:])
			}
		}
	}
}

func bounds(outline []Segment) (x0, y0, x1, y1 float64) {
	for i, s := range outline {
		if i == 0 {
			x0, y0, x1, y1 = s.X, s.Y, s.X, s.Y
		}
		x0, y0, x1, y1 = min(x0, s.X), min(y0, s.Y), max(x1, s.X), max(y1, s.Y)
		if s.Op == Quad {
			x0, y0, x1, y1 = min(x0, s.CX), min(y0, s.CY), max(x1, s.CX), max(y1, s.CY)
		}
	}
	return x0, y0, x1, y1
}

// TestSubsetAndWOFFAgainstFontTools: a subset has the outlines of what was
// asked for, the parts of composites included, and of nothing else; a web font
// unpacks to the same tables.
func TestSubsetAndWOFFAgainstFontTools(t *testing.T) {
	const script = `
import json, sys
from fontTools.ttLib import TTFont
full, sub, woff = (TTFont(p, checkChecksums=2) for p in sys.argv[1:4])
want = set(json.loads(sys.argv[4]))
bad = []
same = lambda a, b, g: a["glyf"][a.getGlyphName(g)].getCoordinates(a["glyf"])[0] == b["glyf"][b.getGlyphName(g)].getCoordinates(b["glyf"])[0]
for g in range(len(full.getGlyphOrder())):
    if g in want and not same(full, sub, g): bad.append(g)
    if not same(full, woff, g): bad.append(-g)
kept = [g for g in range(len(full.getGlyphOrder())) if sub["glyf"][sub.getGlyphName(g)].numberOfContours]
print(json.dumps({"bad": bad, "kept": kept, "flavor": woff.flavor}))`
	for _, f := range All() {
		glyphs := f.Set("Ünter Ágyfå ♯ 01")
		dir := t.TempDir()
		paths := []string{filepath.Join(dir, "full.ttf"), filepath.Join(dir, "sub.ttf"), filepath.Join(dir, "web.woff")}
		for i, data := range [][]byte{f.Data(), f.Subset(glyphs), f.WOFF()} {
			if err := os.WriteFile(paths[i], data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		list, _ := json.Marshal(glyphs)
		var got struct {
			Bad, Kept []int
			Flavor    string
		}
		fontTools(t, script, &got, append(paths, string(list))...)
		if len(got.Bad) > 0 || got.Flavor != "woff" {
			t.Errorf("%v: glyphs %v differ, flavour %q", f, got.Bad, got.Flavor)
		}
		if n := len(got.Kept); n < 12 || n > 24 {
			t.Errorf("%v: %d glyphs kept for 13 different characters", f, n)
		}
		if small, full := len(f.Subset(glyphs)), len(f.Data()); small > full/3 {
			t.Errorf("%v: a subset of %d bytes of %d", f, small, full)
		}
	}
}

// TestFiguresAreTabular: numbers in columns line up.
func TestFiguresAreTabular(t *testing.T) {
	for _, f := range All() {
		for _, r := range "0123456789" {
			if f.Advance(f.Glyph(r)) != f.Advance(f.Glyph('0')) {
				t.Errorf("%v: %q is as wide as %d, 0 as %d", f, r, f.Advance(f.Glyph(r)), f.Advance(f.Glyph('0')))
			}
		}
	}
}

// TestSigns: the faces have what the drawings write.
func TestSigns(t *testing.T) {
	for _, f := range All() {
		for _, r := range "♯♭♮√πφ→←↑↓×−–—·…½°′″“”’äßçéñøłŐşαωΩ" {
			if f.Glyph(r) == 0 {
				t.Errorf("%v lacks %q", f, r)
			}
		}
		if f.Glyph('字') != 0 {
			t.Errorf("%v has 字: the tests of missing characters need another", f)
		}
	}
}

func TestEmbeddedSize(t *testing.T) {
	sum := 0
	for _, f := range All() {
		sum += len(f.Data())
	}
	if sum > 400_000 {
		t.Errorf("the faces take %d bytes, want 400,000 at most", sum)
	}
}

func TestClean(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"plain", "plain"},
		{"tab\tand\nline", "tab and line"},
		{"bell\a and escape\x1b[31m", "bell\uFFFD and escape\uFFFD[31m"},
		{"turned\u202Eback", "turned\uFFFDback"},
		{"broken \xff\xfe", "broken \uFFFD\uFFFD"},
		{"a\u00A0b", "a b"},
	} {
		if got := Clean(c.in); got != c.want {
			t.Errorf("Clean(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

// TestWidth: figures of the sans are 600 thousandths wide, so five of them at
// 4 mm run 5 * 0.6 * 4 = 12 mm.
func TestWidth(t *testing.T) {
	if got := Sans.Width("12345", 4); got != 12 {
		t.Errorf("five figures run %v mm, want 12", got)
	}
	if Face(200).Width("a", 1) != Sans.Width("a", 1) {
		t.Error("a value that is no face is not taken as the sans")
	}
}

func FuzzSet(f *testing.F) {
	f.Add("Tidewheel", 40.0)
	f.Add("a\x00b\xff字\u202e", 3.0)
	f.Add(strings.Repeat("long ", 100), 25.0)
	f.Fuzz(func(t *testing.T, text string, width float64) {
		if !(width >= 0 && width < 1e6) {
			t.Skip()
		}
		clean := Clean(text)
		if !utf8.ValidString(clean) || strings.ContainsAny(clean, "\x00\n\r\t\x1b") {
			t.Errorf("Clean left %q", clean)
		}
		for _, face := range All() {
			if n := len(face.Set(text)); n != utf8.RuneCountInString(text) {
				t.Errorf("%d glyphs for %d characters", n, utf8.RuneCountInString(text))
			}
			if fit := face.Fit(text, 4, width); face.Width(fit, 4) > width+1e-9 {
				t.Errorf("Fit to %v mm runs %v", width, face.Width(fit, 4))
			}
		}
		whole := strings.Join(strings.Fields(clean), "")
		lines := Sans.Wrap(text, 4, width)
		if got := strings.Join(strings.Fields(strings.Join(lines, "")), ""); got != whole {
			t.Errorf("Wrap made %q of %q", got, whole)
		}
		for _, l := range lines {
			if Sans.Width(l, 4) > width+1e-9 && utf8.RuneCountInString(l) > 1 {
				t.Errorf("line %q runs over %v mm", l, width)
			}
		}
	})
}

func ExampleFace_Fit() {
	title := "The Tidewheel, a study for two pianos"
	fmt.Println(Serif.Fit(title, 5, 60))
	fmt.Printf("%.1f mm\n", Serif.Width(title, 5))
	// Output:
	// The Tidewheel, a study…
	// 90.3 mm
}
