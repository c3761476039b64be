package plan

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"rollwright/exact"
)

// reason says in a sentence why the meetings are as they are.
func (e *encounter) reason() string {
	switch {
	case e.sharedClock:
		return "both keep the same clock, so equal units are equal times"
	case !e.related:
		return e.notExact() + ": found by search within 1 ns, not proved"
	case e.relation.common == exact.Yes:
		return e.commonReason()
	case e.relation.common == exact.No:
		return e.onceReason()
	}
	return e.unknownReason()
}

// commonReason is about commensurable speeds.
func (e *encounter) commonReason() string {
	r := e.ratio
	ratio, _ := r.Rat()
	sec := exact.SumOf(e.a.unit).Scale(ratio.SetInt(ratio.Denom())).Float64()
	text := "the speeds are the same"
	if e.ratioName != "1" {
		ratio, _ = r.Rat()
		last := "last"
		if ratio.Num().IsInt64() && ratio.Num().Int64() == 1 {
			last = "lasts"
		}
		text = fmt.Sprintf("%s is rational: %s of %s %s as long as %s of %s, %s",
			e.ratioName, units(ratio.Num().String()), e.b.name, last, ratio.Denom(), e.a.name, duration(sec))
		if e.bent {
			text += " in nominal time"
		}
	}
	switch {
	case e.relation.meet == exact.No && e.relation.offset == nil:
		text += "; but the distance of their starts is no fraction of it, so they never meet"
	case e.relation.meet == exact.No:
		text += "; but from these starts no note of one can ever fall on one of the other"
	case e.relation.meet == exact.Unknown && e.relation.offset == nil:
		text += "; but it is not known whether the distance of their starts is a fraction of it"
	case e.contacts.count == 0:
		text += "; but in this piece no note of one falls on one of the other"
	}
	return text
}

// once is the theorem in words.
const once = "two lines of rational units at these speeds can coincide at most once"

// onceReason is about incommensurable speeds.
func (e *encounter) onceReason() string {
	text := e.ratioName + " is irrational: " + once
	r := &e.relation
	switch {
	case e.contacts.count > 0:
		return text + ", and they do at " + e.notesOf(e.contacts.first[0])
	case r.meet == exact.Unknown:
		return text + "; whether they ever do is not known"
	case r.x == nil:
		return text + ", and from these starts they never do"
	}
	at := e.only()
	return fmt.Sprintf("%s; that instant is %s, %s", text, clockTime(at), e.nobody(at))
}

// only is the one instant that voices without a common measure have in common, as it is
// heard.
func (e *encounter) only() float64 {
	return e.heard(e.a.onsets.clock.start.Add(exact.SumOf(e.a.onsets.step()).Scale(e.relation.x)).Float64())
}

// chance is that instant where the two do not meet at it.
func (e *encounter) chance() *Chance {
	r := &e.relation
	if e.sharedClock || !e.related || r.common != exact.No || r.meet == exact.Unknown || r.x == nil ||
		e.contacts.count > 0 {
		return nil
	}
	c := &Chance{At: Seconds(e.only()), Within: true, NoteA: e.a.onsets.hasNote(r.x), NoteB: e.b.onsets.hasNote(r.y)}
	for _, p := range []*part{e.a, e.b} {
		c.Within = c.Within && float64(c.At) >= p.startSec-endSlack && float64(c.At) <= p.endSec-endSlack
	}
	return c
}

// nobody says why there is no meeting at the only instant that allows one.
func (e *encounter) nobody(at float64) string {
	var why []string
	for _, p := range []*part{e.a, e.b} {
		switch {
		case at < p.startSec-endSlack:
			why = append(why, "before "+p.name+" begins")
		case at > p.endSec-endSlack:
			why = append(why, "when "+p.name+" has ended")
		}
	}
	if len(why) > 0 {
		return strings.Join(why, " and ")
	}
	switch noteA, noteB := e.a.onsets.hasNote(e.relation.x), e.b.onsets.hasNote(e.relation.y); {
	case noteA:
		return "where " + e.b.name + " begins no note"
	case noteB:
		return "where " + e.a.name + " begins no note"
	}
	return "where neither begins a note"
}

// hasNote reports whether a note begins so many steps after the start.
func (o *onsets) hasNote(steps *big.Rat) bool {
	if !steps.IsInt() || !steps.Num().IsInt64() {
		return false
	}
	_, found := slices.BinarySearch(o.steps.at, steps.Num().Int64())
	return found
}

func (e *encounter) notesOf(c contact) string {
	if c.a == c.b {
		return fmt.Sprintf("note %d", c.a+1)
	}
	return fmt.Sprintf("note %d of %s, note %d of %s", c.a+1, e.a.name, c.b+1, e.b.name)
}

// unknownReason is about ratios of which nobody knows.
func (e *encounter) unknownReason() string {
	text := unknownRatio(e.ratioName)
	switch {
	case e.proof != Exact:
		return text + "; found by search within 1 ns, not proved"
	case e.contacts.count == 0:
		return text + "; in this piece they do not meet, which is certain"
	case e.contacts.count == 1:
		return text + "; in this piece they meet only at " + e.notesOf(e.contacts.first[0]) + ", which is certain"
	}
	return text + "; the meetings in this piece are certain"
}

func unknownRatio(name string) string { return "nobody knows whether " + name + " is rational" }

// unknownNext is about meetings after the end at such a ratio.
func (e *encounter) unknownNext() string {
	if e.proof == Exact && e.contacts.count > 0 {
		return unknownRatio(e.ratioName) + "; if it is not, never"
	}
	return unknownRatio(e.ratioName)
}

// neverReason says why there is no further meeting.
func (e *encounter) neverReason() string {
	switch {
	case e.relation.common == exact.Yes:
		return "from these starts no note of one can ever fall on one of the other"
	case e.contacts.count > 0:
		return e.ratioName + " is irrational: they have met, and can do so only once"
	}
	if e.relation.x == nil {
		return e.ratioName + " is irrational, and from these starts the two have no instant in common"
	}
	return e.ratioName + " is irrational, and at the only instant that would do they do not both begin a note"
}

// ratioName is a ratio short enough for a sentence.
func ratioName(n Number) string {
	if n.Exact != "" && len(n.Exact) <= 30 {
		return n.Exact
	}
	return fmt.Sprintf("the ratio %.6f", n.Decimal)
}
