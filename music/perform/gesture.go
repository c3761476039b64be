package perform

import (
	"math"
	"math/big"

	"rollwright/music/piece"
)

// pitch is a member of the color, ready to be struck.
//
// The strokes of a gesture are laid over the written duration of their note;
// each is then held as if it were a note of its own: a share is one of its own
// length, a time ends at its own written end, and "single" makes every stroke
// a single one. A repetition as fast as the instrument can is held as that needs.
//
// A trill or repetition strikes at its own rate for as long as the duration
// lasts. The last stroke takes what is left: strokes are as many as the
// duration has intervals, rounded half up, so that the last one is never shorter
// than half of one. As fast as the instrument can, they are rounded down, for
// what follows must not come sooner than it can play either.
type pitch struct {
	kind      piece.GestureKind
	keys      []int
	level     int       // 0: the dynamics decide
	low, high int       // of keys
	shares    []float64 // Gliss: where each stroke begins and the last one ends, of the duration
	everySec  float64   // Trill, Repeat
	every     dd        // Trill: units, when everySec is 0
	fastest   bool      // Repeat: everySec is the instrument's
	hold      *hold     // of each stroke; nil: the voice's
	delay     float64   // Spread, Grace: seconds
	turns     []int     // Trill, Grace: sizes of what is struck together
}

func newPitch(p *piece.Pitch, fastest repetition) *pitch {
	n := &pitch{kind: p.Gesture.Manner(), keys: p.Keys, level: p.Level, low: math.MaxInt, high: math.MinInt}
	for _, k := range p.Keys {
		n.low, n.high = min(n.low, k), max(n.high, k)
	}
	g := p.Gesture
	n.turns = turnsOf(p)
	switch g.Manner() {
	case piece.Gliss:
		n.shares = glissShares(len(p.Keys), g)
	case piece.Trill, piece.Repeat:
		n.everySec = g.EverySec.Float64()
		if g.Fastest {
			n.everySec, n.fastest = fastest.everySec, true
			if fastest.holdSec > 0 {
				n.hold = &hold{kind: piece.HoldTime, sec: fastest.holdSec} // unless the item has its own
			}
		}
		n.every = ddBig(newFloat().SetRat(g.EveryUnits.Big()))
	case piece.Spread, piece.Grace:
		n.delay = g.DelaySec.Float64()
	}
	if p.Hold != nil {
		own := newHold(p.Hold)
		n.hold = &own
	}
	return n
}

// turnsOf is how many keys of a trill or of grace notes are struck together, in turn: of
// a trill one, of grace notes one ahead of all others, unless it is said.
func turnsOf(p *piece.Pitch) []int {
	g := p.Gesture
	switch {
	case g == nil:
		return nil
	case g.Kind != piece.Trill && g.Kind != piece.Grace || len(g.Turns) > 0:
		return g.Turns
	case g.Kind == piece.Grace:
		return []int{1, len(p.Keys) - 1}
	}
	turns := make([]int, len(p.Keys))
	for i := range turns {
		turns[i] = 1
	}
	return turns
}

// glissShares divides 1 into n lengths, each Ratio times the one before: stroke
// i begins at (1 + r + ... + r^(i-1)) / (1 + r + ... + r^(n-1)).
func glissShares(n int, g *piece.Gesture) []float64 {
	ratio := g.Ratio.Float(workPrec)
	sums, power := []*big.Float{newFloat()}, newFloat().SetInt64(1)
	for i := range n {
		sums = append(sums, newFloat().Add(sums[i], power))
		power = newFloat().Mul(power, ratio)
	}
	shares := make([]float64, n+1)
	for i, s := range sums {
		shares[i], _ = newFloat().Quo(s, sums[n]).Float64()
	}
	return shares
}

// timed reports whether the number of strokes depends on the duration.
func (p *pitch) timed() bool { return p.kind == piece.Trill || p.kind == piece.Repeat }

// events is how many strokes of a key the note in the cell makes.
func (p *pitch) events(c *cell) int {
	switch p.kind {
	case piece.Trill:
		return p.trillEvents(p.strokes(c))
	case piece.Repeat:
		return p.strokes(c) * len(p.keys)
	}
	return len(p.keys)
}

// trillEvents is how many keys a trill of n strokes strikes.
func (p *pitch) trillEvents(n int) int {
	whole, rest := n/len(p.turns), n%len(p.turns)
	events := whole * len(p.keys)
	for _, size := range p.turns[:rest] {
		events += size
	}
	return events
}

