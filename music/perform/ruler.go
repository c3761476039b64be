package perform

import (
	"rollwright/exact"
	"rollwright/music/piece"
)

// ruler is where the items of a voice begin and end, in units from its start,
// in the order in which they are made (before backward). Every blockItems
// items the position is kept, so that any item is found by adding up a few.
type ruler interface {
	// measure adds up items until end says to stop, and keeps how many.
	measure(end *ending) verdict
	// fill writes the positions of item n and those after it, as many as out
	// holds, in units. n must be a multiple of blockItems.
	fill(n int, out []dd)
	// at is the position of item n; that of the item after the last one is
	// the length.
	at(n int) amount
	// size is how many items there are and how long they are together. After
	// the verdict never, the length is what they tend to.
	size() (items int, units amount)
}

const blockItems = 32

// lengths is what the durations of a voice are made of.
type lengths struct {
	*cycles
	perTalea, perColor, perItem factor
	stretch                     exact.Real
}

func newLengths(c *cycles, v *piece.Voice) *lengths {
	return &lengths{
		cycles:   c,
		perTalea: factor{v.PerTalea.Stretch, v.PerTalea.StretchEach},
		perColor: factor{v.PerColor.Stretch, v.PerColor.StretchEach},
		perItem:  factor{each: v.EachNote},
		stretch:  v.Stretch,
	}
}

// grows reports whether durations never come back to what they were.
func (l *lengths) grows() bool {
	return l.perTalea.grows() || l.perColor.grows() || l.perItem.grows()
}

// growth is the mean of the natural logarithm of the factor from one duration
// to the next. Below 0, the sum of all durations is bounded.
func (l *lengths) growth() float64 {
	size := float64(len(l.durations))
	return l.perItem.growth() + l.perTalea.growth()/size +
		l.perColor.growth()*float64(len(l.sounding))/size/float64(len(l.color))
}

// statements is how many statements of talea and color the first n items
// begin, at least one each.
func (l *lengths) statements(n int) (taleae, colores int) {
	n = max(n, 1)
	return (n-1)/len(l.durations) + 1, (max(l.notesBefore(n), 1)-1)/len(l.color) + 1
}

// verdict is how measuring ended.
type verdict int8

const (
	measured verdict = iota
	tooMany          // more items than are allowed
	tooLong          // past the longest length
	never            // the durations come to less than what is asked for
	noFit            // whole numbers do not hold it: only of counted
)

// measure finds where the items stand and how many there are, in whole numbers
// where these hold it.
func (l *lengths) measure(end *ending) (ruler, verdict) {
	limit := end.limit
	if l.grows() {
		limit = min(limit, 2)
		if end.items >= 0 {
			limit = min(end.limit, max(end.items, 1))
		}
	}
	for {
		r, ok := newCounted(l, limit, end.cut)
		if !ok {
			break
		}
		switch v := r.measure(end); {
		case v == noFit:
		case v == tooMany && limit < end.limit:
			limit = min(2*limit, end.limit)
			continue
		default:
			return r, v
		}
		break
	}
	s := newSummed(l)
	return s, s.measure(end)
}

// counted is a ruler in whole numbers of a step.
type counted struct {
	*lengths
	steps                                []int64 // of each place of the talea
	taleaCounts, colorCounts, itemCounts wholes
	step                                 exact.Real // units
	scale                                dd         // the same
	limit                                int        // items that the tables reach
	items                                int
	marks                                []int64 // position of every blockItems-th item
	total                                int64   // also where a cut last item ends
	cut                                  int64   // where items are cut to the letter; 0: nowhere
}

