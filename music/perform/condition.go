package perform

import (
	"fmt"
	"math"

	"rollwright/exact"
	"rollwright/music/piece"
)

// instant is when the own point of a place falls, seconds as in the file: the
// point that it meets, the end that it waits for, or a time.
func (r *resolver) instant(l *Line, p piece.Place, places piece.Places) (amount, bool) {
	switch p.Kind {
	case piece.After:
		end, ok := r.end(l, p.Ref)
		return end.add(r.time(l.voice.Section, p.At, p.Units)), ok
	case piece.With:
		begin, ok := r.begin(l, p.Ref)
		return begin.add(r.time(l.voice.Section, p.At, p.Units)), ok
	case piece.MeetWith:
		other := r.lines[p.Ref.Voice]
		if !r.need(node{startOf, p.Ref.Voice}) {
			return amount{}, false
		}
		theirs, ok := r.offsetFor(other, p.Theirs, places, "meet.theirs")
		at, fits := r.seenFrom(r.frameOf(l.voice.Section), other, other.placed.add(theirs))
		return at.add(r.laterBy(l.voice.Section, &p)), ok && fits
	}
	base, ok := r.base(l.voice.Section)
	return base.add(r.time(l.voice.Section, p.At, p.Units)).add(r.laterBy(l.voice.Section, &p)), ok
}

// mine is the point of a voice that its place speaks of.
func mine(p piece.Place) piece.Point {
	if p.Kind == piece.MeetWith || p.Kind == piece.MeetAt {
		return p.Mine
	}
	return piece.Point{}
}

// offsetFor is offset where a condition names the point.
func (r *resolver) offsetFor(l *Line, p piece.Point, places piece.Places, attribute string) (amount, bool) {
	units, problem, ok := r.point(l, p)
	if problem != "" {
		r.complain(places, []string{attribute, "meet"}, problem, "")
	}
	return r.offsetAt(l, p, units, ok)
}

// lastsSec is how long a voice is asked to last.
func (r *resolver) lastsSec(section int, wanted piece.Lasts) (amount, bool) {
	if wanted.Sec.Sign() > 0 {
		return r.time(section, wanted.Sec, exact.Rat{}), true
	}
	return r.longest(wanted.As)
}

// kept is within how many seconds conditions beside a known number are kept: an
// answer of 18 digits that was written into the text keeps them.
const kept = 1e-9

// verify looks at the conditions of voices whose numbers are known: the first
// one puts the voice in its place, the others have to agree with it.
func (r *resolver) verify() {
	asked := map[int]bool{}
	for _, f := range r.found {
		asked[f.Voice] = true
	}
	for _, l := range r.lines {
		if asked[l.Voice] || l.voice.Canon >= 0 && len(r.piece.Canons[l.voice.Canon].Cross) > 0 {
			continue
		}
		for _, c := range l.voice.Conditions {
			r.verifyOne(l, c)
		}
	}
}

func (r *resolver) verifyOne(l *Line, c piece.Condition) {
	if c.Lasts.Set {
		have, ok1 := r.duration(l)
		want, ok2 := r.lastsSec(l.voice.Section, c.Lasts)
		if late := have.sub(want).float64(); ok1 && ok2 && math.Abs(late) >= kept {
			r.complain(c.Places, []string{"lasts"}, fmt.Sprintf("%q lasts %s, not %s", l.voice.Name, secText(have),
				secText(want)),
				"its speed is given: delete one of the two, or ask for it: speed = \"?\"")
		}
		return
	}
	if !r.need(node{startOf, l.Voice}) {
		return
	}
	at, ok1 := r.offsetFor(l, mine(c.Place), c.Places, "meet.mine")
	want, ok2 := r.instant(l, c.Place, c.Places)
	if !ok1 || !ok2 {
		return
	}
	if late := l.placed.add(at).sub(want); math.Abs(late.float64()) >= kept {
		r.complain(c.Places, []string{"meet", "start"}, fmt.Sprintf("%q cannot keep this too: its %s falls %s",
			l.voice.Name, pointText(mine(c.Place)), r.offBy(late, c.Place)),
			fmt.Sprintf("what stands in line %d puts the voice in its place: delete one of the two,\nor ask for a number that keeps both: speed = \"?\"", r.placedBy(l, c)))
	}
}

