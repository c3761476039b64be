// Package piecefile reads the text of a piece to the music it says, writes the text
// of a piece, and changes single attributes in such text.
//
// Parse gives a piece.Piece: every name resolved to an index, every like, let
// and function carried out, cycles written out, all numbers exact (fractions of
// 64 bits, or products of roots). Durations are in units, times in seconds,
// tempos in quarter notes a minute, pitches are keys from 0 to 127.
//
// # Where the language leaves a choice
//
// A canon's voice takes its attributes from these, in this order: what it says
// itself, what the canon says, and the voice it is like: its own like if it has
// one, else the subject. In the same way a voice's own words come before those
// of the voice it is like, and both before those of the piece. Along this way
// line replaces color and talea and they replace a line, tempo and tempo_path
// replace each other, and so do speed and lasts; two that replace each other
// in one block are an error.
//
// The speeds of a canon are speeds as they stand: 4 : 5 is four and five times
// the tempo, unless lasts says how long the canon is; then only their
// proportion counts. A canon without meet has its start as meeting point.
//
// In per_color and per_talea a value that is one number accumulates; brackets,
// several members, or a dynamic mark give the value of each statement in turn.
// Dynamics that accumulate are added to the level, which stays from 1 to 127.
//
// A let may name any value. Its text is read each time as what is wanted there,
// so one name can be a talea in one place and a line in another.
//
// A voice may have a unit of its own. A level after ! may stand in color as in
// line. In a canon's voice lasts is only for canons that have neither lasts nor
// speeds themselves.
//
// A share as a point (2/3) lies between 0 and 1. Times may be negative where
// they count from the start of something. Zero needs no unit.
//
// # Bounds
//
// A file has at most 1 MB, 64 levels of nesting, 10,000 tunes and voices, and
// 500,000 members of cycles after repeating and joining. Different numbers where
// roots are possible cost effort: a file has at most 100,000 fractions, 5,000
// roots, or 100 numbers of more than 12 digits, or a mixture. How many events a
// piece makes is for package perform to bound.
package piecefile

import (
	"fmt"

	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// The bounds of a file.
const (
	maxMembers  = 500_000 // of all cycles together, written out
	maxVoices   = 10_000  // and tunes
	maxErrors   = 100
	maxGroups   = 64  // groups within groups of a cycle
	maxNameSize = 100 // characters of a name
)

// Parse reads a piece. The error is a source.Errors with every mistake that
// could be told apart, in the order of their places, at most 100; then there
// is no piece.
//
// A piece that takes notes from other files is for ParseWith.
func Parse(f *source.File) (*piece.Piece, error) { return ParseWith(f, Options{}) }

// parseWith reads a piece once.
func parseWith(f *source.File, o *Options) (*reader, source.Errors) {
	r, errs := newReader(f)
	r.options = o
	for _, e := range errs {
		r.add(e)
	}
	for _, step := range []func(){r.checkTop, r.readLets, r.readTop, r.readPianos, r.collect, r.claim, r.resolve, r.build,
		r.anchor, r.checkCircles, r.checkEndless} {
		if step(); len(r.errs) >= maxErrors {
			break
		}
	}
	return r, r.errs
}

// Pianos are the pianos of a text that may have mistakes, so that the names of
// instruments can be looked at together with those. What could not be read is
// left out; a name of an instrument may be empty.
func Pianos(f *source.File) []piece.Piano {
	r, _ := newReader(f)
	r.checkTop()
	r.readLets()
	r.readPianos()
	return r.piece.Pianos
}

func newReader(f *source.File) (*reader, source.Errors) {
	body, errs := blocks.Parse(f, blocks.Options{})
	return &reader{
		file:  f,
		body:  body,
		piece: &piece.Piece{File: f},
		known: map[*source.Error]bool{},
		lets:  map[string]*blocks.Attr{},
		names: map[string]*named{},
		made:  map[letKey]*made{},

		numbers: map[string]real64{},
		named:   map[string]*blocks.Block{},
	}, errs
}

// reader is the state of Parse.
type reader struct {
	file    *source.File
	body    *blocks.Body
	options *Options
	piece   *piece.Piece
	errs    source.Errors
	known   map[*source.Error]bool // complaints already in errs
	said    piece.Mistakes

	lets     map[string]*blocks.Attr
	made     map[letKey]*made       // lets already carried out
	asked    map[*blocks.Value]bool // every "?" where one may stand, and whether it is a voice's
	defaults settings               // tempo, unit, hold and dynamics of the piece
	nodes    []*node                // tunes and voices in the order of the text
	canons   []*canon
	sounding []*node                  // the voices, by their index in the piece
	names    map[string]*named        // of voices, tunes and canons
	sections []*section               // by their index in the piece
	named    map[string]*blocks.Block // the sections by their names
	refs     []*reference
	members  int               // of cycles so far
	unfound  error             // why notes of another file are not there, the last
	spent    *source.Error     // the complaint that numbers took too much effort
	many     *source.Error     // the complaint about too many voices
	effort   int               // spent on numbers so far
	numbers  map[string]real64 // those already read

	reading      *node     // whose attributes are being read; nil: none's
	readingCanon *canon    // likewise
	copying      *copying  // the section that is being copied; nil: none
	marks        *markList // of bars, in the text that is being read; nil: they are blanks
	scene        *scene    // for whom series are made; nil: for nobody yet
	late         bool      // what was made depends on the scene
}

// add keeps a complaint, once; nil is none. It reports whether there was none.
func (r *reader) add(e *source.Error) bool {
	if e == nil {
		return true
	}
	return r.addOf(nil, 0, e)
}

// addOf is add for a complaint about what a voice says of an attribute, or takes
// over.
func (r *reader) addOf(v *piece.Voice, a attr, e *source.Error) bool {
	if !r.known[e] && len(r.errs) < maxErrors {
		r.known[e] = true
		if r.said.Add(e, v, forms[a].name) {
			r.errs = append(r.errs, e)
		}
	}
	return false
}

func (r *reader) addAll(es source.Errors) {
	for _, e := range es {
		r.add(e)
	}
}

// full reports whether enough complaints have come together.
func (r *reader) full() bool { return len(r.errs) >= maxErrors }

// mostNames are compared with a wrong one, so that a long list of those stays quick.
const mostNames = 500

// nearest is a hint with the name that was probably meant, else with the names
// that there are.
func nearest(word string, names []string, none string) string {
	names = names[:min(len(names), mostNames)]
	if near, ok := source.Nearest(word, names); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	switch len(names) {
	case 0:
		return none
	case 1:
		return fmt.Sprintf("there is only %q", names[0])
	}
	const shown = 8
	list := ""
	for i, name := range names[:min(len(names), shown)] {
		if i > 0 {
			list += ", "
		}
		list += fmt.Sprintf("%q", name)
	}
	if len(names) > shown {
		list += ", ..."
	}
	return "there are " + list
}
