package perform

import (
	"fmt"
	"slices"

	"rollwright/music/piece"
)

// findAlone finds what a voice asks for where its conditions name others that
// are known: two points of it fall at two instants, or it lasts so long.
func (r *resolver) findAlone(i int) bool {
	b, ok := r.conditionsOf(i)
	if !ok {
		return false
	}
	x, ok := b.solve()
	return ok && r.settle(i, x)
}

// conditionsOf is what the conditions of a voice outside canons come to.
func (r *resolver) conditionsOf(i int) (*between, bool) {
	l := r.lines[i]
	b := &between{r: r, voice: i}
	points := 0
	for _, c := range l.voice.Conditions {
		if c.Lasts.Set {
			return r.lasting(i, c)
		}
		if points++; points > 2 {
			break
		}
		at, ok := r.instant(l, c.Place, c.Places)
		if !ok {
			return nil, false
		}
		if points == 1 {
			b.from, b.fromWhat, b.fromSec = namedPoint{mine(c.Place), c.Places}, r.meetsWhat(c.Place), at
		} else {
			b.to, b.toWhat, b.toSec = namedPoint{mine(c.Place), c.Places}, r.meetsWhat(c.Place), at
		}
	}
	if points != 2 {
		return nil, r.unanswered(i, fmt.Sprintf("%s of %q has to be found from two conditions, not %d",
			l.voice.Unknown.Attribute(), l.voice.Name, points),
			"say two of start, meet, meet and lasts")
	}
	b.sec = b.toSec.sub(b.fromSec)
	return b, true
}

// lasting is the condition that a voice lasts so long.
func (r *resolver) lasting(i int, c piece.Condition) (*between, bool) {
	sec, ok := r.lastsSec(r.lines[i].voice.Section, c.Lasts)
	return &between{r: r, voice: i, from: namedPoint{piece.Point{}, c.Places},
		to: namedPoint{piece.Point{Kind: piece.AtEnd}, c.Places}, sec: sec}, ok
}

// findInCanon finds what a voice of a canon asks for: its meeting point falls
// with those of the others, and one more condition holds.
func (r *resolver) findInCanon(i int) bool {
	v := r.lines[i].voice
	c := &r.piece.Canons[v.Canon]
	if len(v.Conditions) != 1 {
		return r.unanswered(i, fmt.Sprintf("%s of %q has to be found from one meet beside the canon's meeting point, not %d",
			v.Unknown.Attribute(), v.Name, len(v.Conditions)), "")
	}
	condition := v.Conditions[0]
	if condition.Lasts.Set {
		b, ok := r.lasting(i, condition)
		if !ok {
			return false
		}
		x, ok := b.solve()
		return ok && r.settle(i, x)
	}
	b := &between{r: r, voice: i, from: namedPoint{c.Meet, c.Places},
		fromWhat: fmt.Sprintf("the meeting point of %q", c.Name),
		to:       namedPoint{mine(condition.Place), condition.Places}, toWhat: r.meetsWhat(condition.Place)}
	if p := condition.Place; p.Kind == piece.MeetWith && slices.Contains(c.Voices, p.Ref.Voice) {
		return r.meetInCanon(b, p, condition.Places)
	}
	at, ok := r.instant(r.lines[i], condition.Place, condition.Places)
	if !ok {
		return false
	}
	base, ok := r.base(c.Section)
	if !ok {
		return false
	}
	b.toSec = at
	if c.HasAt {
		b.fromSec = base.add(r.time(c.Section, c.At, c.Units)).add(r.later(v))
		b.sec = b.toSec.sub(b.fromSec)
		x, ok := b.solve()
		return ok && r.settle(i, x)
	}
	return r.firstAtZero(b, base)
}

// meetInCanon solves where a voice meets another one of its canon: seen from the
// meeting point, whenever that is.
func (r *resolver) meetInCanon(b *between, p piece.Place, places piece.Places) bool {
	other := r.lines[p.Ref.Voice]
	meets, ok1 := r.canonOffset(r.lines[b.voice].voice.Canon, other)
	theirs, ok2 := r.offsetFor(other, p.Theirs, places, "meet.theirs")
	if !ok1 || !ok2 {
		return false
	}
	own := r.lines[b.voice].voice
	b.sec = theirs.sub(meets).add(r.later(other.voice)).sub(r.later(own)).add(r.laterBy(own.Section, &p))
	b.toSec = b.sec
	x, ok := b.solve()
	return ok && r.settle(b.voice, x)
}

// firstAtZero solves where the canon's first voice begins at 0 and nobody knows
// yet which that is: the voice itself, or one of the others. Each is tried, and
// counts when it comes out so.
func (r *resolver) firstAtZero(b *between, base amount) bool {
	others, ok := r.othersMeet(b.voice)
	if !ok {
		return false
	}
	complaints := len(r.errs)
	own := *b
	own.from, own.fromWhat, own.fromSec = namedPoint{piece.Point{}, b.from.places}, "the start of its canon", base
	own.sec = b.toSec.sub(base)
	b.fromSec = base.add(others).add(r.later(r.lines[b.voice].voice))
	b.sec = b.toSec.sub(b.fromSec)
	var found []answer
	for _, try := range []struct {
		*between
		first bool // the voice itself begins first
	}{{b, false}, {&own, true}} {
		all, ok := try.all()
		for _, x := range all {
			if ok && r.beginsFirst(b, x, others) == try.first {
				found = append(found, x)
			}
		}
	}
	found = slices.CompactFunc(found, func(x, y answer) bool { return x.value.Cmp(y.value) == 0 })
	if len(found) > 0 {
		r.errs = r.errs[:complaints] // of the try that did not count
		return b.only(found) && r.settle(b.voice, found[0])
	}
	if len(r.errs) > complaints {
		r.errs = r.errs[:complaints+1]
		return false
	}
	return r.unanswered(b.voice, fmt.Sprintf("no %s of %q does both, wherever the canon begins", b.unknown().Attribute(),
		b.name()),
		"say when its voices meet: at = \"30 s\" in the canon")
}

// othersMeet is how long after the canon's start its meeting point falls, as far
// as the other voices know.
func (r *resolver) othersMeet(i int) (amount, bool) {
	canon := r.lines[i].voice.Canon
	var largest amount
	for _, j := range r.piece.Canons[canon].Voices {
		if j == i {
			continue
		}
		offset, ok := r.canonOffset(canon, r.lines[j])
		if !ok {
			return amount{}, false
		}
		if offset = offset.sub(r.later(r.lines[j].voice)); offset.cmp(largest) > 0 {
			largest = offset
		}
	}
	return largest, true
}

// beginsFirst reports whether a voice with that answer begins before the others
// of its canon, or with the first of them.
func (r *resolver) beginsFirst(b *between, x answer, others amount) bool {
	v := r.lines[b.voice].voice
	at, ok := r.trial(v, x.value, []namedPoint{b.from})
	return ok && at[0].sub(r.later(v)).cmp(others) >= 0
}

// roughly reports whether the speed or the durations of a voice are answers of
// 18 digits.
func (r *resolver) roughly(v *piece.Voice) (speed, durations bool) {
	for _, f := range r.found {
		own := &r.piece.Voices[f.Voice] == v || slices.ContainsFunc(v.Copied,
			func(c piece.Copied) bool { return c.From == f.Voice })
		if own && !f.Exact {
			speed, durations = speed || !lengthens(f.Unknown), durations || lengthens(f.Unknown)
		}
	}
	return speed, durations
}