// strokes is how often a trill or a repetition strikes: at least once. A
// billionth of an interval is no difference, so that 14 strokes a second make 14
// in a second.
func (p *pitch) strokes(c *cell) int {
	intervals := (c.to - c.from) / p.everySec
	if p.everySec == 0 {
		intervals = c.width.hi / p.every.hi
	}
	n := math.Floor(intervals + 0.5 + 1e-9)
	if p.fastest {
		n = math.Floor(intervals + 1e-9)
	}
	if !(n < maxStrokes) {
		return maxStrokes
	}
	return max(int(n), 1)
}

// maxStrokes is more strokes than any piece may have, and small enough to be
// added up.
const maxStrokes = 1 << 40

// strike emits every stroke of the note in the cell: its written start
// and end, the key as written, and its part. Strokes come in order of time,
// but a grace stroke comes ahead of its note.
func (p *pitch) strike(c *cell, s *stream) {
	switch p.kind {
	case piece.Plain:
		for _, k := range p.keys {
			s.emit(c.from, c.to, k, 1)
		}
	case piece.Cluster:
		for i, k := range p.keys {
			s.emit(c.from, c.to, k, i+1)
		}
	case piece.Gliss:
		for i, k := range p.keys {
			s.emit(c.within(p.shares[i]), c.within(p.shares[i+1]), k, i+1)
		}
	case piece.Trill:
		p.trill(c, s)
	case piece.Repeat:
		n := p.strokes(c)
		for i := range n {
			from, to := p.strokeAt(i, n, c, s.line), p.strokeAt(i+1, n, c, s.line)
			for _, k := range p.keys {
				s.emit(from, to, k, i+1)
			}
		}
	case piece.Spread:
		p.spread(c, s)
	case piece.Grace:
		p.grace(c, s)
	}
}

// trill strikes its keys or chords in turn.
func (p *pitch) trill(c *cell, s *stream) {
	n, first := p.strokes(c), 0
	for i := range n {
		size := p.turns[i%len(p.turns)]
		if i%len(p.turns) == 0 {
			first = 0
		}
		from, to := p.strokeAt(i, n, c, s.line), p.strokeAt(i+1, n, c, s.line)
		for _, k := range p.keys[first : first+size] {
			s.emit(from, to, k, i+1)
		}
		first += size
	}
}

// grace strikes what comes ahead, the first of it the whole delay ahead and the others
// evenly after it, and then what it leads to.
func (p *pitch) grace(c *cell, s *stream) {
	ahead, first := len(p.turns)-1, 0
	from := c.from - p.delay
	for i, size := range p.turns {
		to := c.from - float64(p.delay*float64(ahead-i-1)/float64(ahead))
		if i == ahead {
			to = c.to
		} else if i == ahead-1 {
			to = c.from
		}
		for _, k := range p.keys[first : first+size] {
			s.emit(from, to, k, i+1)
		}
		from, first = to, first+size
		if i == ahead-1 {
			from = c.from
		}
	}
}

// within is the time at a share of the cell's duration; the ends are exact.
func (c *cell) within(share float64) float64 {
	switch share {
	case 0:
		return c.from
	case 1:
		return c.to
	}
	return min(c.from+float64(share*(c.to-c.from)), c.to)
}

// strokeAt is when stroke i of n begins; that after the last one, when the
// note ends.
func (p *pitch) strokeAt(i, n int, c *cell, l *Line) float64 {
	switch {
	case i == 0:
		return c.from
	case i == n:
		return c.to
	case p.everySec > 0:
		return min(c.from+float64(float64(i)*p.everySec), c.to)
	}
	return min(max(l.timeAt(c.at.add(p.every.times(float64(i)))), c.from), c.to)
}

// spread strikes the lowest key first as it sounds, so the last written one
// when the voice is inverted. Where the delays do not fit the duration, the
// strokes share it evenly.
func (p *pitch) spread(c *cell, s *stream) {
	n, delay := len(p.keys), p.delay
	if duration := c.to - c.from; delay*float64(n-1) >= duration {
		delay = duration / float64(n)
	}
	for i := range n {
		k := p.keys[i]
		if s.move.Reverses() {
			k = p.keys[n-1-i]
		}
		s.emit(min(c.from+float64(float64(i)*delay), c.to), c.to, k, i+1)
	}
}
