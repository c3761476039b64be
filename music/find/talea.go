package find

import (
	"cmp"
	"context"
	"math"
	"slices"

	"rollwright/exact"
)

// The noise that onsets may have: that of a table of what was planned, and that
// of one that was played or read from paper (seven milliseconds, and the rows of
// a perforator besides).
var noises = []float64{0.0006, 0.0085}

// leastExplained is what share of the notes a series must predict to be one.
const leastExplained = 0.85

// rhythm is a talea found in the onsets of a voice.
type rhythm struct {
	clock     clock
	places    []int // of each onset; absent where the series has none for it
	explained float64
	chance    float64
	pulse     bool // all durations are alike, which is a talea only if something else bears it out
}

// findRhythm looks for the series of durations in onsets; nil when there is none.
func findRhythm(ctx context.Context, t []float64) *rhythm {
	if len(t) < 4 {
		return nil
	}
	var best *rhythm
	for _, noise := range noises {
		r := rhythmAt(ctx, t, noise)
		if r == nil || best != nil && r.explained < best.explained {
			continue
		}
		if best = r; r.explained >= 0.97 && r.clock.noise < 2*noise {
			break
		}
	}
	return best
}

// trial is a talea of so many members as the onsets show it.
type trial struct {
	members int
	places  []int
	cost    float64
}

func rhythmAt(ctx context.Context, t []float64, noise float64) *rhythm {
	durations := make([]float64, len(t)-1)
	for i := range durations {
		durations[i] = math.Max(t[i+1]-t[i], 1e-6)
	}
	scores := rhythmLags(ctx, durations, noise)
	var trials []trial
	for _, s := range candidates(scores, 18) {
		if ctx.Err() != nil {
			return nil
		}
		if places := track(t, s.lag, noise); places != nil {
			trials = append(trials, trial{s.lag, places, rhythmCost(places, s.lag)})
		}
	}
	slices.SortStableFunc(trials, func(a, b trial) int { return cmp.Compare(a.cost, b.cost) })
	var best *rhythm
	bestCost := math.Inf(1)
	for _, tr := range shortlist(trials, len(t)) {
		r := fitted(ctx, t, tr, noise)
		if r == nil || r.explained < leastExplained || otherwise(present(r.places), tr.members) {
			continue
		}
		r = lessened(ctx, t, r, noise)
		members := len(r.clock.offset)
		if r.chance = rhythmChance(durations, r.places, members, len(scores), noise); r.chance > certain && !r.pulse {
			continue
		}
		if c := rhythmCost(r.places, members); c < bestCost {
			best, bestCost = r, c
		}
	}
	return best
}

// shortlist are the cheapest trials, of short voices more of them, and those whose
// period divides that of the cheapest.
func shortlist(trials []trial, notes int) []trial {
	few := 3
	if notes < 1500 {
		few = 7
	}
	out := slices.Clone(trials[:min(few, len(trials))])
	for _, tr := range trials[len(out):] {
		if out[0].members%tr.members == 0 && len(out) < few+3 {
			out = append(out, tr)
		}
	}
	return out
}

// What it takes to say a member of a series, and a note that it does not
// predict, in bits: the least period is the one that says all with least.
const (
	memberBits = 3.0
	errorBits  = 5.6 + memberBits // one note in fifty
)

func rhythmCost(places []int, members int) float64 {
	matched, last := 0, 0
	for _, p := range places {
		if p != absent {
			matched, last = matched+1, max(last, p)
		}
	}
	wrong := len(places) - matched + max(0, last+1-matched)
	return memberBits*float64(members) + errorBits*float64(wrong)
}

// fitted puts a clock to a trial, and asks the clock for the places anew until
// they stay.
func fitted(ctx context.Context, t []float64, tr trial, noise float64) (r *rhythm) {
	places := tr.places
	var c clock
	for round := range 4 {
		spots, from := spotsOf(t, places, tr.members)
		if len(spots) < tr.members+3 || len(spots) < 4 || ctx.Err() != nil {
			return nil
		}
		f := chooseClock(spots, tr.members)
		if math.IsInf(f.sse, 0) || math.IsNaN(f.sse) || len(f.clock.offset) == 0 {
			return nil
		}
		c = f.clock
		c.from += from
		next := placesBy(&c, t, math.Min(4.5*c.noise+2*floorSec, 0.05))
		if round == 3 || slices.Equal(next, places) {
			break
		}
		if places = next; matchedIn(places) < len(t)/2 {
			return nil
		}
	}
	r = &rhythm{clock: c, places: places, pulse: tr.members == 1}
	r.explained = float64(matchedIn(places)) / float64(max(len(t), slices.Max(places)+1))
	return r
}

