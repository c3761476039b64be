package plan

import (
	"math"
	"math/big"
	"slices"

	"rollwright/exact"
)

// encounter is the comparison of two voices under way.
type encounter struct {
	a, b         *part
	end          float64 // of the piece, seconds
	options      Options
	related      bool // both exact: relation holds
	relation     relation
	contacts     contacts
	near         closest
	proof        string
	sharedClock  bool
	ratio        exact.Real // units that B plays while A plays one, when both keep one tempo
	ratioName    string     // the same, short enough for a sentence
	unprovedSeen int
	comparable   bool                 // both stand in one nominal time
	bent         bool                 // which is not what is heard
	ticks        func(i, j int) int64 // how far apart two notes are on a common scale, where bent
	grid         int64                // of a common scale: the shorter of the two steps, in its ticks; 0: there is none
}

// contacts are the meetings found: how many, and as many of them as are kept.
type contacts struct {
	count int
	first []contact
	last  contact
}

func (c *contacts) add(i, j, room int) {
	if c.count++; len(c.first) < room {
		c.first = append(c.first, contact{i, j})
	}
	c.last = contact{i, j}
}

// meet compares two voices.
func meet(a, b *part, end float64, o Options) *encounter {
	e := &encounter{a: a, b: b, end: end, options: o, near: closest{room: o.Near}, proof: Exact}
	e.comparable = a.frame == b.frame
	e.bent = e.comparable && a.bent
	if e.hasRatio() {
		e.ratio = a.unit.Quo(b.unit)
		e.ratioName = ratioName(realNumber(e.ratio))
	}
	e.search()
	return e
}

// hasRatio reports whether both keep one tempo in one time.
func (e *encounter) hasRatio() bool { return e.comparable && e.a.hasUnit && e.b.hasUnit }

// heard is when an instant of the voices' own time is heard.
func (e *encounter) heard(sec float64) float64 {
	if !e.bent {
		return sec
	}
	return e.a.line.Heard(sec)
}

// endInside is the end of the piece in the voices' own time.
func (e *encounter) endInside() float64 {
	if !e.bent {
		return e.end
	}
	return e.a.line.Nominal(e.end)
}

// at is the instant of a meeting: exact, or where time is bent as it is heard and as the
// file counts it.
func (e *encounter) at(s exact.Sum, noteA, noteB int64) *Meeting {
	n := sumNumber(s)
	if !e.bent {
		return &Meeting{At: n, NoteA: noteA, NoteB: noteB}
	}
	return &Meeting{At: decimalNumber(e.heard(s.Float64())), NoteA: noteA, NoteB: noteB, Nominal: &n}
}

// pair is everything about two voices but their lag.
func (e *encounter) pair() Pair {
	p := Pair{A: e.a.name, B: e.b.name, Commensurable: "tempo changes", Convergents: []string{}}
	p.Bent = e.bent
	if e.hasRatio() {
		number := realNumber(e.ratio)
		p.Ratio, p.Convergents = &number, convergents(e.ratio)
		p.Commensurable = e.ratio.Rational().String()
	}
	if ratio, ok := foundRatio(e.a, e.b); ok {
		p.Ratio, p.Commensurable = &ratio, "found"
	}
	p.Proof = e.proof
	p.Meetings = e.meetings()
	p.NearMisses, p.ClosestTimes = e.misses()
	if len(p.NearMisses) == 0 && len(e.near.kept) > 0 {
		rest := e.apart(e.near.kept[0])
		p.Rest = &rest
	}
	p.Reason, p.Chance = e.reason(), e.chance()
	p.Next = e.next()
	p.Together = e.together()
	p.EqualSpeeds = equalSpeeds(e.a, e.b)
	return p
}

// convergents are the first fractions of the ratio's continued fraction, up to
// those with four digits.
func convergents(ratio exact.Real) []string {
	out := []string{}
	for _, c := range ratio.Convergents(8) {
		if c.Num().BitLen() > 20 || c.Denom().BitLen() > 20 {
			break
		}
		out = append(out, ratText(c))
	}
	return out
}