// placedBy is the line of what puts a voice in its place when it is not c.
func (r *resolver) placedBy(l *Line, c piece.Condition) int {
	if l.voice.Canon >= 0 {
		return r.piece.Canons[l.voice.Canon].Places.Of("meet").Line
	}
	for _, other := range l.voice.Conditions {
		if !other.Lasts.Set && other.Places.Of("") != c.Places.Of("") {
			return other.Places.Of("").Line
		}
	}
	return l.voice.Places.Of("").Line
}

// offBy says how far from what it should meet a point falls, and what that is.
func (r *resolver) offBy(late amount, p piece.Place) string {
	size, side := late, "after"
	if late.float64() < 0 {
		size, side = late.neg(), "before"
	}
	return fmt.Sprintf("%s %s %s", secText(size), side, r.meetsWhat(p))
}

// meetsWhat is what the point of a place falls on, in words.
func (r *resolver) meetsWhat(p piece.Place) string {
	switch p.Kind {
	case piece.After:
		return "the end of " + r.refName(p.Ref)
	case piece.With:
		return "the start of " + r.refName(p.Ref)
	case piece.MeetWith:
		return fmt.Sprintf("%s of %s", pointText(p.Theirs), r.voiceName(p.Ref.Voice))
	}
	return secText(r.time(-1, p.At, p.Units))
}

// pointText is a point as the text of a piece names it.
func pointText(p piece.Point) string {
	switch p.Kind {
	case piece.AtEnd:
		return "end"
	case piece.AtNote:
		return fmt.Sprintf("note %d", p.N)
	case piece.AtNoteEnd:
		return fmt.Sprintf("note %d end", p.N)
	case piece.AtUnit:
		return "unit " + p.X.String()
	case piece.AtShare:
		return p.X.String() + " of the length"
	}
	return "start"
}

// secText is a time to the microsecond, or to three digits where it is less.
func secText(a amount) string {
	x := a.float64()
	if math.Abs(x) >= 1e-3 || x == 0 {
		x = math.Round(x*1e6) / 1e6
	}
	return plainNumber(x) + " s"
}

// circleOf are the voices that depend on voice i and on which it depends, itself
// included, in file order: through what unknowns have to do, and where voices
// that meet them stand.
func (r *resolver) circleOf(i int) []int {
	reaches := func(from int) map[int]bool {
		seen := map[int]bool{}
		var visit func(int)
		visit = func(j int) {
			for _, k := range r.leansOn(j) {
				if !seen[k] {
					seen[k] = true
					visit(k)
				}
			}
		}
		visit(from)
		return seen
	}
	out := []int{}
	for j := range r.lines {
		if j == i || r.piece.Voices[j].Canon < 0 && reaches(i)[j] && reaches(j)[i] {
			out = append(out, j)
		}
	}
	return out
}

// leansOn are the voices that the place or the unknown of voice i names.
func (r *resolver) leansOn(i int) []int {
	v := r.lines[i].voice
	places := []piece.Place{v.Place}
	var out []int
	if v.Unknown.Kind != piece.NoUnknown {
		places = nil
		for _, c := range v.Conditions {
			if !c.Lasts.Set {
				places = append(places, c.Place)
			} else if c.Lasts.Sec.Sign() <= 0 {
				out = append(out, r.voicesOf(c.Lasts.As)...)
			}
		}
	}
	for _, p := range places {
		if names(p) {
			out = append(out, r.voicesOf(p.Ref)...)
		}
	}
	return out
}

// names reports whether a place names a voice or a canon.
func names(p piece.Place) bool {
	return p.Kind == piece.After || p.Kind == piece.With || p.Kind == piece.MeetWith
}

func (r *resolver) voicesOf(ref piece.Ref) []int {
	if ref.Voice >= 0 {
		return []int{ref.Voice}
	}
	return r.piece.Canons[ref.Canon].Voices
}

// conditionError places a complaint at a condition.
func (r *resolver) conditionError(c piece.Condition, problem, hint string) bool {
	r.complain(c.Places, []string{"meet", "start", "lasts"}, problem, hint)
	return false
}