// lessened is a rhythm with the least period of its durations: what is said in
// whole numbers may turn out to be a shorter series several times.
func lessened(ctx context.Context, t []float64, r *rhythm, noise float64) *rhythm {
	members := len(r.clock.whole)
	for period := 1; period <= members/2; period++ {
		if members%period != 0 || !comesBack(r.clock.whole, period) {
			continue
		}
		short := fitted(ctx, t, trial{members: period, places: r.places}, noise)
		if short != nil && short.explained >= r.explained-0.05 {
			return short
		}
	}
	return r
}

// comesBack reports whether a series repeats with a period.
func comesBack(whole []int64, period int) bool {
	for i := period; i < len(whole); i++ {
		if whole[i] != whole[i-period] {
			return false
		}
	}
	return true
}

// present is for each onset whether it has a place.
func present(places []int) []bool {
	out := make([]bool, len(places))
	for i, p := range places {
		out[i] = p != absent
	}
	return out
}

func matchedIn(places []int) int {
	n := 0
	for _, p := range places {
		if p != absent {
			n++
		}
	}
	return n
}

// placesBy gives each onset the place whose time it is nearest to, if it is
// within tolerance and nearest to it.
func placesBy(c *clock, t []float64, tolerance float64) []int {
	places := slices.Repeat([]int{absent}, len(t))
	place := 0
	for n := 0; n < len(t) && c.at(place-1) >= t[0]-tolerance; n++ {
		place--
	}
	i := 0
	for n := 0; n < 4*len(t)+16; n++ {
		want := c.at(place)
		if math.IsNaN(want) || want > t[len(t)-1]+tolerance {
			break
		}
		for i < len(t) && t[i] < want-tolerance {
			i++
		}
		best := -1
		for k := i; k < len(t) && t[k] <= want+tolerance; k++ {
			if best < 0 || math.Abs(t[k]-want) < math.Abs(t[best]-want) {
				best = k
			}
		}
		if best >= 0 {
			places[best] = place
			i = best + 1
		}
		place++
	}
	if moved := fromFirst(places); moved != nil {
		return moved
	}
	return places
}

// rhythmChance is how often chance would have durations agree as well as these
// do after the first statement.
func rhythmChance(durations []float64, places []int, members, tries int, noise float64) float64 {
	agreed := 0
	for i := 1; i < len(places); i++ {
		if places[i] != absent && places[i-1] != absent && places[i] == places[i-1]+1 {
			agreed++
		}
	}
	return Chance(tries, agreed-members, len(durations)-members, alikeDurations(durations, noise))
}

// alikeDurations is the share of pairs of durations that could be equal, taken
// at distances that wander through the series.
func alikeDurations(durations []float64, noise float64) float64 {
	n := len(durations)
	alike, pairs := 0, 0
	for k := range min(4000, n*(n-1)/2) {
		i, j := k*7919%n, (k*104729+k/n+1)%n
		if i == j {
			continue
		}
		pairs++
		if math.Abs(math.Log(durations[i]/durations[j])) < rhythmTolerance(durations[i], durations[j], noise) {
			alike++
		}
	}
	return float64(alike) / float64(max(1, pairs))
}

// talea is the rhythm in the words of the design.
func (r *rhythm) talea() *Talea {
	c := &r.clock
	t := &Talea{Explained: r.explained, Chance: r.chance, Stretch: exact.Int(1)}
	if c.whole == nil {
		c.unit = slices.Min(durationsOf(c))
		t.Durations = fractions(c)
	}
	for _, n := range c.whole {
		t.Durations = append(t.Durations, exact.Int(n))
	}
	if c.stretch != 1 {
		num, den := simplest(c.stretch-1e-10, c.stretch+1e-10)
		t.Stretch = exact.NewRat(num, den)
	}
	last := slices.Max(r.places)
	t.Statements = float64(last+1) / float64(len(c.offset))
	return t
}

// fractions are durations without a common unit, in terms of the shortest: the
// simplest numbers within a tenth of a thousandth, or what the noise allows.
func fractions(c *clock) []exact.Rat {
	var out []exact.Rat
	for i := range c.offset {
		d := c.duration(i) / c.unit
		off := math.Max(c.noise/c.unit/4, 1e-6)
		num, den := simplest(d-off, d+off)
		out = append(out, exact.NewRat(num, den))
	}
	return out
}
