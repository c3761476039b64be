package find

import (
	"math"

	"rollwright/music/simple"
)

// mostNear is how many numbers are named for one speed.
const mostNear = 8

// claim makes a canon of two voices, if they are one; nil if not. Which leads is
// decided here.
func claim(voices []Voice, i, j int, chords *shapes) *Canon {
	if second(&voices[i], &voices[j]) {
		i, j = j, i
	}
	a, b := &voices[i], &voices[j]
	m := compare(a.steps, b.steps, chords)
	if m == nil {
		return nil
	}
	c := &Canon{Leader: i, Follower: j, Inverted: m.inverted, Backward: m.backward}
	line, other := strandOf(a.steps, false, false, chords), strandOf(b.steps, m.inverted, m.backward, chords)
	for _, p := range m.pairs {
		c.pairs = append(c.pairs, [2]int{line.step[p[0]], other.step[p[1]]})
	}
	c.takeEnd(m, a, b)
	shorter := min(len(a.steps), len(b.steps))
	c.Notes = len(c.pairs)
	c.Explained = float64(c.Notes) / float64(shorter)
	c.Chance = Chance(4*(len(a.steps)+len(b.steps)), c.Notes-1, shorter-1, alikeIntervals(line, other))
	if c.Explained < leastCanon || c.Chance > certain {
		return nil
	}
	c.transposed(a, b)
	c.timed(m, a, b, line, other)
	return c
}

// second reports whether a comes after b: it sounds later, or both begin together
// and b is the lower one.
func second(a, b *Voice) bool {
	together := 3 * math.Sqrt2 * math.Max(a.noise(), b.noise())
	if d := a.StartSec - b.StartSec; math.Abs(d) > together {
		return d > 0
	}
	return a.steps[0].base > b.steps[0].base
}

// noise is how far the onsets of a voice stray, as far as its talea tells.
func (v *Voice) noise() float64 {
	if v.clock == nil {
		return floorSec
	}
	return math.Max(v.clock.noise, floorSec)
}

// takeEnd adds the note that a strand turned backward has to leave out, if its
// pitch is right: the last of the voice, which is the first of the line.
func (c *Canon) takeEnd(m *match, a, b *Voice) {
	if !m.backward {
		return
	}
	first := m.pairs[0]
	i, last := first[0]-first[1]-1, len(b.steps)-1
	if i < 0 || first[1] > lookAhead {
		return
	}
	want, got := a.steps[i].base+m.shift, b.steps[last].base
	if m.inverted {
		got = -b.steps[last].top
	}
	if want == got {
		c.pairs = append([][2]int{{i, last}}, c.pairs...)
	}
}

// transposed says how far the follower's first note of the line is from the
// leader's.
func (c *Canon) transposed(a, b *Voice) {
	first := c.pairs[0]
	c.Transpose = b.steps[first[1]].base - a.steps[first[0]].base
}

// alikeIntervals is how often an interval of one strand and one of the other,
// taken at random, agree.
func alikeIntervals(a, b strand) float64 {
	type interval struct{ step, x, y int }
	count := map[interval]float64{}
	for i := range len(a.t) - 1 {
		count[interval{a.base[i+1] - a.base[i], a.shape[i], a.shape[i+1]}]++
	}
	sum := 0.0
	for i := range len(b.t) - 1 {
		sum += count[interval{b.base[i+1] - b.base[i], b.shape[i], b.shape[i+1]}]
	}
	return sum / float64(max(1, (len(a.t)-1)*(len(b.t)-1)))
}

// timed finds the speed of the follower against the leader, its bounds, and
// where they meet.
func (c *Canon) timed(m *match, a, b *Voice, line, other strand) {
	x, y := make([]float64, len(m.pairs)), make([]float64, len(m.pairs))
	for i, p := range m.pairs {
		x[i], y[i] = other.t[p[1]], line.t[p[0]]
	}
	s := straightThrough(x, y)
	c.Speed = s.slope
	off := bound * s.slopeOff * (1 + 8/float64(len(x))) // few pairs tell their own scatter badly
	moving := a.moves() || b.moves()
	c.Changes = moving || a.clock == nil && b.clock == nil && bent(x, y, s)
	if c.Changes && bent(x, y, s) {
		if speed, at, ok := c.crossing(m, a, b); ok {
			c.Speed, c.MeetSec, c.Meets = speed, at, !m.backward
			off = bound * speed * math.Hypot(a.speedError(at), b.speedError(at))
		} else {
			off = math.Max(off, 0.01*c.Speed)
		}
	} else if math.Abs(s.slope-1) > off && !m.backward {
		c.MeetSec, c.Meets = s.at/(1-s.slope), true
	}
	c.Low, c.High = outward(c.Speed-off, c.Speed+off)
	c.Near = simple.Named(c.Low, c.High, mostNear)
}

