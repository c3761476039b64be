package workshop

import (
	"rollwright/paper/instrument"
	"rollwright/paper/spools"
)

// LongPage says how a PDF is paged.
type LongPage string

// The ways of paging. A long page is over the limit of 200 inches that older
// readers have; each flavour is read by readers that fail on the other.
const (
	Tiled     LongPage = ""      // sheets for a printer
	LongUnit  LongPage = "unit"  // one page, keeping the limit by a larger unit
	LongPlain LongPage = "plain" // one page, passing the limit
)

// Options say how outputs are written. The zero value is good.
type Options struct {
	Piano       string // only this piano's roll; empty: every piano's
	Letter      bool   // tiles on Letter paper, else A4
	MarginMM    float64
	OverlapMM   float64
	ScaleAlong  float64 // 0: 1
	ScaleAcross float64
	Names       bool // the ports' names
	Back        bool // the face that lies on the bar
	Leader      bool // all of leader and trailer on long drawings
	Long        LongPage
	Outlines    bool // svg: slots as closed outlines
	Punches     bool // csv: every punch in place of every slot

	// Of pictures, figures, scores and sounds.
	FromSec, ToSec float64  // the stretch shown or heard; both 0: all
	Voices         []string // the voices shown or heard: none for all, or for the one that suits a figure

	// Of a picture (png).
	Bar, Dark bool // with the tracker bar, on a dark bench
	WidthPX   int  // 0: 2000
	Strips    int  // the stretch in so many strips; 0: as many as look well
	untitled  bool

	Again bool // a built folder: replace what was changed by hand or comes from another piece

	Making
	Machining
	Explaining
	Filming
	Sound Listening // its voices and stretch are those above
}

// Making says how rolls are made: at which bench, on how many spools, on paper
// of what size. The zero value is whole rolls on paper that does not change.
type Making struct {
	Bench     string // built-in profile, or path of a file; empty: the default one, its die left out of account
	Worksheet bool   // pdf, csv: the rows to punch by hand in place of the roll
	Labels    bool   // pdf: the labels of all rolls in place of the rolls
	Date      string // of labels: when the rolls were punched, 2026-11-30; empty: room to write it

	TrialMM float64 // the worst places on a strip of at most so much paper, in place of the rolls; 0: the rolls
	Spools  spools.Options
	Spool   int // only this spool, from 1; 0: all
	Pair    spools.Pair
	Stretch instrument.Stretch
}

// plain reports whether rolls are as the piece alone makes them.
func (m *Making) plain() bool {
	return m.Bench == "" && m.Spools.None() && m.Stretch.None() && m.TrialMM == 0
}

// Machining says which machine cuts the rolls, and how many are wanted, by machine or
// by hand.
type Machining struct {
	Machine string // built-in profile, or path of a file; empty: none
	Copies  int    // 0: 1
}

// Explaining says which figure is written in place of the roll.
type Explaining struct {
	Figure   string    // kind; empty: none
	Compared [2]string // the two voices that are compared
	Slide    bool      // for a projector; else for a page
	BlackInk bool      // black and greys alone
	Plain    bool      // pitch series and rhythm series for color and talea
	Language string    // "", one of words.Languages, or the path of a language file
	Score    bool      // a time-space score in place of a figure
	OneTempo string    // notation with all parts in one tempo, times rounded to this note value; empty: each in its own
	Kit      bool      // sheets to cut out in place of a figure
}

// Filming says how a film looks, beside Dark.
type Filming struct {
	Square    bool // for sharing; else wide
	FrameRate int  // pictures a second, 30 or 60; 0: 30
}

// listening is what o asks to be heard.
func (o *Options) listening() Listening {
	l := o.Sound
	l.Voices, l.FromSec, l.ToSec = o.Voices, o.FromSec, o.ToSec
	return l
}
