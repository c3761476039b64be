package find

import (
	"context"
	"math"
	"slices"
)

// member is a chord at a place of a line; base below 0: nothing is there.
type member struct{ base, shape int }

// melody is a color found in a line.
type melody struct {
	members   []member // one statement from the line's first place
	transpose int
	places    []int // of each step, from 0; absent where it was added
	explained float64
	chance    float64
	length    int    // places from the first to the last
	right     []bool // for each step: as the color has it
}

// findMelody looks for the series of pitches in the steps of a voice. Places are
// those that its talea gives; nil without one, then steps are put in places by
// their pitches alone.
func findMelody(ctx context.Context, steps []step, places []int) *melody {
	if len(steps) < 4 {
		return nil
	}
	free := places == nil
	if free {
		places = make([]int, len(steps))
		for i := range places {
			places[i] = i
		}
	}
	scores := pitchLags(ctx, lineOf(steps, places))
	var best *melody
	cost := math.Inf(1)
	for _, s := range candidates(scores, 18) {
		if ctx.Err() != nil {
			return nil
		}
		m := melodyAt(steps, places, s, free)
		if m == nil {
			continue
		}
		if c := m.cost(len(steps)); c < cost {
			best, cost = m, c
		}
	}
	if best == nil || best.explained < leastExplained || best.length < 2*len(best.members) ||
		otherwise(best.right, len(best.members)) {
		return nil
	}
	hits := int(best.explained*float64(len(steps))+0.5) - len(best.members)
	best.chance = Chance(len(scores)*transpositions(best.transpose), hits, len(steps)-len(best.members),
		alikePitches(steps, best.transpose))
	if best.chance > certain && len(best.members) > 1 {
		return nil
	}
	return best
}

// otherwise reports whether a line goes another way for a while: whether more than one
// step in ten is wrong among others that are, so that of a period in a row no more than
// half is right. Notes that were struck wrong are scattered; a phrase between others
// that are alike is not, and such a line has a form but no series.
func otherwise(right []bool, period int) bool {
	most := max(4, (period+1)/2)
	together, sum := 0, 0
	last := -1 // of the steps that were counted
	for i := range right {
		if !right[i] {
			sum++
		}
		if i >= period && !right[i-period] {
			sum--
		}
		if sum < most {
			continue
		}
		for k := max(last+1, i-period+1); k <= i; k++ {
			if !right[k] {
				together++
			}
		}
		last = i
	}
	return 10*together > len(right)
}

// transpositions is how many transpositions are tried before one.
func transpositions(shift int) int { return 2*abs(shift) + 1 }

// lineOf are the chords of steps in their places.
func lineOf(steps []step, places []int) []member {
	last := 0
	for _, p := range places {
		last = max(last, p)
	}
	line := slices.Repeat([]member{{base: -1}}, last+1)
	for i, s := range steps {
		if p := places[i]; p >= 0 {
			line[p] = member{s.base, s.shape}
		}
	}
	return line
}

// melodyAt is the color with the period and transposition of a lag. Where
// places are free, steps are put to it anew.
func melodyAt(steps []step, places []int, s lagScore, free bool) *melody {
	line := lineOf(steps, places)
	members := majority(line, s.lag, s.shift)
	if free && s.share < 0.97 {
		start := bestStatement(line, s.lag, s.shift)
		for range 2 {
			places = align(steps, start, members, s.shift)
			line = lineOf(steps, places)
			members, start = majority(line, s.lag, s.shift), 0
		}
	}
	m := &melody{members: members, transpose: s.shift, places: places, length: len(line), right: make([]bool, len(steps))}
	right := 0
	for i, st := range steps {
		p := places[i]
		if p < 0 {
			continue
		}
		want := members[p%s.lag]
		if want.base >= 0 && st.shape == want.shape && st.base == want.base+s.shift*(p/s.lag) {
			m.right[i] = true
			right++
		}
	}
	m.explained = float64(right) / float64(len(steps))
	return m
}

