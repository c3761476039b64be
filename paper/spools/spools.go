// Package spools parts a performance into rolls that go on one spool each.
//
// Its input is a perform.Performance with its instruments; its output a
// roll.Roll for every piano and spool, each with a time and a row 0 of its own.
// All pianos change spools at the same instants, for they share one clock.
// Times are seconds, lengths millimetres, in float64; a note is moved by the
// start of its spool in one subtraction, so a spool is right to the nanosecond.
package spools

import (
	"fmt"
	"iter"
	"math"
	"slices"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
)

// Options say where spools end. The zero value is one spool.
type Options struct {
	LongestMM float64   // music on one spool, at most; 0: any length
	AtSec     []float64 // instants at which a spool ends whatever sounds, in any order
	RestSec   float64   // shortest rest that is looked for; 0: half a second
}

// None reports whether o asks for one spool.
func (o Options) None() bool { return o.LongestMM == 0 && len(o.AtSec) == 0 }

const (
	leastRestSec = 0.5 // a shorter rest is no place to stop: assumed
	breathSec    = 0.5 // a spool begins at most so long before its first note: assumed
)

// Cut is the end of one spool, and the beginning of the next.
type Cut struct {
	AtSec    float64
	RestSec  float64 // length of the rest it lies in; 0: something sounds
	Crossing int     // notes that sound across it and are cut short
}

// Spool is one roll of one piano.
type Spool struct {
	*roll.Roll
	Number, Of     int     // from 1
	FromSec, ToSec float64 // the stretch of the piece; the last ToSec is the piece's end
	Crossing       int     // notes of this piano cut short at ToSec
}

// Rest is a stretch in which no piano sounds.
type Rest struct{ FromSec, ToSec float64 }

// Sec is its length.
func (r Rest) Sec() float64 { return r.ToSec - r.FromSec }

// Rests are the silences of at least leastSec between notes, all pianos
// together, in order. Sound held by a pedal does not count. Events must come in
// the order of perform.Performance.Events.
func Rests(events iter.Seq[event.Event], leastSec float64) []Rest {
	var out []Rest
	end, begun := 0.0, false
	for e := range events {
		if begun && e.StartSec-end >= leastSec {
			out = append(out, Rest{end, e.StartSec})
		}
		end, begun = max(end, e.EndSec, e.StartSec), true
	}
	return out
}

// mostSpools is more than anyone changes in one piece.
const mostSpools = 500

// Cuts finds where spools end. Given places are taken as they are; between
// them spools are as long as LongestMM allows, ending at the last rest within
// reach or, where there is none, at the start of a note in the last fifth of
// the reach across which the fewest notes sound. Each note of a piece begins on
// one of the spools.
func Cuts(f *perform.Performance, instruments []*instrument.Instrument, o Options) ([]Cut, error) {
	c := cutter{f: f, instruments: instruments, o: o, rests: Rests(f.Events(), cmpOr(o.RestSec, leastRestSec))}
	given := slices.Clone(o.AtSec)
	slices.Sort(given)
	given = slices.Compact(given)
	var cuts []Cut
	from := 0.0
	for i, at := range append(given, f.EndSec) {
		last := i == len(given)
		if !last && !(at > 0 && at < f.EndSec) {
			return nil, fmt.Errorf("spools: a spool cannot end at %.3f s; the piece lasts from 0 to %.3f s", at, f.EndSec)
		}
		for o.LongestMM > 0 && c.length(from, at) > o.LongestMM {
			cut, err := c.within(from)
			if err != nil {
				return nil, err
			}
			cuts, from = append(cuts, cut), cut.AtSec
		}
		if !last {
			cuts, from = append(cuts, c.cut(at)), at
		}
		if len(cuts) > mostSpools {
			return nil, fmt.Errorf("spools: the piece would need more than %d spools; let each be longer", mostSpools)
		}
	}
	return cuts, nil
}

func cmpOr(a, b float64) float64 {
	if a != 0 {
		return a
	}
	return b
}

type cutter struct {
	f           *perform.Performance
	instruments []*instrument.Instrument
	o           Options
	rests       []Rest
}

// length is the longest roll of a spool from one time to another.
func (c *cutter) length(from, to float64) float64 {
	most := 0.0
	for _, in := range c.instruments {
		most = max(most, in.Transport.AlongMM(to-from))
	}
	return most
}

// reach is the end of the longest spool that begins at from.
func (c *cutter) reach(from float64) float64 {
	sec := math.Inf(1)
	for _, in := range c.instruments {
		sec = min(sec, in.Transport.Sec(c.o.LongestMM))
	}
	return from + sec
}

// within ends a spool that begins at from at the best place in reach.
func (c *cutter) within(from float64) (Cut, error) {
	reach := c.reach(from)
	for _, r := range slices.Backward(c.rests) {
		if at := inRest(r); at <= reach && at > from+leastSpoolSec {
			return Cut{AtSec: at, RestSec: r.Sec()}, nil
		}
	}
	if reach-from < leastSpoolSec {
		return Cut{}, fmt.Errorf("spools: %.0f mm of paper hold less than %.0f s of music; let a spool be longer",
			c.o.LongestMM, leastSpoolSec)
	}
	return c.fewest(reach-(reach-from)/5, reach), nil
}

