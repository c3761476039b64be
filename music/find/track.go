package find

import (
	"cmp"
	"math"
	"slices"
)

// absent stands for the place of an onset that the series does not predict.
const absent = math.MinInt

// track gives each onset its place in a series of durations with so many
// members, counted from the first onset that has one; absent marks onsets that
// are in nobody's place. It begins where the series agrees best with itself, or
// where it does so next, and goes on from note to note in both directions: each
// duration is expected as it was a statement before, times what statements have
// lately changed by. A note that comes between two expected ones was added; one
// that does not come is missing.
func track(t []float64, members int, noiseSec float64) []int {
	var best []int
	most := 0
	for _, r := range bestRuns(t, members, noiseSec) {
		places := trackFrom(t, r, members, noiseSec)
		if n := matchedIn(places); n > most {
			best, most = places, n
		}
		if most >= len(t)*19/20 {
			break
		}
	}
	if best == nil {
		return nil
	}
	return fromFirst(best)
}

// trackFrom is track from one run on; its places count from there.
func trackFrom(t []float64, r run, members int, noiseSec float64) []int {
	logs := make([]float64, members)
	for k := range logs {
		i := r.from + k
		logs[k] = math.Log(math.Max(t[i+1]-t[i], 1e-6))
		if j := i + members; j+1 < len(t) { // the mean of both statements, where they agree
			if next := math.Log(math.Max(t[j+1]-t[j], 1e-6)) - r.ratio; math.Abs(next-logs[k]) < 0.3 {
				logs[k] = (logs[k] + next) / 2
			}
		}
	}
	places := slices.Repeat([]int{absent}, len(t))
	ahead := follower{t: t, logs: slices.Clone(logs), since: make([]int, members), ratio: r.ratio, noise: noiseSec}
	ahead.run(r.from, func(i, place int) { places[i] = place })

	back := make([]float64, len(t))
	for i := range t {
		back[i] = -t[len(t)-1-i]
	}
	slices.Reverse(logs)
	behind := follower{t: back, logs: logs, since: slices.Repeat([]int{-1}, members), ratio: -r.ratio, noise: noiseSec}
	behind.run(len(t)-1-r.from, func(i, place int) { places[len(t)-1-i] = -place })
	return places
}

// fromFirst counts places from the first that there is.
func fromFirst(places []int) []int {
	first := slices.IndexFunc(places, func(p int) bool { return p != absent })
	if first < 0 {
		return nil
	}
	zero := places[first]
	for i, p := range places {
		if p != absent {
			places[i] = p - zero
		}
	}
	return places
}

// run is a statement that the next one repeats.
type run struct {
	from   int     // its first onset
	ratio  float64 // logarithm of what the next one's durations are to its own
	agreed int     // durations that agree
}

// mostRuns is from how many places a series is followed, until one will do.
const mostRuns = 4

// bestRuns are statements that the next one agrees with best, the best first and
// no two from one place.
func bestRuns(t []float64, members int, noiseSec float64) []run {
	pairs := len(t) - 1 - members // durations that have a fellow a statement later
	if pairs < 1 {
		return nil
	}
	length := min(members, pairs)
	stride := max(1, (pairs-length)/64)
	ratio := func(i int) float64 { return math.Log((t[i+members+1] - t[i+members]) / (t[i+1] - t[i])) }
	var runs []run
	var near []float64
	for s := 0; s+length <= pairs; s += stride {
		near = near[:0]
		for i := max(0, s+length/2-windowSize); i < min(pairs, s+length/2+windowSize); i++ {
			near = append(near, ratio(i))
		}
		r := run{from: s, ratio: median(near)}
		for i := s; i < s+length; i++ {
			if math.Abs(ratio(i)-r.ratio) < rhythmTolerance(t[i+1]-t[i], t[i+members+1]-t[i+members], noiseSec) {
				r.agreed++
			}
		}
		runs = append(runs, r)
	}
	slices.SortStableFunc(runs, func(a, b run) int { return cmp.Compare(b.agreed, a.agreed) })
	var out []run
	for _, r := range runs {
		apart := !slices.ContainsFunc(out, func(o run) bool { return abs(o.from-r.from) < members })
		if apart && len(out) < mostRuns {
			out = append(out, r)
		}
	}
	return out
}

// follower goes along onsets with a series of durations that it keeps adapting.
type follower struct {
	t     []float64
	logs  []float64 // of each member's duration, when last heard
	since []int     // the statement that was in
	ratio float64   // logarithm of what a statement's durations are to those of the one before
	noise float64   // seconds

	visits int // statements gone through
}

// mostMissing is how many notes in a row may be missing before the series is
// said to have ended.
const mostMissing = 3

// run tells found the place of each onset, from 0 at the given one.
func (f *follower) run(from int, found func(i, place int)) {
	found(from, 0)
	at, i, missing, heard := f.t[from], from+1, 0, true
	for place := 0; i < len(f.t) && missing <= mostMissing; place++ {
		member, statement := place%len(f.logs), place/len(f.logs)
		f.visits = statement
		log := f.logs[member] + f.ratio*float64(statement-f.since[member])
		want := at + math.Exp(log)
		hit := f.nearest(i, want, f.tolerance(math.Exp(log), missing))
		if hit < 0 {
			at, missing, heard = want, missing+1, false
			continue
		}
		if i = hit; heard {
			f.learn(member, statement, log, f.t[i]-at)
		}
		found(i, place+1)
		at, missing, heard = f.t[i], 0, true
		i++
	}
}

// tolerance is how far an onset may lie from where it is expected: four standard
// deviations of its own error, that of the onset before and that of what was
// learned; and a little for the tempo.
func (f *follower) tolerance(duration float64, missing int) float64 {
	own := 4 * f.noise * math.Sqrt(2+2/float64(1+min(f.visits, 4))+float64(missing))
	return math.Min(own+0.015*duration, 0.42*duration)
}

// nearest is the onset from i on that is nearest to a time and within tolerance,
// or -1.
func (f *follower) nearest(i int, want, tolerance float64) int {
	best := -1
	for ; i < len(f.t) && f.t[i] <= want+tolerance; i++ {
		if off := math.Abs(f.t[i] - want); off <= tolerance && (best < 0 || off < math.Abs(f.t[best]-want)) {
			best = i
		}
	}
	return best
}

// learn takes up what a duration has turned out to be.
func (f *follower) learn(member, statement int, expected, duration float64) {
	r := math.Log(duration) - expected
	if statement > f.since[member] {
		f.ratio += 0.05 * r
	}
	f.logs[member] = expected + r/float64(min(2+f.visits, 4))
	f.since[member] = statement
}
