package find

import "math"

// How the choice between laws of tempo is made: all by the likelihood of errors
// that are normal (the sum of squares enters as n/2 times its logarithm), with
// what stands against each law and each number, in the manner of J. Rissanen,
// Modeling by shortest data description (Automatica 14, 1978).
const (
	floorSec   = 3e-7 // what a table of nine decimals, or our own arithmetic, may be off
	againstLaw = 7.0  // nats that a moving tempo must gain over a constant one
	alikeLaw   = 12.0 // nats within which simple durations decide between laws
	mostSpots  = 3000 // spots that choose the law; all of them fit it
)

// deviance is n/2 times the logarithm of the mean squared error.
func deviance(sse float64, n int) float64 {
	return float64(n) / 2 * math.Log(sse/float64(n)+floorSec*floorSec)
}

// deviation is the standard deviation of the errors about a fit with so many
// free numbers.
func deviation(sse float64, n, free int) float64 {
	return math.Sqrt(sse/float64(max(1, n-free)) + floorSec*floorSec)
}

// chooseClock fits every law of tempo to the spots and takes the one that says
// most with least: a constant tempo unless a moving one is far better, and of two
// that are equally good the one whose durations are simple numbers.
func chooseClock(spots []spot, members int) fit {
	all := spots
	spots = thinned(spots, mostSpots)
	span := spots[len(spots)-1].t
	laws := []fit{fitEven(spots, members, warp{shape: Constant})}
	if !curved(spots, &laws[0]) {
		return simpler(laws[0], all, members)
	}
	for _, shape := range []Shape{Geometric, PerUnit, PerSecond} {
		theta, sse := least(func(theta float64) float64 {
			return fitEven(spots, members, warp{shape, theta, span}).sse
		}, -3.3, 3.3, 34)
		if !math.IsNaN(sse) && !math.IsInf(sse, 0) {
			laws = append(laws, fitEven(spots, members, warp{shape, theta, span}))
		}
	}
	lowest := math.Inf(1)
	for _, f := range laws[1:] {
		lowest = math.Min(lowest, deviance(f.sse, len(spots)))
	}
	if deviance(laws[0].sse, len(spots))-lowest < againstLaw {
		return simpler(laws[0], all, members)
	}
	best, cost := fit{}, math.Inf(1)
	for _, f := range laws[1:] {
		if deviance(f.sse, len(spots))-lowest > alikeLaw {
			continue
		}
		for _, g := range []fit{simpler(f, all, members), stretched(f, all, members)} {
			if c := costOf(g, len(all)); c < cost {
				best, cost = g, c
			}
		}
	}
	return best
}

// curved reports whether the errors of a constant tempo go along a parabola or a
// cubic, as those of a moving one do: whether it is worth while to try the laws.
func curved(spots []spot, f *fit) bool {
	span := spots[len(spots)-1].t
	var p2, p3, e2, e3, sse float64
	for _, s := range spots {
		e := s.t - f.clock.from - f.clock.length*float64(s.statement) - f.clock.offset[s.member]
		u := 2*s.t/span - 1
		a, b := (3*u*u-1)/2, (5*u*u*u-3*u)/2
		p2, p3, e2, e3, sse = p2+a*a, p3+b*b, e2+a*e, e3+b*e, sse+e*e
	}
	gain := math.Min(e2*e2/p2+e3*e3/p3, sse)
	return deviance(sse, len(spots))-deviance(sse-gain, len(spots)) > 3
}

// costOf is what it takes to say the durations of a fit and what is left over, in
// nats. Durations that are not whole take as much as their precision.
func costOf(f fit, n int) float64 {
	cost := deviance(f.sse, n)
	if f.clock.whole == nil {
		return cost + 7*float64(len(f.clock.offset))
	}
	for _, d := range f.clock.whole {
		cost += 2 * math.Log(float64(d)+1)
	}
	return cost
}

