package perform

import (
	"fmt"
	"math/big"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/solve"
)

// knows works out what a voice asks for, or takes over from an answer, before
// the node that needs it.
func (r *resolver) knows(n node) bool {
	if n.kind > startOf {
		return true
	}
	v := r.lines[n.index].voice
	ok := true
	for _, c := range v.Copied {
		if n.kind != lengthOf || lengthens(c.Unknown) {
			ok = r.take(v, c) && ok
		}
	}
	if v.Unknown.Kind == piece.NoUnknown || n.kind == lengthOf && !lengthens(v.Unknown) {
		return ok
	}
	return r.need(node{unknownOf, n.index}) && ok
}

// lengthens reports whether a number changes how many units a voice has.
func lengthens(u piece.Unknown) bool {
	return u.Kind == piece.UnknownStretch || u.Kind == piece.UnknownEachNote
}

// take puts an answer of another voice into v.
func (r *resolver) take(v *piece.Voice, c piece.Copied) bool {
	if !r.need(node{unknownOf, c.From}) {
		return false
	}
	x, _ := r.piece.Voices[c.From].Number(c.Unknown)
	*v, _ = v.With(c.Unknown, x)
	return true
}

// findUnknown finds what a voice asks for: by itself, or with those that ask in
// a circle with it.
func (r *resolver) findUnknown(i int) bool {
	v := r.lines[i].voice
	for _, c := range v.Copied {
		if !r.take(v, c) {
			return false
		}
	}
	switch group := r.circleOf(i); {
	case v.Canon >= 0 && len(r.piece.Canons[v.Canon].Cross) > 0:
		return r.need(node{placeOf, v.Canon})
	case v.Canon >= 0:
		return r.findInCanon(i)
	case len(group) > 1:
		return r.findTogether(group)
	}
	return r.findAlone(i)
}

// settle writes an answer into its voice; whichever way it was found.
func (r *resolver) settle(i int, x answer) bool {
	l := r.lines[i]
	u := l.voice.Unknown
	least, most := u.Bounds()
	if size := x.value.Float64(); !(size >= least && size <= most) {
		return r.unanswered(i, fmt.Sprintf("%s of %q would have to be %s; it goes from %s to %s",
			u.Attribute(), l.voice.Name, plainNumber(size), plainNumber(least), plainNumber(most)), "")
	}
	changed, ok := l.voice.With(u, x.value)
	if !ok {
		return r.unanswered(i, fmt.Sprintf("%s of %q would have to be %s, which is no fraction", u.Attribute(), l.voice.Name,
			x.value), "")
	}
	*l.voice = changed
	r.state[node{unknownOf, i}] = done
	f := Found{Voice: i, Unknown: u, Value: x.value, Exact: x.exact, Conditions: changed.Conditions}
	if changed.Canon >= 0 {
		f.Cross = r.piece.Canons[changed.Canon].Cross
	}
	r.found = append(r.found, f)
	return true
}

// unanswered complains at the voice's unknown.
func (r *resolver) unanswered(i int, problem, hint string) bool {
	r.complain(piece.Places{"": r.lines[i].voice.Unknown.At}, nil, problem, hint)
	return false
}

// answer is a number as it is put in the place of "?".
type answer struct {
	value exact.Real
	exact bool
}

// answerOf is the number as an answer: exact where it is one product, else
// rounded to 18 digits. False says that it is not more than 0.
func answerOf(n solve.Number) (answer, bool) {
	if n.Sign() <= 0 {
		return answer{}, false
	}
	if s, ok := n.Exact(); ok {
		if x, ok := s.Real(); ok {
			return answer{x, true}, true
		}
	}
	return roundedAnswer(n.Float()), true
}

func roundedAnswer(x *big.Float) answer {
	_, r := rounded(x)
	value, err := exact.FromRat(r)
	if err != nil {
		value = realNear(x) // 18 digits always have small enough factors
	}
	return answer{value: value}
}

// alone is a resolver that knows one voice only, placed at 0, with a number in
// the place of its unknown: for how long it is and where its points fall.
func (r *resolver) alone(v piece.Voice) *resolver {
	v.Unknown, v.Conditions, v.Copied = piece.Unknown{}, nil, nil
	var sections []piece.Section
	if v.Section >= 0 { // whose speed is as much a matter of the voice as its own
		sections = []piece.Section{{Speed: r.sectionSpeed(v.Section), HasStart: true}}
		v.Section = 0
	}
	v.Place, v.Lasts, v.Canon = piece.Place{}, piece.Lasts{}, -1
	p := *r.piece
	p.Voices, p.Canons, p.Sections = []piece.Voice{v}, nil, sections
	return newResolver(&p, r.options)
}

// trial is where the points of a voice fall, in seconds from its start, with x
// for what it asks for. Numbers that it takes over have to be in it already.
// Complaints about the voice itself, or about a point that it has not, are kept.
func (r *resolver) trial(v *piece.Voice, x exact.Real, points []namedPoint) ([]amount, bool) {
	return r.trialOf(v, x, points, func(l *Line, units amount) amount { return l.clock.of(units) })
}

// trialOf is trial with a clock of the caller's.
func (r *resolver) trialOf(v *piece.Voice, x exact.Real, points []namedPoint, of func(*Line, amount) amount) ([]amount,
	bool) {
	changed, ok := v.With(v.Unknown, x)
	if !ok {
		return nil, false
	}
	a := r.alone(changed)
	l := a.lines[0]
	ok = a.need(node{lengthOf, 0}) && a.need(node{speedOf, 0})
	r.untold = append(r.untold[:0], a.errs...)
	if !ok {
		return nil, false
	}
	out := make([]amount, len(points))
	for i, p := range points {
		units, problem, ok := a.point(l, p.Point)
		if problem != "" {
			r.missing = missingPoint{problem, p.places}
		}
		if !ok {
			return nil, false
		}
		out[i] = of(l, units)
	}
	return out, true
}

// missingPoint is a point that a voice has not, and where the text names it.
type missingPoint struct {
	problem string
	places  piece.Places
}

// namedPoint is a point of a voice and where the text names it.
type namedPoint struct {
	piece.Point
	places piece.Places
}

// failure tells why trial could not find the points of a voice.
func (r *resolver) failure(i int) bool {
	if r.missing.problem != "" {
		r.complain(r.missing.places, []string{"meet.mine", "meet"}, r.missing.problem, "")
		r.missing = missingPoint{}
		return false
	}
	for _, e := range r.untold {
		if r.said.Add(e, r.lines[i].voice, "") {
			r.errs = append(r.errs, e)
		}
	}
	if len(r.untold) == 0 {
		return r.unanswered(i, fmt.Sprintf("nothing can be said of %q", r.lines[i].voice.Name), "")
	}
	return false
}

// number is an amount as package solve has it.
func number(a amount) solve.Number {
	if a.exact() {
		return solve.Exactly(a.sum)
	}
	return solve.About(a.approx)
}