// moves reports whether the tempo of a voice is known to change.
func (v *Voice) moves() bool {
	return v.clock != nil && (!v.clock.warp.even() || v.clock.stretch != 1)
}

// speedError is the relative standard error of the tempo at a time: that of the
// slope of a parabola, fitted to n points over a span of 2h. By Legendre's
// polynomials it is sqrt((3 + 45 u^2)/n) of the points' error over h, at u times h
// from the middle.
func (v *Voice) speedError(at float64) float64 {
	n := float64(len(v.steps))
	span := v.steps[len(v.steps)-1].at - v.steps[0].at
	_, here := v.clock.warp.forward(at - v.clock.from)
	_, end := v.clock.warp.forward(span)
	steep := math.Max(here/math.Min(1, end), 1)
	u := (at-v.steps[0].at)/(span/2) - 1
	return math.Sqrt((3+45*u*u)/n) * v.noise() / (span / 2) * steep
}

// crossing is where two voices with moving tempos are at one place of their
// line, and the ratio of their tempos there.
func (c *Canon) crossing(m *match, a, b *Voice) (speed, at float64, ok bool) {
	if a.clock == nil || b.clock == nil || a.clock.stretch != 1 || b.clock.stretch != 1 {
		return 0, 0, false
	}
	shift, scale, ok := evenShift(m, a, b, c.pairs)
	if !ok {
		return 0, 0, false
	}
	// In the leader's even seconds e, the follower is at e*scale + shift.
	gap := func(e float64) float64 {
		return a.clock.from + a.clock.warp.back(e) - b.clock.from - b.clock.warp.back(e*scale+shift)
	}
	first, last := a.clock.even(0), a.clock.even(a.lastPlace())
	e, ok := root0(gap, first, last)
	if !ok {
		return 0, 0, false
	}
	at = a.clock.from + a.clock.warp.back(e)
	_, ra := a.clock.warp.forward(at - a.clock.from)
	_, rb := b.clock.warp.forward(at - b.clock.from)
	return rb / ra / scale, at, true
}

// evenShift is the line from the leader's even seconds to the follower's, from
// the notes that they share.
func evenShift(m *match, a, b *Voice, pairs [][2]int) (shift, scale float64, ok bool) {
	if m.backward {
		return 0, 0, false
	}
	var x, y []float64
	for _, p := range pairs {
		ea, _ := a.clock.warp.forward(a.steps[p[0]].at - a.clock.from)
		eb, _ := b.clock.warp.forward(b.steps[p[1]].at - b.clock.from)
		x, y = append(x, ea), append(y, eb)
	}
	s := straightThrough(x, y)
	return s.at, s.slope, s.slope > 0
}

// lastPlace is the place of a voice's last note, near enough.
func (v *Voice) lastPlace() int { return len(v.steps) - 1 }

// root0 is where a function is 0, between two values or beyond them by their
// distance, nearest to their middle.
func root0(f func(float64) float64, from, to float64) (float64, bool) {
	const steps = 600
	span := to - from
	best, found := 0.0, false
	before, x0 := f(from-span), from-span
	for i := 1; i <= steps; i++ {
		x1 := from - span + 3*span*float64(i)/steps
		v := f(x1)
		if before*v <= 0 && !math.IsNaN(before*v) {
			lo, hi, flo := x0, x1, before
			for range 80 {
				mid := (lo + hi) / 2
				if fm := f(mid); flo*fm <= 0 {
					hi = mid
				} else {
					lo, flo = mid, fm
				}
			}
			at := (lo + hi) / 2
			middle := (from + to) / 2
			if !found || math.Abs(at-middle) < math.Abs(best-middle) {
				best, found = at, true
			}
		}
		before, x0 = v, x1
	}
	return best, found
}
