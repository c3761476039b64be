package perform

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// resolver finds lengths, speeds and places of voices in the order in which
// they wait for each other. What waits for something is a node; a node that is
// met again while it is being worked out is a circle.
type resolver struct {
	piece    *piece.Piece
	options  Options
	lines    []*Line
	canons   []canonState
	sections []amount   // where each starts, in the piece's nominal time
	unit     exact.Real // seconds in a unit of the piece
	whole    *bend      // by the piece's path; nil: none
	bends    []*bend    // by the sections'; nil: none
	inside   [][]int    // the voices of each section
	errs     source.Errors
	said     piece.Mistakes

	found   []Found       // what voices asked for
	untold  source.Errors // of the last trial of a number
	missing missingPoint  // likewise

	state map[node]progress
	stack []node // being worked out

	items int  // that have been measured, of all voices
	notes int  // of the voices that are measured
	full  bool // a bound was passed and a complaint made; no more of those
}

// canonState is what the voices of a canon share.
type canonState struct {
	factor      exact.Real // by which lasts multiplies the speeds
	factorExact bool
	start       map[int]amount // of each voice, by its index
}

// node is one thing to be found.
type node struct {
	kind  nodeKind
	index int
}

type nodeKind int8

const (
	lengthOf  nodeKind = iota // how long a voice goes on, in units
	speedOf                   // of a voice
	startOf                   // of a voice
	factorOf                  // of a canon
	placeOf                   // of a canon
	sectionAt                 // where a section starts
	unknownOf                 // what a voice asks for
)

type progress int8

const (
	untouched progress = iota
	busy
	done
	failed
)

func newResolver(p *piece.Piece, o Options) *resolver {
	r := &resolver{
		piece: p, options: o,
		canons:   make([]canonState, len(p.Canons)),
		sections: make([]amount, len(p.Sections)),
		bends:    make([]*bend, len(p.Sections)),
		unit:     p.SecondsPerUnit(),
		inside:   make([][]int, len(p.Sections)),
		state:    map[node]progress{},
	}
	r.findBends()
	for i := range p.Voices {
		v := &p.Voices[i]
		if v.Section >= 0 {
			r.inside[v.Section] = append(r.inside[v.Section], i)
		}
		r.lines = append(r.lines, &Line{Voice: i, voice: v, material: newMaterial(v, o.fastest(v.Piano))})
	}
	return r
}

func (r *resolver) resolveAll() {
	for i := range r.lines {
		r.need(node{lengthOf, i})
		r.need(node{speedOf, i})
		r.need(node{startOf, i})
	}
	slices.SortFunc(r.found, func(f, g Found) int { return cmp.Compare(f.Voice, g.Voice) })
}

// need works out a node unless that has been done, and reports whether it is
// known. The complaint about one that is not has been made.
func (r *resolver) need(n node) bool {
	switch r.state[n] {
	case done:
		return true
	case failed:
		return false
	case busy:
		r.circle(n)
		return false
	}
	r.state[n] = busy
	r.stack = append(r.stack, n)
	ok := r.find(n)
	r.stack = r.stack[:len(r.stack)-1]
	r.state[n] = failed
	if ok {
		r.state[n] = done
	}
	return ok
}

func (r *resolver) find(n node) bool {
	if !r.knows(n) {
		return false
	}
	switch n.kind {
	case unknownOf:
		return r.findUnknown(n.index)
	case lengthOf:
		return r.findLength(r.lines[n.index])
	case speedOf:
		return r.findSpeed(r.lines[n.index])
	case startOf:
		return r.findStart(r.lines[n.index])
	case factorOf:
		return r.findFactor(n.index)
	case placeOf:
		return r.findCanonPlace(n.index)
	}
	return r.findSection(n.index)
}

// circle complains about nodes that wait for each other, at the first of them.
func (r *resolver) circle(n node) {
	i := len(r.stack) - 1
	for r.stack[i] != n {
		i--
	}
	circle := r.stack[i:]
	var b strings.Builder
	b.WriteString(r.describe(n))
	for i, m := range append(circle[1:len(circle):len(circle)], n) {
		if i > 0 {
			b.WriteString(", and that")
		}
		b.WriteString(" depends on " + r.describe(m))
	}
	places, attributes := r.placesOf(n)
	r.complain(places, attributes, "round in a circle: "+b.String(), "give one of them without the others")
}

func (r *resolver) describe(n node) string {
	switch n.kind {
	case unknownOf:
		return fmt.Sprintf("%s of %s", r.lines[n.index].voice.Unknown.Attribute(), r.voiceName(n.index))
	case lengthOf:
		return "how long " + r.voiceName(n.index) + " goes on"
	case speedOf:
		return "the speed of " + r.voiceName(n.index)
	case startOf:
		return "where " + r.voiceName(n.index) + " starts"
	case factorOf:
		return fmt.Sprintf("the speeds of canon %q", r.piece.Canons[n.index].Name)
	case placeOf:
		return fmt.Sprintf("where canon %q starts", r.piece.Canons[n.index].Name)
	}
	return fmt.Sprintf("where section %q starts", r.piece.Sections[n.index].Name)
}