// leastSpoolSec is the shortest spool worth changing for: assumed.
const leastSpoolSec = 5.0

// inRest is where in a rest a spool ends: the next begins a breath before its
// first note, or in the middle of a short rest.
func inRest(r Rest) float64 { return r.ToSec - min(breathSec, r.Sec()/2) }

// fewest is the last of the starts of notes from one time to another across
// which the fewest notes sound, or the later time when none starts there.
func (c *cutter) fewest(from, to float64) Cut {
	best, least := to, math.MaxInt
	var ends []float64 // of what sounds
	at := math.Inf(-1) // of the event before
	for e := range c.f.Events() {
		if e.StartSec > to {
			break
		}
		ends = slices.DeleteFunc(ends, func(end float64) bool { return end <= e.StartSec })
		if n := len(ends); e.StartSec >= from && e.StartSec > at && n <= least {
			best, least = e.StartSec, n
		}
		at = e.StartSec
		if e.EndSec > e.StartSec {
			ends = append(ends, e.EndSec)
		}
	}
	return c.cut(best)
}

// cut describes a given place.
func (c *cutter) cut(at float64) Cut {
	out := Cut{AtSec: at}
	for e := range c.f.Events() {
		if e.StartSec >= at {
			break
		}
		if e.EndSec > at {
			out.Crossing++
		}
	}
	for _, r := range c.rests {
		if r.FromSec <= at && at <= r.ToSec {
			out.RestSec = r.Sec()
		}
	}
	return out
}

// Split lays out the spools between the cuts, spool after spool, the pianos of
// each in order. Instruments are taken as they are: roll tempos of the piece
// have to be in them. A note that sounds across a cut ends there; a pedal held
// across it goes on on the next spool. Errors are those of lay.Out.
func Split(f *perform.Performance, instruments []*instrument.Instrument, cuts []Cut) ([]*Spool, error) {
	pedals := lay.Spans(f)
	var out []*Spool
	for i := range len(cuts) + 1 {
		from, to := math.Inf(-1), math.Inf(1)
		if i > 0 {
			from = cuts[i-1].AtSec
		}
		if i < len(cuts) {
			to = cuts[i].AtSec
		}
		spools, err := one(f, instruments, pedals, from, to)
		if err != nil {
			return nil, err
		}
		for _, s := range spools {
			s.Number, s.Of = i+1, len(cuts)+1
		}
		out = append(out, spools...)
	}
	return out, nil
}

// Window lays out the rolls of the stretch from one time to another, as Split
// does; from 0 or before is the beginning, and to at or beyond the end is the
// end.
func Window(f *perform.Performance, instruments []*instrument.Instrument, fromSec, toSec float64) ([]*Spool, error) {
	if fromSec <= 0 {
		fromSec = math.Inf(-1)
	}
	if toSec >= f.EndSec {
		toSec = math.Inf(1)
	}
	return one(f, instruments, lay.Spans(f), fromSec, toSec)
}

// one lays out one spool of every piano, from one time to another; infinite
// times are the piece's own ends.
func one(f *perform.Performance, instruments []*instrument.Instrument, pedals []roll.Span, from, to float64) ([]*Spool,
	error) {
	zero := max(from, 0)
	crossing := make([]int, len(f.Piece.Pianos))
	events := func(yield func(event.Event) bool) {
		for e := range f.Events() {
			if e.StartSec >= to {
				return
			}
			if e.StartSec < from {
				continue
			}
			if e.EndSec > to {
				e.EndSec = to
				crossing[e.Piano]++
			}
			e.StartSec, e.EndSec = e.StartSec-zero, e.EndSec-zero
			if !yield(e) {
				return
			}
		}
	}
	rolls, err := lay.Out(asGiven(f.Piece), events, instruments, lay.Options{Spans: clipped(pedals, from, to, zero)})
	if err != nil {
		return nil, err
	}
	out := make([]*Spool, len(rolls))
	for i, r := range rolls {
		out[i] = &Spool{Roll: r, Number: 1, Of: 1, FromSec: zero, ToSec: min(to, f.EndSec), Crossing: crossing[i]}
	}
	return out, nil
}

// asGiven is the piece without the roll tempos it asks for: the instruments
// have them already, and what else was done to their transport must stay.
func asGiven(p *piece.Piece) *piece.Piece {
	out := *p
	out.Pianos = slices.Clone(p.Pianos)
	for i := range out.Pianos {
		out.Pianos[i].RollTempo = exact.Rat{}
	}
	return &out
}

// clipped are the spans within a stretch, in its own time.
func clipped(spans []roll.Span, from, to, zero float64) []roll.Span {
	var out []roll.Span
	for _, s := range spans {
		s.StartSec, s.EndSec = max(s.StartSec, from)-zero, min(s.EndSec, to)-zero
		if s.EndSec > s.StartSec {
			out = append(out, s)
		}
	}
	return out
}
