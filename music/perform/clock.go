package perform

import (
	"math"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/tempo"
)

// clock turns units of a voice into seconds from its start.
type clock struct {
	path     *tempo.Path
	constant bool
	perUnit  exact.Real // seconds, when constant
	scale    dd         // the same
	unit     float64    // of a whole note
	fine     float64    // a rest of a dd below this many units is no picosecond
}

// newPath is the path of a voice at a speed, before lasts.
func newPath(v *piece.Voice, speed exact.Real) (*tempo.Path, error) {
	return pathOf(v.Path, v.Tempo, v.Unit, speed)
}

// pathOf is the path of legs, or of one tempo where there are none.
func pathOf(path []piece.Leg, quarters exact.Real, unit exact.Rat, speed exact.Real) (*tempo.Path, error) {
	if len(path) == 0 {
		return tempo.Constant(quarters, unit, speed), nil
	}
	legs := make([]tempo.Leg, len(path))
	for i, l := range path {
		legs[i] = tempo.Leg{
			From: l.From, To: l.To, HasFrom: l.HasFrom, HasTo: l.HasTo,
			OverUnits: l.OverUnits, OverSec: l.OverSec, Shape: tempo.Shape(l.Shape),
		}
	}
	return tempo.New(legs, quarters, unit, speed)
}

// newClock is the clock of a path that was made of these.
func newClock(path *tempo.Path, legs []piece.Leg, quarters exact.Real, unit exact.Rat) clock {
	c := clock{path: path, unit: unit.Float64()}
	if c.perUnit, c.constant = path.SecondsPerUnit(); c.constant {
		c.scale = ddReal(c.perUnit)
		return c
	}
	slowest := path.Tempo(0) * slowestOf(legs, quarters)
	c.fine = 1e-12 * slowest / (240 * c.unit)
	return c
}

func newVoiceClock(v *piece.Voice, path *tempo.Path) clock {
	return newClock(path, v.Path, v.Tempo, v.Unit)
}

// slowestOf is the slowest tempo of a path, as a share of its first.
func slowestOf(legs []piece.Leg, quarters exact.Real) float64 {
	first := quarters
	if legs[0].HasFrom {
		first = legs[0].From
	}
	slowest := 1.0
	for _, l := range legs {
		if l.HasFrom {
			slowest = min(slowest, l.From.Quo(first).Float64())
		}
		if l.HasTo {
			slowest = min(slowest, l.To.Quo(first).Float64())
		}
	}
	return slowest
}

// seconds is the time at u units: for a constant tempo as precise as u, along
// a path within the error of tempo.Path.Seconds.
func (c *clock) seconds(u dd) dd {
	if c.constant {
		return u.mul(c.scale)
	}
	t := c.path.Seconds(u.hi)
	if math.Abs(u.lo) > c.fine {
		t += u.lo * 240 * c.unit / c.path.Tempo(u.hi) // a quotient: nothing to fuse
	}
	return dd{t, 0}
}

// of is the time at u units, exact when that can be.
func (c *clock) of(u amount) amount {
	switch {
	case c.constant:
		return u.mulReal(c.perUnit)
	case u.exact() && u.sum.IsZero() == exact.Yes:
		return u
	}
	return about(c.path.BigSeconds(u.value(), workPrec))
}

// until is an ending at the time t, more than 0: no item starts at or after it.
func (c *clock) until(t amount, limit int) *ending {
	e := &ending{items: -1, limit: limit}
	if c.constant {
		return e.before(t.mulReal(c.perUnit.Inv()))
	}
	sec := t.float64()
	margin := 1e-9 + sec*0x1p-44
	e.low, e.high = c.path.Units(math.Max(sec-margin, 0)), c.path.Units(sec+margin)
	e.precise = func(u amount) bool { return c.of(u).cmp(t) >= 0 }
	return e
}

// ending says when a voice has all its items.
type ending struct {
	items     int // so many; -1: those that start before a place
	limit     int // and no more than this
	seen      int // items that measuring went through
	low, high float64
	precise   func(units amount) bool // whether a place between low and high is at or past the end
	cut       *exact.Rat              // where the last item is cut to the letter, in units; nil: it is whole
}

// before makes e the ending in which every item starts before at, in units.
func (e *ending) before(at amount) *ending {
	units := at.float64()
	e.items = -1
	e.low, e.high = units*(1-1e-12), units*(1+1e-12)
	e.precise = func(u amount) bool { return u.cmp(at) >= 0 }
	return e
}

// reached reports whether item n, which would start at the given place, is no
// longer one of the voice.
func (e *ending) reached(n int, units float64, exactly func() amount) bool {
	switch {
	case e.items >= 0:
		return n == e.items
	case units < e.low:
		return false
	case units > e.high:
		return true
	}
	return e.precise(exactly())
}