func (m *melody) cost(steps int) float64 {
	wrong := float64(steps) * (1 - m.explained)
	return memberBits*float64(len(m.members)) + errorBits*wrong
}

// majority is for each member the chord that most statements have there, moved
// back by what they are transposed.
func majority(line []member, period, shift int) []member {
	out := make([]member, period)
	count := map[member]int{}
	for k := range out {
		clear(count)
		best := member{base: -1}
		for i, statement := k, 0; i < len(line); i, statement = i+period, statement+1 {
			if line[i].base < 0 {
				continue
			}
			m := member{line[i].base - shift*statement, line[i].shape}
			count[m]++
			if count[m] > count[best] {
				best = m
			}
		}
		out[k] = best
	}
	return out
}

// alikePitches is how often two steps taken at random are as far apart as a
// transposition moves them: the index of coincidence.
func alikePitches(steps []step, shift int) float64 {
	count := map[member]float64{}
	for _, s := range steps {
		count[member{s.base, s.shape}]++
	}
	sum, n := 0.0, float64(len(steps))
	for m, c := range count {
		sum += c * count[member{m.base + shift, m.shape}]
	}
	return sum / (n * n)
}

// bestStatement is where a statement begins that the next one repeats best.
func bestStatement(line []member, period, shift int) int {
	agrees := func(i int) int {
		if i+period < len(line) && line[i].shape == line[i+period].shape && line[i].base+shift == line[i+period].base {
			return 1
		}
		return 0
	}
	sum, best, at := 0, -1, 0
	for i := 0; i+period < len(line); i++ {
		if sum += agrees(i); i >= period {
			sum -= agrees(i - period)
		}
		if sum > best && i >= period-1 {
			best, at = sum, i-period+1
		}
	}
	return at
}

// align puts steps in the places of a color by their pitches alone, from a place
// where they are sure, in both directions: at each step that is not as expected
// it is a wrong note, an added one, or one or two are missing, whichever lets
// more of what follows be right.
func align(steps []step, from int, members []member, shift int) []int {
	places := slices.Repeat([]int{absent}, len(steps))
	expected := func(place int) member {
		k := ((place % len(members)) + len(members)) % len(members)
		m := members[k]
		m.base += shift * ((place - k) / len(members))
		return m
	}
	for _, way := range []int{1, -1} {
		place := from
		for i := from; i >= 0 && i < len(steps); {
			jump, added := bestTurn(steps, i, way, place, expected)
			if added {
				places[i] = absent
				i += way
				continue
			}
			place += way * jump
			places[i] = place
			i, place = i+way, place+way
		}
	}
	return fromFirst(places)
}

// bestTurn says how many places to pass over before step i, or that the step was
// added.
func bestTurn(steps []step, i, way, place int, expected func(int) member) (jump int, added bool) {
	right := func(i, place int) int {
		n := 0
		for k := range 5 {
			at := i + way*k
			if at < 0 || at >= len(steps) {
				break
			}
			if m := expected(place + way*k); m.base == steps[at].base && m.shape == steps[at].shape {
				n++
			}
		}
		return n
	}
	if m := expected(place); m.base == steps[i].base && m.shape == steps[i].shape {
		return 0, false
	}
	best := right(i, place)
	if n := right(i+way, place); n > best+1 {
		best, added = n, true
	}
	for j := 1; j <= 2; j++ {
		if n := right(i, place+way*j); n > best+1 {
			best, jump, added = n, j, false
		}
	}
	return jump, added
}

// color is the melody in the words of the design.
func (m *melody) color(chords *shapes) *Color {
	c := &Color{Transpose: m.transpose, Explained: m.explained, Chance: m.chance}
	c.Statements = float64(m.length) / float64(len(m.members))
	for _, x := range m.members {
		if x.base < 0 {
			c.Pitches = append(c.Pitches, nil)
			continue
		}
		c.Pitches = append(c.Pitches, chords.keys(x.base, x.shape))
	}
	return c
}
