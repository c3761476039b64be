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
	r := s.from(0)
	s.marks = nil
	for {
		if r.item%blockItems == 0 {
			s.marks = append(s.marks, r.position)
			s.reserve(r.item + blockItems)
			if s.converged(end) {
				return never
			}
		}
		switch {
		case !(r.position.hi <= maxUnits): // NaN too
			return tooLong
		case end.reached(r.item, r.position.hi, func() amount { return about(r.position.big()) }):
			s.items, s.total = r.item, r.position
			return measured
		case r.item >= end.limit:
			return tooMany
		}
		r.next()
	}
}

// converged reports whether the durations shrink so that all of them together
// will not bring the end, and keeps what they come to: the rest is a geometric
// series with the ratio of the last two blocks.
func (s *summed) converged(end *ending) bool {
	n := len(s.marks) - 1
	if end.items >= 0 || n < 1 || s.growth() >= 0 {
		return false
	}
	block := s.marks[n].sub(s.marks[n-1])
	stands := math.Abs(block.hi) < 1e-29*s.marks[n].hi
	if !stands && n*blockItems < end.limit {
		return false
	}
	ratio := math.Exp(s.growth() * blockItems)
	s.total = s.marks[n].add(block.times(ratio / (1 - ratio)))
	return s.total.hi < end.low
}

// maxUnits bounds the length of a voice in units, for sums that grow like
// powers; what seconds allow is far less.
const maxUnits = 1e300

func (s *summed) fill(n int, out []dd) {
	r := s.from(n)
	for i := range out {
		out[i] = r.position
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
