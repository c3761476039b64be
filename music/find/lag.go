package find

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Bounds of the search for periods, which keep its cost near linear.
const (
	mostLag    = 4096 // members of a series
	sampleSize = 480  // places of a voice that are compared at each lag
	windowSize = 24   // neighbours among which a tempo hardly moves
)

// lagScore is how well a series agrees with itself so many members later.
type lagScore struct {
	lag   int
	share float64 // of the places compared
	shift int     // of pitches: semitones
}

// rhythmLags compares each duration with the one lag members later, for every
// lag that leaves two statements. Only ratios count, and only against the middle
// of their neighbours', so that a tempo may move or each statement be stretched.
// Durations are in seconds, noiseSec is the standard deviation of an onset.
//
// To compare a text with itself at a lag, errors allowed, is the Hamming distance
// of its shifts (G. Landau and J. Schmidt, An algorithm for approximate tandem
// repeats, 1993); to look at places spread over the text, as here, gives its share
// to a few per cent at a cost that does not grow with the text.
func rhythmLags(ctx context.Context, durations []float64, noiseSec float64) []lagScore {
	n := len(durations)
	logs := make([]float64, n)
	for i, d := range durations {
		logs[i] = math.Log(math.Max(d, 1e-6))
	}
	most := min((n+1)/2, mostLag)
	scores := make([]lagScore, 0, most)
	ratios := make([]float64, 0, windowSize)
	for lag := 1; lag <= most && ctx.Err() == nil; lag++ {
		compared, agreed := 0, 0
		for _, from := range windows(n-lag, windowSize) {
			to := min(from+windowSize, n-lag)
			ratios = ratios[:0]
			for i := from; i < to; i++ {
				ratios = append(ratios, logs[i+lag]-logs[i])
			}
			middle := median(ratios)
			for i := from; i < to; i++ {
				compared++
				if math.Abs(logs[i+lag]-logs[i]-middle) < rhythmTolerance(durations[i], durations[i+lag], noiseSec) {
					agreed++
				}
			}
		}
		if compared > 0 {
			scores = append(scores, lagScore{lag: lag, share: float64(agreed) / float64(compared)})
		}
	}
	return scores
}

// rhythmTolerance is how far the logarithm of the ratio of two equal durations
// may stray: each end of each has its own error, and tempo moves a little.
func rhythmTolerance(a, b, noiseSec float64) float64 {
	return math.Min(0.02+3*noiseSec*math.Sqrt(2/(a*a)+2/(b*b)), 0.45)
}

// windows are where windows of a length of places begin that together hold about
// sampleSize of n, spread evenly.
func windows(n, size int) []int {
	count := min((n+size-1)/size, sampleSize/size)
	starts := make([]int, count)
	for i := range starts {
		if count > 1 {
			starts[i] = i * max(n-size, 0) / (count - 1)
		}
	}
	return starts
}

// pitchLags compares each chord with the one lag members later, for the
// transposition that most agree on. Places without a chord (base below 0) do not
// count.
func pitchLags(ctx context.Context, line []member) []lagScore {
	n := len(line)
	most := min(n/2, mostLag)
	scores := make([]lagScore, 0, most)
	var shifts [512]int
	for lag := 1; lag <= most && ctx.Err() == nil; lag++ {
		clear(shifts[:])
		compared, best, shift := 0, 0, 0
		for _, from := range windows(n-lag, windowSize) {
			for i := from; i < min(from+windowSize, n-lag); i++ {
				a, b := line[i], line[i+lag]
				if a.base < 0 || b.base < 0 {
					continue
				}
				compared++
				if a.shape != b.shape {
					continue
				}
				d := b.base - a.base
				shifts[d+256]++
				if c := shifts[d+256]; c > best || c == best && abs(d) < abs(shift) {
					best, shift = c, d
				}
			}
		}
		if compared > 0 {
			scores = append(scores, lagScore{lag: lag, share: float64(best) / float64(compared), shift: shift})
		}
	}
	return scores
}

// candidates are the lags worth a closer look: those that stand out from what is
// usual, the best first, at most so many.
func candidates(scores []lagScore, most int) []lagScore {
	if len(scores) == 0 {
		return nil
	}
	shares := make([]float64, len(scores))
	best := 0.0
	for i, s := range scores {
		shares[i] = s.share
		best = math.Max(best, s.share)
	}
	usual := math.Min(median(shares), best/2)
	var out []lagScore
	for _, s := range scores {
		if s.share >= usual+0.45*(best-usual) {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b lagScore) int { return cmp.Compare(b.share, a.share) })
	if len(out) <= most {
		return out
	}
	head := out[: most*2/3 : most*2/3] // and the shortest of those that nearly are as good
	rest := slices.DeleteFunc(out[most*2/3:], func(s lagScore) bool { return s.share < usual+0.7*(best-usual) })
	slices.SortStableFunc(rest, func(a, b lagScore) int { return cmp.Compare(a.lag, b.lag) })
	return append(head, rest[:min(len(rest), most/3)]...)
}

// median is the middle of the values, which it sorts; NaN of none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	if m := len(values) / 2; len(values)%2 == 1 {
		return values[m]
	} else {
		return (values[m-1] + values[m]) / 2
	}
}

func abs(n int) int { return max(n, -n) }
