// Package film paints rolls that move over their bars: paper, voices and, where one
// is wished, a figure, as the pictures of a film.
//
// A picture is rows of red, green, blue in sRGB of 8 bits. Times are seconds of the
// piece. The paper is painted once, in tiles as they are needed, and scrolled: a
// place in it is a float64 in pixels, and between two rows of a tile colours are
// mixed in 256 steps. A picture depends on nothing but its number.
package film

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/draw/raster"
	"rollwright/draw/typeface"
	"rollwright/paper/roll"
	"rollwright/telling/figure"
	"rollwright/text/say"
)

// Input is what a film shows.
type Input struct {
	Title, Composer string         // may be empty
	Voices          []string       // names, by the index that the causes of slots have
	Rolls           []*roll.Roll   // one a piano, beside each other; at least one with slots
	Figure          *figure.Figure // beside the paper; nil: none
	Sounded         []float64      // onsets of the voice whose wheels the figure shows, ascending, in seconds
}

// Look is how a film looks. The zero value is the wide one on a light bench.
type Look struct {
	Square bool // 1080 by 1080, for sharing, without a figure; else 1920 by 1080
	Dark   bool
	Rate   int // pictures a second; 0: 30; up to 60

	FromSec, ToSec float64 // the stretch of the piece; ToSec more than FromSec
	Pace           float64 // so many seconds of the piece in one of the film; 0: 1
}

// Sizes of a picture in pixels.
const (
	wide = 1920
	high = 1080
)

// longestSec is the longest stretch of a film: more than a roll lasts.
const longestSec = 3 * 3600

// Film is a film that can be painted, picture by picture.
type Film struct {
	in     *Input
	look   Look
	theme  theme
	width  int
	papers []*paper
	names  []name
	base   []byte // what never moves
	card   *card  // nil: no figure
}

// theme is the inks of a film: those of the lecture page.
type theme struct{ bench, paper, line, hole, ink, second draw.Ink }

func themeOf(dark bool) theme {
	if dark {
		return theme{draw.Hex(0x1d1a17), draw.Hex(0xcfc6b3), draw.Ink{A: 48}, draw.Hex(0x171411), draw.Hex(0xefe7d6),
			draw.Hex(0xa89e8e)}
	}
	return theme{draw.Bench, draw.Paper, draw.Ink{A: 18}, draw.Hex(0x241f1a), draw.InkDark, draw.InkSecond}
}

// name is the name of a voice on the bench, with its lamp.
type name struct {
	voice int
	x, y  float64 // the lamp's middle
}

// lamp is the radius of a voice's lamp.
const lamp = 10

// New lays out a film. Errors: of the look, and where no roll has a slot.
func New(in *Input, look Look) (*Film, error) {
	look.Rate, look.Pace = cmp.Or(look.Rate, 30), cmp.Or(look.Pace, 1)
	switch {
	case look.Rate < 1 || look.Rate > 60:
		return nil, fmt.Errorf("film: %d pictures a second: want 1 to 60", look.Rate)
	case !(look.Pace >= 0.01 && look.Pace <= 100):
		return nil, fmt.Errorf("film: %g seconds of the piece a second: want 0.01 to 100", look.Pace)
	case !(look.FromSec >= 0 && look.ToSec > look.FromSec && look.ToSec-look.FromSec <= longestSec):
		return nil, fmt.Errorf("film: from %g s to %g s: want a stretch of time, at most three hours", look.FromSec,
			look.ToSec)
	case look.Square && in.Figure != nil:
		return nil, errors.New("film: a square film has no room for a figure")
	}
	f := &Film{in: in, look: look, theme: themeOf(look.Dark), width: wide}
	if look.Square {
		f.width = high
	}
	var rolls []*roll.Roll
	for _, r := range in.Rolls {
		if len(r.Slots) > 0 {
			rolls = append(rolls, r)
		}
	}
	if len(rolls) == 0 {
		return nil, errors.New("film: no roll has a hole to show")
	}
	f.layOut(rolls)
	return f, nil
}

// Size is the size of each picture in pixels.
func (f *Film) Size() (width, height int) { return f.width, high }

// Rate is how many pictures a second there are.
func (f *Film) Rate() int { return f.look.Rate }

// Frames is how many pictures there are: those that begin before the end of the
// stretch.
func (f *Film) Frames() int {
	const same = 1e-9 // of what divides evenly
	return int(math.Ceil((f.look.ToSec-f.look.FromSec)/f.look.Pace*float64(f.look.Rate) - same))
}

// SecAt is the time of the piece that picture i shows, from 0.
func (f *Film) SecAt(i int) float64 {
	return f.look.FromSec + f.look.Pace*float64(i)/float64(f.look.Rate)
}