// search finds the meetings and near misses by the strongest means there is.
func (e *encounter) search() {
	a, b := &e.a.onsets, &e.b.onsets
	if e.comparable && sharedClock(e.a, e.b) {
		if ta, tb, ok := sharedTicks(a, b); ok {
			e.sharedClock = true
			ratio, _ := a.steps.size.Quo(b.steps.size).Rat()
			e.onGrid(ratio)
			e.onScale(ta, tb)
			return
		}
	}
	if !a.exact() || !b.exact() || !e.comparable {
		e.proof = Within
		e.onClock(func(i, j int) bool { return near1(a.ns[i], b.ns[j]) })
		return
	}
	e.related, e.relation = true, relate(a, b)
	switch r := &e.relation; {
	case r.common == exact.Yes && r.offset != nil:
		if ta, tb, _, ok := r.ticks(a, b); ok {
			e.onGrid(r.ratio)
			e.grid *= r.finer()
			e.onScale(ta, tb)
			return
		}
	case r.meet == exact.No:
		e.onClock(func(int, int) bool { return false })
		return
	case r.common == exact.No && r.meet == exact.Yes:
		only, ok := e.onlyContact()
		e.onClock(func(i, j int) bool { return ok && i == only.a && j == only.b })
		return
	}
	e.onClock(e.proved())
}

// onGrid takes the shorter of two steps of which A's is num and B's denom ticks.
func (e *encounter) onGrid(ratio *big.Rat) {
	e.grid = min(ratio.Num().Int64(), ratio.Denom().Int64()) // they have fitted ticks
}

// farMiss is how far apart notes of voices with a common measure may be and be
// called a near miss: beyond it they are heard as rhythm.
const farMiss = 100e6 // nanoseconds

// rhythm reports whether a distance between two voices with a common measure is no
// near miss, but a step of one of them or more.
func (e *encounter) rhythm(d distance) bool {
	apart, size := e.b.onsets.ns[d.b]-e.a.onsets.ns[d.a], d.size
	if e.ticks != nil {
		size = e.ticks(d.a, d.b)
	}
	return e.grid > 0 && (size >= e.grid || max(apart, -apart) > farMiss)
}

// onScale sweeps two series of whole ticks: equal ticks are meetings.
// Where time is bent, the ticks say what meets and what is heard says what is near.
func (e *encounter) onScale(ta, tb []int64) {
	if e.bent {
		e.ticks = func(i, j int) int64 { return max(ta[i]-tb[j], tb[j]-ta[i]) }
		e.onClock(func(i, j int) bool { return ta[i] == tb[j] })
		return
	}
	e.sweep(ta, tb, func(i, j int) bool { return ta[i] == tb[j] })
}

// onClock sweeps the onsets in nanoseconds. Equal distances there are not
// equal for certain, so they are not counted.
func (e *encounter) onClock(meets func(i, j int) bool) {
	e.sweep(e.a.onsets.ns, e.b.onsets.ns, meets)
	e.near.equal = 0
}

func (e *encounter) sweep(ta, tb []int64, meets func(i, j int) bool) {
	sweep{ta, tb, meets,
		func(i, j int) { e.contacts.add(i, j, e.options.List) },
		e.near.add,
	}.run()
}

// near1 says whether two rounded instants can be the same one: each may be off
// by one half of a nanosecond.
func near1(x, y int64) bool { return x-y <= 1 && y-x <= 1 }

// onlyContact is the only pair of notes that incommensurable steps allow.
func (e *encounter) onlyContact() (contact, bool) {
	i, okA := slices.BinarySearch(e.a.onsets.steps.at, e.relation.lattice.i0)
	j, okB := slices.BinarySearch(e.b.onsets.steps.at, e.relation.lattice.j0)
	return contact{i, j}, okA && okB
}

// proveMost is how many candidates are decided exactly. Where theory is silent
// a pair has a handful of them.
const proveMost = 1000