// simpler makes the durations of a fit whole numbers of a unit, if they are, and
// fits its law once more with all spots.
func simpler(f fit, spots []spot, members int) fit {
	w := f.clock.warp
	full := fitEven(spots, members, w)
	sample := thinned(spots, mostSpots)
	free := fitEven(sample, members, w).sse
	for whole := range wholeDurations(durationsOf(&full.clock), durationError(full.sse, len(spots), members)) {
		law, sse := w, 0.0
		if w.shape == Constant {
			sse = fitWhole(sample, whole, w, 1).sse
		} else {
			law.theta, sse = least(func(theta float64) float64 {
				return fitWhole(sample, whole, warp{w.shape, theta, w.span}, 1).sse
			}, w.theta-0.1, w.theta+0.1, 7)
		}
		if noWorse(sse, free, len(sample), members) {
			return noisy(fitWhole(spots, whole, law, 1), len(spots), 3)
		}
	}
	return noisy(full, len(spots), members+2)
}

// noWorse reports whether a fit with so many fewer free numbers is as good as it
// would be if they did not matter: the likelihood ratio of the two (S. S. Wilks,
// The large-sample distribution of the likelihood ratio, 1938).
func noWorse(sse, free float64, n, fewer int) bool {
	spare := float64(n) / float64(max(1, n-fewer-2)) // errors of few spots look small when much is free
	return 2*(deviance(sse, n)-deviance(free*spare, n)) <= chiSquared(fewer)
}

// stretched is a fit to statements that are each so many times as long as the
// one before, which geometric tempo does to their ratio too; its cost is infinite
// where the law is another one or the durations are not simple as they stand.
func stretched(f fit, spots []spot, members int) fit {
	none := fit{sse: math.Inf(1)}
	if f.clock.warp.shape != Geometric {
		return none
	}
	sample := thinned(spots, mostSpots)
	about := -f.clock.length / f.clock.warp.scale()
	if math.Abs(about) < 0.002 {
		return none
	}
	reach := math.Min(0.05, math.Abs(about)/2)
	log, free := least(func(log float64) float64 {
		return fitStretched(sample, members, math.Exp(log)).sse
	}, about-reach, about+reach, 5)
	full := fitStretched(spots, members, math.Exp(log))
	for whole := range wholeDurations(durationsOf(&full.clock), durationError(full.sse, len(spots), members)) {
		sse := func(ratio float64) float64 {
			return fitWhole(sample, whole, warp{shape: Constant}, ratio).sse
		}
		log, lowest := least(func(log float64) float64 { return sse(math.Exp(log)) }, log-reach/5, log+reach/5, 5)
		if !noWorse(lowest, free, len(sample), members) {
			continue
		}
		ratio := math.Exp(log)
		off := stretchError(sse, ratio, lowest, len(sample))
		if num, den := simplest(ratio-off, ratio+off); den <= 1000 {
			return noisy(fitWhole(spots, whole, warp{shape: Constant}, float64(num)/float64(den)), len(spots), 3)
		}
	}
	return none
}

// stretchError is within what a ratio of statements is known: four standard
// deviations, from how steeply the errors grow about the best one.
func stretchError(sse func(float64) float64, ratio, lowest float64, n int) float64 {
	const small = 1e-4
	steep := (sse(ratio+small) + sse(ratio-small) - 2*lowest) / (2 * small * small)
	if !(steep > 0) {
		return small
	}
	return math.Min(4*deviation(lowest, n, 3)/math.Sqrt(steep)+1e-8, 0.01)
}

func durationsOf(c *clock) []float64 {
	out := make([]float64, len(c.offset))
	for i := range out {
		out[i] = c.duration(i)
	}
	return out
}

// durationError is the standard error of a member's duration: both of its ends
// are means over as many statements as there are.
func durationError(sse float64, n, members int) float64 {
	return deviation(sse, n, members+2) * math.Sqrt(2*float64(members)/float64(n))
}

func noisy(f fit, n, free int) fit {
	f.clock.noise = deviation(f.sse, n, free)
	return f
}