// newCounted is false when the first limit durations, and the place where they are cut,
// have no common measure that whole numbers hold.
func newCounted(l *lengths, limit int, cut *exact.Rat) (*counted, bool) {
	c := &counted{lengths: l, limit: limit}
	taleae, colores := l.statements(limit)
	var den int64
	var ok [4]bool
	c.steps, den, ok[0] = overCommonDenominator(l.durations)
	c.taleaCounts, ok[1] = l.perTalea.wholes(taleae)
	c.colorCounts, ok[2] = l.perColor.wholes(colores)
	c.itemCounts, ok[3] = l.perItem.wholes(limit)
	if ok != [4]bool{true, true, true, true} {
		return nil, false
	}
	for _, d := range []int64{c.taleaCounts.den, c.colorCounts.den, c.itemCounts.den} {
		var fits bool
		if den, fits = mulCount(den, d); !fits {
			return nil, false
		}
	}
	c.step = l.stretch.Mul(c.taleaCounts.common).Mul(c.colorCounts.common).Mul(exact.Frac(1, den))
	if cut != nil && !c.fitCut(*cut) {
		return nil, false
	}
	c.scale = ddReal(c.step)
	return c, true
}

// fitCut makes steps fine enough that the cut is a whole number of them.
func (c *counted) fitCut(cut exact.Rat) bool {
	big, ok := exact.Frac(cut.Num(), cut.Den()).Quo(c.step).Rat()
	if !ok || !big.Num().IsInt64() || !big.Denom().IsInt64() || big.Num().Int64() > maxCount {
		return false
	}
	c.cut = big.Num().Int64()
	finer := big.Denom().Int64()
	for i, n := range c.steps {
		if c.steps[i], ok = mulCount(n, finer); !ok {
			return false
		}
	}
	c.step = c.step.Mul(exact.Frac(1, finer))
	return true
}

// runner adds up counted durations.
type runner struct {
	*counted
	walk
	item      int
	position  int64
	k         int64 // factor of the statements
	statement int   // for which k is
	color     int
}

// from starts at item n, a multiple of blockItems that has been measured.
func (c *counted) from(n int) runner {
	r := runner{counted: c, walk: c.walkFrom(n), item: n, statement: -1}
	if n > 0 {
		r.position = c.marks[n/blockItems]
	}
	return r
}

// next adds the item's duration, and reports whether it sounds and whether
// the numbers hold it.
func (r *runner) next() (sounds, ok bool) {
	sounds = r.enter()
	if r.statement != r.walk.statement || r.color != r.walk.color {
		r.statement, r.color = r.walk.statement, r.walk.color
		if r.k, ok = mulCount(r.taleaCounts.at(r.statement), r.colorCounts.at(r.color)); !ok {
			return sounds, false
		}
	}
	d := r.steps[r.place]
	if r.k != 1 {
		if d, ok = mulCount(d, r.k); !ok {
			return sounds, false
		}
	}
	if r.itemCounts.values != nil {
		if d, ok = mulCount(d, r.itemCounts.at(r.item)); !ok {
			return sounds, false
		}
	}
	r.position += d
	r.item++
	r.leave()
	return sounds, r.position <= maxCount
}

func (c *counted) measure(end *ending) verdict {
	r := c.from(0)
	c.marks = nil
	for {
		end.seen = r.item
		if r.item%blockItems == 0 {
			c.marks = append(c.marks, r.position)
		}
		switch {
		case end.reached(r.item, c.scale.hi*float64(r.position), func() amount { return c.amount(r.position) }):
			c.items, c.total = r.item, r.position
			if c.cut > 0 {
				c.total = min(c.total, c.cut)
			}
			return measured
		case r.item >= c.limit:
			return tooMany
		}
		if _, ok := r.next(); !ok {
			return noFit
		}
	}
}

// amount is a number of steps in units.
func (c *counted) amount(steps int64) amount {
	return exactly(exact.SumOf(c.step).Scale(exact.NewRat(steps, 1).Big()))
}

func (c *counted) fill(n int, out []dd) {
	r := c.from(n)
	for i := range out {
		position := r.position
		if r.item == c.items {
			position = c.total
		}
		out[i] = c.scale.times(float64(position))
		if i+1 < len(out) {
			r.next()
		}
	}
}

// position is where item n begins, in steps.
func (c *counted) position(n int) int64 {
	if n == c.items {
		return c.total
	}
	r := c.from(n - n%blockItems)
	for r.item < n {
		r.next()
	}
	return r.position
}

func (c *counted) at(n int) amount { return c.amount(c.position(n)) }

func (c *counted) size() (items int, units amount) { return c.items, c.amount(c.total) }