// proved looks at notes within a nanosecond of each other and decides by their
// exact onsets whether they meet. What stays undecided counts as a meeting and
// takes the proof away.
func (e *encounter) proved() func(i, j int) bool {
	known := make(map[contact]bool)
	proved := 0
	return func(i, j int) bool {
		if !near1(e.a.onsets.ns[i], e.b.onsets.ns[j]) {
			return false
		}
		yes, seen := known[contact{i, j}]
		if seen {
			return yes
		}
		ans := exact.Unknown
		if len(known) < proveMost {
			ans = e.a.onsets.note(i).Sub(e.b.onsets.note(j)).IsZero()
		}
		if ans == exact.Unknown {
			e.unprovedSeen++
		} else if ans == exact.Yes {
			proved++
		}
		switch {
		case e.unprovedSeen > 0 && proved > 0:
			e.proof = Mixed
		case e.unprovedSeen > 0:
			e.proof = Within
		}
		known[contact{i, j}] = ans != exact.No
		return ans != exact.No
	}
}

// sharedTicks puts the steps of two voices with one clock on one scale, if
// they have a common measure.
func sharedTicks(a, b *onsets) (ta, tb []int64, ok bool) {
	ratio, ok := a.steps.size.Quo(b.steps.size).Rat()
	if !ok {
		return nil, nil, false
	}
	ta, okA := stretch(a.steps.at, new(big.Int), ratio.Num())
	tb, okB := stretch(b.steps.at, new(big.Int), ratio.Denom())
	return ta, tb, okA && okB
}

// meetings writes the contacts out with their times.
func (e *encounter) meetings() Meetings {
	m := Meetings{Count: e.contacts.count, List: []Meeting{}}
	if m.Count == 0 {
		return m
	}
	for _, c := range e.contacts.first {
		m.List = append(m.List, e.meeting(c))
	}
	last := e.meeting(e.contacts.last)
	m.First, m.Last = &m.List[0], &last
	return m
}

func (e *encounter) meeting(c contact) Meeting {
	m := Meeting{NoteA: int64(c.a) + 1, NoteB: int64(c.b) + 1}
	switch {
	case e.bent:
		m.At = decimalNumber(float64(e.a.onsets.ns[c.a]) / 1e9)
		if e.a.onsets.exact() {
			n := sumNumber(e.a.onsets.note(c.a))
			m.Nominal = &n
		}
	case e.a.bent:
		m.At = decimalNumber(float64(e.a.onsets.ns[c.a]) / 1e9)
	case e.a.onsets.exact():
		m.At = sumNumber(e.a.onsets.note(c.a))
	case e.b.onsets.exact() && !e.b.bent:
		m.At = decimalNumber(e.b.onsets.note(c.b).Float64())
	default:
		m.At = decimalNumber(float64(e.a.onsets.ns[c.a]) / 1e9)
	}
	return m
}

// apart is how far apart two notes are.
func (e *encounter) apart(d distance) Number {
	if e.related && !e.bent {
		return sumNumber(absSum(e.b.onsets.note(d.b).Sub(e.a.onsets.note(d.a))))
	}
	return decimalNumber(math.Abs(float64(e.b.onsets.ns[d.b]-e.a.onsets.ns[d.a])) / 1e9)
}

// misses writes out the closest notes that do not meet. Of voices with a common
// measure those are left out that lie a step apart or more, but for the closest
// where the two never meet.
func (e *encounter) misses() ([]Miss, int) {
	out := []Miss{}
	for i, d := range e.near.kept {
		if e.rhythm(d) && (i > 0 || e.contacts.count > 0) {
			continue
		}
		ns := [2]int64{e.a.onsets.ns[d.a], e.b.onsets.ns[d.b]}
		m := Miss{NoteA: int64(d.a) + 1, NoteB: int64(d.b) + 1, Earlier: e.a.name}
		apart := ns[1] - ns[0]
		m.Distance = e.apart(d)
		if e.related && !e.bent {
			apart = int64(e.b.onsets.note(d.b).Sub(e.a.onsets.note(d.a)).Sign())
		}
		if apart < 0 {
			m.Earlier = e.b.name
		}
		m.At = Seconds(float64(min(ns[0], ns[1])) / 1e9)
		out = append(out, m)
	}
	if len(out) == 0 {
		return out, 0
	}
	return out, e.near.equal
}
