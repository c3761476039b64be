// Package perform turns a piece into events: which key of which piano is
// struck when, for how long and how loud.
//
// A voice is made in twelve steps: (1) its cycles are written out and rotated; (2) color,
// dynamics, hold and the items' own are laid on the sounding items of the talea; (3)
// per_color, then per_talea change the statements; (4) stretch and each_note change the
// durations; (5) the voice is cut at its extent; (6) it is mirrored, then transposed; (7) it
// is turned backward; (8) units become seconds; (9) it is put in its place; (10) its
// section's speed, its section's tempo path and the piece's bend its time; (11) notes are
// held, gestures struck; (12) loudness paths are added. Then the whole piece is moved so
// that nothing sounds before 0.
//
// Places in a voice are in units from its start, times in seconds from the
// piece's start. Places are whole numbers of a step where all durations have a
// common measure (Line.Lattice gives them), else sums of some 106 bits. Where a
// voice starts is exact as long as it follows from fractions and roots. Times
// of a constant tempo are rounded once, to the nearest float64; times along a
// tempo path have the error of tempo.Path.Seconds, a fifth of a nanosecond in
// ten hours. Nanoseconds rounds times for sorting and for print.
package perform

import (
	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// Options are what a performance depends on besides the piece.
type Options struct {
	// MaxEvents is how many events the piece may have; 0 means
	// DefaultMaxEvents. Silences are bounded too, at four times that.
	MaxEvents int
	// Fastest is how many strokes a second a piano can repeat, for repeat(C4
	// fastest); piano is an index into piece.Piece.Pianos. Nil, or a result
	// that is not more than 0, means DefaultFastest.
	Fastest func(piano int) float64
	// FastestHold is how many seconds each of these strokes sounds. Nil, or a
	// result that is not more than 0, leaves that to the voice's hold.
	FastestHold func(piano int) float64
}

const (
	// DefaultMaxEvents is the bound on events when Options say nothing.
	DefaultMaxEvents = 5_000_000
	// DefaultFastest is a repetition that good actions play, in strokes a
	// second (D. Wilson, Mechanical Music Digest 1998.05.29.06: 12 to 13).
	DefaultFastest = 12
)

func (o Options) maxEvents() int {
	if o.MaxEvents > 0 {
		return min(o.MaxEvents, 1<<28)
	}
	return DefaultMaxEvents
}

// repetition is how a piano repeats as fast as it can.
type repetition struct {
	everySec float64
	holdSec  float64 // 0: as the voice holds
}

func (o Options) fastest(piano int) repetition {
	r := repetition{everySec: 1.0 / DefaultFastest}
	if o.Fastest != nil {
		if f := o.Fastest(piano); f > 0 {
			r.everySec = 1 / f
		}
	}
	if o.FastestHold != nil {
		r.holdSec = max(o.FastestHold(piano), 0)
	}
	return r
}

// Performance is a piece, its unknowns found, with everything settled but the single events, which
// Events makes.
type Performance struct {
	Piece *piece.Piece
	Lines []*Line // one a voice, same index
	Count int     // of events
	Found []Found // what voices asked for, in file order; Piece has the answers in their place

	// ShiftSec is by how much the whole piece was moved later so that nothing
	// sounds before 0, and Shift the same exactly, when ShiftExact.
	// ShiftVoice is the index of the voice that asked for it; -1: none.
	ShiftSec   float64
	Shift      exact.Sum
	ShiftExact bool
	ShiftVoice int

	resolver *resolver // which found all that

	EndSec float64 // the latest end of a written duration

	Sections []Span // of the piece's sections, same index
}

// Span is when a section begins and ends.
type Span struct {
	Start      exact.Sum // in seconds of the piece, after the shift; when StartExact
	StartExact bool
	StartSec   float64 // the same, nearest
	NominalSec float64 // as the file counts it
	EndSec     float64 // the latest end of a written duration in it
}

// New settles how long every voice is, how fast and where. An error is a
// source.Errors: all that is wrong with the piece, each with its place.
func New(p *piece.Piece, o Options) (*Performance, error) {
	if errs := check(p); len(errs) > 0 {
		return nil, errs.Err()
	}
	p = asked(p)
	r := newResolver(p, o)
	if len(r.errs) == 0 {
		r.resolveAll()
		r.verify()
	}
	if len(r.errs) > 0 {
		return nil, r.errs.Err()
	}
	answered(p)
	perf := &Performance{Piece: p, Lines: r.lines, Found: r.found, resolver: r, ShiftVoice: -1, ShiftExact: true}
	perf.shift(r)
	perf.spans(r)
	perf.close(r)
	return perf, r.errs.Err()
}

// check refuses what no text gives: a piece built by a program that lacks
// what every voice needs.
func check(p *piece.Piece) source.Errors {
	var errs source.Errors
	complain := func(at source.Pos, problem string) {
		errs = append(errs, &source.Error{File: p.File, At: at, Problem: problem})
	}
	for i := range p.Voices {
		v := &p.Voices[i]
		sounding := false
		positive := v.Unit.Sign() > 0
		for _, d := range v.Talea {
			sounding = sounding || !d.Silent
			positive = positive && d.Units.Sign() > 0
		}
		keys := len(v.Color) > 0
		for _, c := range v.Color {
			keys = keys && len(c.Keys) > 0
		}
		switch {
		case !sounding:
			complain(v.Places.Of("talea"), "the talea has no sounding item")
		case !positive:
			complain(v.Places.Of("talea"), "a duration or the unit is not more than 0")
		case !keys:
			complain(v.Places.Of("color"), "the color is empty, or a member of it has no key")
		case v.Piano < 0 || v.Piano >= max(len(p.Pianos), 1):
			complain(v.Places.Of("piano"), "there is no such piano")
		}
	}
	return errs
}
