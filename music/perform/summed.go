package perform

import (
	"math"

	"rollwright/exact"
)

// summed is a ruler for durations that have no common measure, or whose
// measure is too small for whole numbers: some 106 bits, rounded at each sum.
type summed struct {
	*lengths
	durationsDD              []dd // of each place of the talea
	byTalea, byColor, byItem values
	common                   dd // units: what all durations are multiplied by
	items                    int
	marks                    []dd // position of every blockItems-th item
	total                    dd   // after never: what all durations come to
}

func newSummed(l *lengths) *summed {
	s := &summed{
		lengths: l,
		byTalea: l.perTalea.values(exact.Real{}),
		byColor: l.perColor.values(exact.Real{}),
		byItem:  l.perItem.values(exact.Real{}),
		common:  ddReal(l.stretch),
	}
	for _, d := range l.durations {
		s.durationsDD = append(s.durationsDD, ddBig(newFloat().SetRat(d.Big())))
	}
	return s
}

// reserve makes the tables reach the first n items.
func (s *summed) reserve(n int) {
	taleae, colores := s.statements(n)
	s.byTalea.reserve(taleae)
	s.byColor.reserve(colores)
	s.byItem.reserve(n)
}

// summer adds up durations.
type summer struct {
	*summed
	walk
	item      int
	position  dd
	k         dd // factor of the statements
	statement int
	color     int
}

func (s *summed) from(n int) summer {
	r := summer{summed: s, walk: s.walkFrom(n), item: n, statement: -1}
	if n > 0 {
		r.position = s.marks[n/blockItems]
	}
	return r
}

func (r *summer) next() {
	r.enter()
	if r.statement != r.walk.statement || r.color != r.walk.color {
		r.statement, r.color = r.walk.statement, r.walk.color
		r.k = r.byTalea.at(r.statement).mul(r.byColor.at(r.color)).mul(r.common)
	}
	d := r.durationsDD[r.place].mul(r.k)
	if r.byItem.powers != nil {
		d = d.mul(r.byItem.at(r.item))
	}
	r.position = r.position.add(d)
	r.item++
	r.leave()
}

func (s *summed) measure(end *ending) verdict {
	r, t := s.from(0), s.newTail(end)
	s.marks = nil
	for {
		end.seen = r.item
		if r.item%blockItems == 0 {
			s.marks = append(s.marks, r.position)
			s.reserve(r.item + blockItems)
		}
		switch {
		case !(r.position.hi <= maxUnits): // NaN too
			return tooLong
		case end.reached(r.item, r.position.hi, func() amount { return about(r.position.big()) }):
			s.items, s.total = r.item, r.position
			if end.cut != nil {
				s.total = ddBig(newFloat().SetRat(end.cut.Big()))
			}
			return measured
		case t.shrinks && r.walk.item == 0 && t.vanishes(r.position):
			s.total = t.limit(r.position)
			return never
		case r.item >= end.limit:
			if s.total = t.limit(r.position); t.shrinks && s.total.hi < end.low {
				return never
			}
			return tooMany
		}
		r.next()
	}
}

// tail is what is still to come of durations that shrink: a geometric series,
// one term a statement of the talea. (Where the color shrinks them it is so
// only on average; the limit is then no more than near.)
type tail struct {
	shrinks bool    // and the extent is a place, which may never be reached
	ratio   float64 // of a statement's length to the one before, on average
	last    dd      // where the last statement began
	length  dd      // of the last statement, or what an earlier, longer one would have shrunk to
}

func (s *summed) newTail(end *ending) tail {
	growth := s.growth()
	return tail{shrinks: end.items < 0 && growth < 0, ratio: math.Exp(growth * float64(len(s.durations)))}
}

// vanishes is called where a statement begins, and reports whether all that
// is still to come is nothing beside the position: some 2^20 times what counts
// as equal in amount.cmp, so that a limit does not pass for a place reached.
func (t *tail) vanishes(position dd) bool {
	length, shrunk := position.sub(t.last), t.length.times(t.ratio)
	if length.hi < shrunk.hi {
		length = shrunk
	}
	t.last, t.length = position, length
	return position.hi > 0 && t.limit(position).sub(position).hi < 0x1p-60*position.hi
}

// limit is what all durations come to.
func (t *tail) limit(position dd) dd {
	return position.add(t.length.times(t.ratio / (1 - t.ratio)))
}

// maxUnits bounds the length of a voice in units, for sums that grow like
// powers; what seconds allow is far less.
const maxUnits = 1e300

func (s *summed) fill(n int, out []dd) {
	r := s.from(n)
	for i := range out {
		out[i] = r.position
		if r.item == s.items {
			out[i] = s.total
		}
		if i+1 < len(out) {
			r.next()
		}
	}
}

func (s *summed) at(n int) amount {
	if n == s.items {
		return about(s.total.big())
	}
	r := s.from(n - n%blockItems)
	for r.item < n {
		r.next()
	}
	return about(r.position.big())
}

func (s *summed) size() (items int, units amount) { return s.items, about(s.total.big()) }
