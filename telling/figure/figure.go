// Package figure draws a performed piece as figures that explain it: kind in,
// draw.Drawing with title and caption out.
//
// A drawing is in millimetres: 160 wide as a page figure and as high as it must
// be, 338.667 by 190.5 (16 : 9) as a slide. Times are seconds from the piece's
// start. Numbers that are printed are the ones of packages perform, plan and
// roll, rounded to the digits shown; positions are float64 and keep them.
// Layers have the identifiers that the documentation of each kind names, so
// that a page can move or hide parts of a figure.
package figure

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/draw"
	"rollwright/music/perform"
	"rollwright/music/plan"
	"rollwright/paper/roll"
	"rollwright/text/source"
	"rollwright/text/words"
)

// Input is the piece that is explained.
type Input struct {
	Title       string // of the piece
	Author      string
	Performance *perform.Performance
	Plan        func() *plan.Plan            // asked by lines, lag and the kinds of one voice
	Rolls       func() ([]*roll.Roll, error) // asked by paper; nil: paper is an error
}

// Size is what a figure is made for.
type Size int8

// The sizes. A slide has large type and no more than fits.
const (
	Page Size = iota
	Slide
)

// Ink is what a figure may use to tell voices apart.
type Ink int8

// The inks. Black keeps to black and greys: patterns alone tell voices apart.
const (
	Hues Ink = iota
	BlackInk
)

// Options say how a figure is drawn. The zero value is a page figure in hues
// with English words.
type Options struct {
	Voice  string    // the voice shown; empty: the first one that suits the kind
	Pair   [2]string // the two voices that are compared; empty: what suits the kind
	Voices []string  // the voices of a kind that shows several, where neither Voice nor Pair is given; nil: all
	Size   Size
	Ink    Ink
	Heard  bool // for an audience, which has no piece file before it
	Bare   bool // without title and caption, for a page that sets them itself

	// Book is the words; nil: English. Plain says pitch series and rhythm
	// series for color and talea. Talk, when given, replaces both: terms
	// are explained only where the talk has not done so.
	Book  *words.Book
	Plain bool
	Talk  *words.Talk

	FromSec, ToSec float64 // the stretch shown, for kinds along time; both 0: what suits the kind
}

// Figure is a drawing that explains something.
type Figure struct {
	Kind    string
	Title   string
	Caption string // a sentence or two with the arithmetic
	Drawing *draw.Drawing

	Time   *Axis   // of figures along time
	Units  *Axis   // of the vertical axis of meeting, in units; of lag in seconds, of tempo in quarter notes a minute
	Wheels []Wheel // of wheels: first the color's, then the talea's
}

// Axis is where values stand in a drawing: From at FromMM, To at ToMM.
// Between them places grow evenly with the value, or with its logarithm.
type Axis struct {
	From, To     float64
	FromMM, ToMM float64
	Log          bool
}

// Wheel is one wheel in a drawing of wheels.
type Wheel struct {
	Layer    string     // identifier of the layer that turns
	Centre   draw.Point // in the drawing
	RadiusMM float64
	Teeth    int
	Sense    int // 1: turns clockwise from note to note; -1: the other way
}

// Kind is one kind of figure.
type Kind struct {
	Name  string
	About string // a line for help, in English

	view func(in *Input, o *Options) (view, error)
}

// view is a figure ready to be drawn.
type view interface {
	title(t *words.Talk) string
	caption(t *words.Talk, short bool) string // short: in one sentence, for a slide
	draw(c *canvas, f *Figure)                // at 0, 0, of c.width and at most c.height; sets c.used
}

var kinds = []Kind{
	{"grid", "which pitch falls on which duration, with counts", newGrid},
	{"wheels", "color and talea as two toothed wheels, with their counts", newWheels},
	{"ring", "the talea round a circle: its strokes on its pulses", newRing},
	{"strips", "the strip of pitches sliding along the strip of durations", newStrips},
	{"lines", "all voices over time: statements, notes, meetings and near misses", newLines},
	{"meeting", "the voices of a canon, units against time, meeting at their point", newMeeting},
	{"lag", "how far the voices of a canon are apart, over time", newLag},
	{"tempo", "the tempo of each voice over time", newTempos},
	{"contour", "how voices rise and fall: pitches over time", newContour},
	{"paper", "a stretch of the roll with its notes named", newPaper},
	{"notation", "color, talea and first statements of a voice in notation", newMusic},
	{"gaps", "histogram of the intervals between onsets", newGaps},
}

// Kinds are the kinds of figure, in the order in which help lists them.
func Kinds() []Kind { return slices.Clone(kinds) }

// Draw draws a figure. The error says, for a person, that there is no such
// kind or voice, or why this piece has no such figure.
func Draw(kind string, in *Input, o Options) (*Figure, error) {
	k, err := kindOf(kind)
	if err != nil {
		return nil, err
	}
	v, err := k.view(in, &o)
	if err != nil {
		return nil, err
	}
	talk := o.talk()
	f := &Figure{Kind: kind, Title: v.title(talk), Caption: v.caption(talk, o.Size == Slide)}
	f.Drawing = &draw.Drawing{
		Ground: draw.White, Author: in.Author, Subject: f.Caption,
		Title: strings.TrimSpace(in.Title + " · " + f.Title),
	}
	c := newCanvas(f.Drawing, talk, &o)
	c.lay(f, v)
	return f, nil
}

func (o *Options) talk() *words.Talk {
	switch {
	case o.Talk != nil:
		return o.Talk
	case o.Book == nil:
		o.Book = words.English()
	}
	if o.Plain {
		return o.Book.Plain().Begin()
	}
	return o.Book.Begin()
}

func kindOf(name string) (Kind, error) {
	var names []string
	for _, k := range kinds {
		if k.Name == name {
			return k, nil
		}
		names = append(names, k.Name)
	}
	hint := "there are: " + strings.Join(names, ", ")
	if near, ok := source.Nearest(name, names); ok {
		hint = "did you mean " + near + "? T" + hint[1:]
	}
	return Kind{}, fmt.Errorf("there is no kind of figure %q; %s", name, hint)
}

// voice is the index of the named voice, or of the first when name is empty.
func (in *Input) voice(name string) (int, error) {
	if name == "" {
		if len(in.Performance.Piece.Voices) == 0 {
			return 0, fmt.Errorf("the piece has no voice to draw")
		}
		return 0, nil
	}
	var names []string
	for i, v := range in.Performance.Piece.Voices {
		if v.Name == name {
			return i, nil
		}
		names = append(names, v.Name)
	}
	hint := "its voices: " + strings.Join(names, ", ")
	if near, ok := source.Nearest(name, names); ok {
		hint = "did you mean " + near + "? I" + hint[1:]
	}
	return 0, fmt.Errorf("the piece has no voice %q; %s", name, hint)
}
