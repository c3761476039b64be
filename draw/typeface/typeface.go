// Package typeface turns text in one of five embedded faces into glyphs with
// their advances, outlines.
//
// Glyph measures are in thousandths of an em, exact, with y pointing up as in
// the font files; widths of text are in the unit of the size that was given.
// Text is set glyph after glyph, left to right, without kerning or ligatures,
// so that every format places it alike. Figures of all faces are tabular. A
// character that a face lacks is drawn as its empty box, glyph 0.
//
// The faces cover Latin, Latin Extended-A, Greek, arrows and the signs of
// music and arithmetic that the drawings use; see fonts/make.py. Music holds the
// signs of notation at their places in the Standard Music Font Layout (SMuFL
// 1.4): its em is four staff spaces, its glyphs stand on the line or space that
// they name.
package typeface

import (
	_ "embed" // for the font files
	"encoding/base64"
	"fmt"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Face is one of the embedded faces.
type Face uint8

// The faces: a sans for controls, labels and numbers, a serif for titles and
// explanations.
const (
	Sans Face = iota
	SansBold
	Serif
	SerifItalic
	Music // signs of notation, not text
	faceCount
)

// UnitsPerEm is the em of all faces.
const UnitsPerEm = 1000

//go:embed fonts/sans.ttf
var sansData []byte

//go:embed fonts/sans-bold.ttf
var sansBoldData []byte

//go:embed fonts/serif.ttf
var serifData []byte

//go:embed fonts/serif-italic.ttf
var serifItalicData []byte

//go:embed fonts/music.ttf
var musicData []byte

// All are the faces of text in order; Music is none.
func All() []Face { return []Face{Sans, SansBold, Serif, SerifItalic} }

// Rules are the rules of a style sheet by which a page has these faces inside.
func Rules(faces ...Face) string {
	var b strings.Builder
	for _, f := range faces {
		weight, slant := "normal", "normal"
		if f.Bold() {
			weight = "bold"
		}
		if f.Italic() {
			slant = "italic"
		}
		fmt.Fprintf(&b, "@font-face{font-family:'%s';font-weight:%s;font-style:%s;"+
			"src:url(data:font/woff;base64,%s) format('woff')}\n",
			f.Family(), weight, slant, base64.StdEncoding.EncodeToString(f.WOFF()))
	}
	return b.String()
}

// String is the name of the face with its style, without blanks.
func (f Face) String() string {
	return [...]string{"RollwrightSans", "RollwrightSans-Bold", "RollwrightSerif", "RollwrightSerif-Italic",
		"RollwrightMusic"}[f.known()]
}

// Family is the name under which a style sheet speaks of the face.
func (f Face) Family() string {
	switch {
	case f.Serifs():
		return "Rollwright Serif"
	case f == Music:
		return "Rollwright Music"
	}
	return "Rollwright Sans"
}

// Serifs reports whether the face is a serif.
func (f Face) Serifs() bool { f = f.known(); return f == Serif || f == SerifItalic }

// Bold reports whether the face is the heavier one of its family.
func (f Face) Bold() bool { return f == SansBold }

// Italic reports whether the face slants.
func (f Face) Italic() bool { return f == SerifItalic }

// known is f, or Sans for a value that is no face.
func (f Face) known() Face {
	if f >= faceCount {
		return Sans
	}
	return f
}

// Data is the TrueType file of the face. It is shared: do not change it.
func (f Face) Data() []byte {
	return [...][]byte{sansData, sansBoldData, serifData, serifItalicData, musicData}[f.known()]
}

// lastSign is the last character but U+FFFD that a face has: the music sharp.
const lastSign rune = '♯'

// The part of the private use area in which the Music face has its signs.
const (
	firstMusic rune = 0xE000
	lastMusic  rune = 0xF3FF
)

// metrics is what is read from a font file once.
type metrics struct {
	font     *sfnt.Font
	glyphs   map[rune]uint16
	advances []int
	ascent   int
	descent  int
	cap      int
	x        int
}

var loaded [faceCount]func() *metrics

func init() {
	for i := range loaded {
		loaded[i] = sync.OnceValue(func() *metrics { return load(Face(i)) })
	}
}

// load reads the embedded font. It panics on a broken one, which would be our
// own mistake.
func load(f Face) *metrics {
	parsed, err := sfnt.Parse(f.Data())
	if err != nil {
		panic("typeface: embedded font: " + err.Error())
	}
	var buf sfnt.Buffer
	m := &metrics{font: parsed, glyphs: map[rune]uint16{}, advances: make([]int, parsed.NumGlyphs())}
	for i := range m.advances {
		a, err := parsed.GlyphAdvance(&buf, sfnt.GlyphIndex(i), UnitsPerEm, font.HintingNone)
		if err != nil {
			panic("typeface: embedded font: " + err.Error())
		}
		m.advances[i] = int(a)
	}
	own, err := parsed.Metrics(&buf, UnitsPerEm, font.HintingNone)
	if err != nil {
		panic("typeface: embedded font: " + err.Error())
	}
	m.ascent, m.descent, m.cap, m.x = int(own.Ascent), int(own.Descent), int(own.CapHeight), int(own.XHeight)
	add := func(r rune) {
		if g, err := parsed.GlyphIndex(&buf, r); err == nil && g != 0 {
			m.glyphs[r] = uint16(g)
		}
	}
	for r := range lastSign + 1 {
		add(r)
	}
	add(unicode.ReplacementChar)
	if f == Music {
		for r := firstMusic; r <= lastMusic; r++ {
			add(r)
		}
	}
	return m
}

func (f Face) metrics() *metrics { return loaded[f.known()]() }

// Glyph is the glyph of the character r, 0 when the face lacks it.
func (f Face) Glyph(r rune) uint16 { return f.metrics().glyphs[r] }

// Glyphs is the number of glyphs of the face.
func (f Face) Glyphs() int { return len(f.metrics().advances) }

// Advance is the width of a glyph. Of a glyph that does not exist it is 0.
func (f Face) Advance(glyph uint16) int {
	if a := f.metrics().advances; int(glyph) < len(a) {
		return a[glyph]
	}
	return 0
}

// Ascent is how far the tallest letters may rise above the baseline.
func (f Face) Ascent() int { return f.metrics().ascent }

// Descent is how far letters may reach below the baseline; positive.
func (f Face) Descent() int { return f.metrics().descent }

// CapHeight is the height of capitals and figures.
func (f Face) CapHeight() int { return f.metrics().cap }

// XHeight is the height of small letters.
func (f Face) XHeight() int { return f.metrics().x }

// Set is the glyphs of text, cleaned first.
func (f Face) Set(text string) []uint16 {
	m := f.metrics()
	glyphs := make([]uint16, 0, len(text))
	for _, r := range Clean(text) {
		glyphs = append(glyphs, m.glyphs[r])
	}
	return glyphs
}

// Width is how wide text runs at the given size (the em), in the unit of size.
func (f Face) Width(text string, size float64) float64 {
	m := f.metrics()
	sum := 0
	for _, r := range Clean(text) {
		sum += m.advances[m.glyphs[r]]
	}
	return float64(sum) * size / UnitsPerEm
}

// Fit is text, or as much of its beginning as goes into width with an ellipsis
// after it. It is empty when not even the ellipsis does.
func (f Face) Fit(text string, size, width float64) string {
	text = Clean(text)
	if f.Width(text, size) <= width {
		return text
	}
	const dots = "…"
	m := f.metrics()
	room := width*UnitsPerEm/size - float64(m.advances[m.glyphs['…']])
	if room < 0 {
		return ""
	}
	sum, end := 0, 0
	for i, r := range text {
		sum += m.advances[m.glyphs[r]]
		if float64(sum) > room {
			break
		}
		end = i + len(string(r))
	}
	return strings.TrimRight(text[:end], " ") + dots
}

// Wrap breaks text at blanks into lines of at most width. A word longer than a
// line is broken where it must be. Line breaks in text are kept.
func (f Face) Wrap(text string, size, width float64) []string {
	var lines []string
	for paragraph := range strings.SplitSeq(text, "\n") {
		line := ""
		for _, word := range strings.Fields(Clean(paragraph)) {
			for head := f.head(word, size, width); len(head) < len(word); head = f.head(word, size, width) {
				if line != "" {
					lines, line = append(lines, line), ""
				}
				lines, word = append(lines, head), word[len(head):]
			}
			switch {
			case line == "":
				line = word
			case f.Width(line+" "+word, size) <= width:
				line += " " + word
			default:
				lines, line = append(lines, line), word
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// head is the longest beginning of word within width, at least one character.
func (f Face) head(word string, size, width float64) string {
	m := f.metrics()
	room := width * UnitsPerEm / size
	sum, end := 0, 0
	for i, r := range word {
		if sum += m.advances[m.glyphs[r]]; end > 0 && float64(sum) > room {
			break
		}
		end = i + len(string(r))
	}
	return word[:end]
}

// Clean replaces every character that has no glyph by its nature (controls,
// surrogates, bytes that are not UTF-8, marks of direction) by U+FFFD, every
// kind of white space by a blank. The signs of the Music face stay. The number
// of characters stays the same.
func Clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r >= firstMusic && r <= lastMusic:
			return r
		case !unicode.IsPrint(r):
			return unicode.ReplacementChar
		}
		return r
	}, text)
}

// Op says what a Segment does.
type Op uint8

// The operations of an outline. Quad's first point is its control point.
const (
	Move Op = iota
	Line
	Quad
)

// Segment is one step of an outline, in thousandths of an em, y up. Contours
// close by themselves.
type Segment struct {
	Op     Op
	X, Y   float64 // where the step ends
	CX, CY float64 // control point of a Quad
}

// Outline is the contours of a glyph, to be filled by the nonzero rule. It is
// empty for a blank and for a glyph that does not exist.
func (f Face) Outline(glyph uint16) []Segment {
	var buf sfnt.Buffer
	loaded, err := f.metrics().font.LoadGlyph(&buf, sfnt.GlyphIndex(glyph), fixed.Int26_6(UnitsPerEm), nil)
	if err != nil {
		return nil
	}
	out := make([]Segment, 0, len(loaded))
	at := func(p fixed.Point26_6) (x, y float64) { return float64(p.X), -float64(p.Y) }
	for _, s := range loaded {
		var o Segment
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			o.Op = Move
			o.X, o.Y = at(s.Args[0])
		case sfnt.SegmentOpLineTo:
			o.Op = Line
			o.X, o.Y = at(s.Args[0])
		case sfnt.SegmentOpQuadTo:
			o.Op = Quad
			o.CX, o.CY = at(s.Args[0])
			o.X, o.Y = at(s.Args[1])
		default:
			panic("typeface: cubic curve in a TrueType font")
		}
		out = append(out, o)
	}
	return out
}