// Lengths of the two layouts, in pixels.
const (
	margin  = 48
	sideEnd = 812 // where the side of a wide film ends
	headEnd = 104 // of a square one
	footTop = 1008
)

// layOut gives everything its place and paints what never moves.
func (f *Film) layOut(rolls []*roll.Roll) {
	left, top, right, bottom := float64(sideEnd+28), 0.0, float64(f.width-28), float64(high)
	if f.look.Square {
		left, top, right, bottom = 28, headEnd, high-28, footTop
	}
	const gap = 24
	room := (right - left - gap*float64(len(rolls)-1)) / float64(len(rolls))
	for i, r := range rolls {
		x := left + float64(i)*(room+gap)
		f.papers = append(f.papers, newPaper(r, f.theme, int(x), int(top), int(room), int(bottom-top)))
	}
	words := f.words()
	f.base = make([]byte, 3*f.width*high)
	whole := f.canvas(f.base)
	whole.Paint(words)
	if f.in.Figure != nil {
		f.card = f.newCard()
		f.card.paint(whole)
	}
}

func (f *Film) canvas(rgb []byte) *raster.Canvas {
	return &raster.Canvas{Width: f.width, Rows: high, PixelsPerMM: 1, RGB: rgb}
}

// words are title, composer and names of voices.
func (f *Film) words() *draw.Drawing {
	d := &draw.Drawing{Frame: draw.Box(0, 0, float64(f.width), high), Ground: f.theme.bench}
	l := d.Layer("words", "Words")
	ink := func(t *draw.Text, i draw.Ink) { t.Ink = i; l.Add(t) }
	if f.look.Square {
		const size = 44
		ink(draw.Serif(28, 66, size, typeface.Serif.Fit(f.in.Title, size, high-28-28-170), draw.Start), f.theme.ink)
		x := 40.0
		for _, v := range f.voices() {
			const size = 30
			t := draw.Label(x+lamp+10, footTop+46, size, typeface.Sans.Fit(f.in.Voices[v], size, 240), draw.Start)
			if t.At.X+t.WidthMM() > high-60 {
				ink(draw.Label(x, footTop+46, size, "…", draw.Start), f.theme.second)
				break
			}
			ink(t, f.theme.ink)
			f.names = append(f.names, name{v, x, footTop + 36})
			x = t.At.X + t.WidthMM() + 40
		}
		return d
	}
	const room = sideEnd - margin
	y := 92.0
	ink(draw.Serif(margin, y, 56, typeface.Serif.Fit(f.in.Title, 56, room), draw.Start), f.theme.ink)
	if f.in.Composer != "" {
		y += 46
		ink(draw.Label(margin, y, 30, typeface.Sans.Fit(f.in.Composer, 30, room), draw.Start), f.theme.second)
	}
	f.list(ink, y+110)
	return d
}

// list puts the names below each other, in as many columns as are needed.
func (f *Film) list(ink func(*draw.Text, draw.Ink), top float64) {
	const size, step = 32, 48
	voices := f.voices()
	columns := 1 + (len(voices)-1)/f.listRows()
	columns = min(columns, 3)
	room := float64(sideEnd-margin) / float64(columns)
	for i, v := range voices {
		column, row := i/f.listRows(), i%f.listRows()
		x, y := margin+float64(column)*room, top+step*float64(row)
		if column == columns-1 && row == f.listRows()-1 && i < len(voices)-1 {
			ink(draw.Label(x, y, size, fmt.Sprintf("and %s", say.Count(len(voices)-i, "more voice")), draw.Start),
				f.theme.second)
			return
		}
		ink(draw.Label(x+2*lamp+16, y, size, typeface.Sans.Fit(f.in.Voices[v], size, room-2*lamp-40), draw.Start),
			f.theme.ink)
		f.names = append(f.names, name{v, x + lamp, y - 11})
	}
}

// listRows is how many names stand below each other.
func (f *Film) listRows() int {
	if f.in.Figure != nil {
		return 5
	}
	return 16
}

// voices are those that have slots, in their order.
func (f *Film) voices() []int {
	has := make([]bool, len(f.in.Voices))
	for _, p := range f.papers {
		for i := range p.roll.Slots {
			for c := range p.roll.Slots[i].Causes.All() {
				if int(c.Voice) < len(has) {
					has[c.Voice] = true
				}
			}
		}
	}
	var list []int
	for v, yes := range has {
		if yes {
			list = append(list, v)
		}
	}
	return list
}

// clock is the time in whole seconds that have passed: at the right of a square film,
// at the lower left of a wide one.
func (f *Film) clock(sec float64) *draw.Text {
	text := say.Clock(math.Floor(sec), 0)
	t := draw.Bold(margin, high-margin, 52, text, draw.Start)
	if f.look.Square {
		t = draw.Bold(high-28, 66, 44, text, draw.End)
	}
	t.Ink = f.theme.second
	return t
}