// placesOf is where in the text a node is said: the first of the attributes
// that is there.
func (r *resolver) placesOf(n node) (piece.Places, []string) {
	switch n.kind {
	case unknownOf:
		return piece.Places{"": r.lines[n.index].voice.Unknown.At}, nil
	case lengthOf:
		return r.lines[n.index].voice.Places, []string{"extent"}
	case speedOf:
		return r.lines[n.index].voice.Places, []string{"lasts"}
	case startOf:
		return r.lines[n.index].voice.Places, []string{"start", "meet"}
	case factorOf:
		return r.piece.Canons[n.index].Places, []string{"lasts"}
	case placeOf:
		return r.piece.Canons[n.index].Places, []string{"meet"}
	}
	return r.piece.Sections[n.index].Places, []string{"start"}
}

func (r *resolver) voiceName(i int) string { return fmt.Sprintf("%q", r.piece.Voices[i].Name) }

func (r *resolver) refName(ref piece.Ref) string {
	if ref.Voice >= 0 {
		return r.voiceName(ref.Voice)
	}
	return fmt.Sprintf("%q", r.piece.Canons[ref.Canon].Name)
}

// complain adds a complaint at the first of the attributes that the block
// gives, else at the block.
func (r *resolver) complain(places piece.Places, attributes []string, problem, hint string) {
	r.complainOf(nil, places, attributes, problem, hint)
}

// voiceComplaint is complain for an attribute of a line's voice.
func (r *resolver) voiceComplaint(l *Line, attribute, problem, hint string) bool {
	r.complainOf(l, l.voice.Places, []string{attribute}, problem, hint)
	return false
}

// complainOf is complain where the problem names the voice of a line, so that
// several lines can have it. No line is none.
func (r *resolver) complainOf(l *Line, places piece.Places, attributes []string, problem, hint string) {
	at, attribute := places.Of(""), ""
	for _, name := range attributes {
		if pos, ok := places[name]; ok {
			at, attribute = pos, name
			break
		}
	}
	var voice *piece.Voice
	if l != nil {
		voice = l.voice
	}
	e := &source.Error{File: r.piece.File, At: at, Problem: problem, Hint: hint}
	if r.said.Add(e, voice, attribute) {
		r.errs = append(r.errs, e)
	}
}

// duration is how long a line lasts in seconds.
func (r *resolver) duration(l *Line) (amount, bool) {
	if !r.need(node{lengthOf, l.Voice}) || !r.need(node{speedOf, l.Voice}) {
		return amount{}, false
	}
	return l.clock.of(l.length), true
}

// longest is how long a voice lasts, or the longest voice of a canon.
func (r *resolver) longest(ref piece.Ref) (amount, bool) {
	return r.latest(ref, r.duration)
}

// end is when a voice ends, or the last voice of a canon, in the time of the line that
// asks.
func (r *resolver) end(asker *Line, ref piece.Ref) (amount, bool) {
	return r.latest(ref, func(l *Line) (amount, bool) {
		end, ok := r.endOf(l)
		if !ok {
			return end, false
		}
		return r.seenFrom(r.frameOf(asker.voice.Section), l, end)
	})
}

// begin is when a voice begins, or the first voice of a canon, in the time of the line that
// asks.
func (r *resolver) begin(asker *Line, ref piece.Ref) (amount, bool) {
	earliest, ok := r.latest(ref, func(l *Line) (amount, bool) {
		if !r.need(node{startOf, l.Voice}) {
			return amount{}, false
		}
		begin, ok := r.seenFrom(r.frameOf(asker.voice.Section), l, l.placed)
		return begin.neg(), ok
	})
	return earliest.neg(), ok
}

// endOf is when a line ends in its own frame.
func (r *resolver) endOf(l *Line) (amount, bool) {
	if !r.need(node{startOf, l.Voice}) {
		return amount{}, false
	}
	duration, ok := r.duration(l)
	if !ok {
		return amount{}, false
	}
	return l.placed.add(duration), true
}

func (r *resolver) latest(ref piece.Ref, of func(*Line) (amount, bool)) (amount, bool) {
	if ref.Voice >= 0 {
		return of(r.lines[ref.Voice])
	}
	return r.maximum(r.piece.Canons[ref.Canon].Voices, of)
}

// maximum is the largest of what is found for several voices.
func (r *resolver) maximum(voices []int, of func(*Line) (amount, bool)) (amount, bool) {
	var largest amount
	all := true
	for i, voice := range voices {
		a, ok := of(r.lines[voice])
		all = all && ok
		if ok && (i == 0 || !all || a.cmp(largest) > 0) {
			largest = a
		}
	}
	return largest, all && len(voices) > 0
}

// ratio is a/b as a Real: exact where both are products of roots, else within
// 2^-100. It is false when either is 0.
func ratio(a, b amount) (x exact.Real, isExact, ok bool) {
	if a.value().Sign() <= 0 || b.value().Sign() <= 0 {
		return exact.Real{}, false, false
	}
	if a.exact() && b.exact() {
		x, okA := a.sum.Real()
		y, okB := b.sum.Real()
		if okA && okB {
			return x.Quo(y), true, true
		}
	}
	return realNear(new(big.Float).SetPrec(workPrec).Quo(a.value(), b.value())), false, true
}
