package overhear

import (
	"math"
	"slices"
)

// Verdict is what became of a stroke.
type Verdict int8

// The verdicts.
const (
	Sounded Verdict = iota
	Silent
	Unsure
)

// String is the verdict as heard.csv has it.
func (v Verdict) String() string { return [...]string{"sounded", "silent", "unsure"}[v] }

// surelySounded and surelySilent are the certainties from which on a verdict is
// given.
const (
	surelySounded = 0.9
	surelySilent  = 0.95
)

// verdict of a stroke in the take.
func (s *stroke) verdict() Verdict {
	switch {
	case !s.inTake:
		return Unsure
	case s.sounded >= surelySounded:
		return Sounded
	case s.sounded <= 1-surelySilent:
		return Silent
	}
	return Unsure
}

// sure is the certainty of the verdict; of an unsure stroke, of what is likelier.
func (s *stroke) sure() float64 {
	if !s.inTake {
		return 0
	}
	return max(s.sounded, 1-s.sounded)
}

// Coefficients of a logistic regression (D. R. Cox, J. R. Statist. Soc. B 20
// (1958) 215) of the truth on what weight and onset give, over the 20,000 strokes of
// BenchmarkSeries -each 5 -from 5000; whether they hold is checked on others.
const (
	weightAll  = 6.6
	weightRise = 18.3
	trainPrior = 3.24 // log of how many more strokes sounded than not, there
)

// weights are those of a moment's odds as a share of what could be told, of that share
// times the root of what could be told, and of that root.
var weights = [moments]struct{ share, both, could float64 }{
	soon:  {-0.14, 1.73, -2.46},
	later: {0.74, 0.74, -0.50},
}

// clearPartials is from how many partials on, which nothing else explains, a stroke is
// not called silent, however many others fail: partials cancel, but do not come alone.
const clearPartials = 2

// told is how much what was heard speaks for a sound, in nats: the regression's
// answer without what was known before, and no more than the two can be told
// apart here.
func (s *stroke) told() float64 {
	x := weightAll - trainPrior
	all := 0.0
	for at := range moments {
		q := math.Sqrt(s.could[at]+1) - 1
		share := s.odds[at] / (s.could[at] + 2)
		x += weights[at].share*share + weights[at].both*share*q + weights[at].could*q
		all += s.could[at]
	}
	x += weightRise * s.rise * all / (all + 10)
	if s.clear >= clearPartials {
		x = max(x, 1)
	}
	bound := 0.7*all + 0.3
	return min(max(x, -bound), bound)
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// What is held before anything is heard: how many strokes of a key that speaks are
// lost, to begin with; how rare dead keys are among those that lie far below their
// neighbours where they are heard alone, and how rarely they speak.
const (
	lostPrior   = 0.03
	deadPrior   = 0.1
	deadSpeaks  = 0.01
	deadStrokes = 5   // with fewer, no key is called dead
	tempered    = 0.9 // strokes of one key err alike: each counts for so much of itself
)

// settle turns what every stroke tells into a probability by Bayes' rule. How
// often strokes are lost is taken from the take itself (the steps of A. P.
// Dempster and others, J. R. Statist. Soc. B 39 (1977) 1), and a key of five
// strokes and more may be dead: then silence is what is to be expected of it.
func (e *engine) settle() {
	keys := map[int][]int{}
	for i := range e.list {
		if e.list[i].inTake {
			keys[e.list[i].key] = append(keys[e.list[i].key], i)
		}
	}
	lost := lostPrior
	for range 4 {
		sum, count := 0.0, 0.0
		for key := range 128 { // in order, so that sums come out the same
			dead := e.settleKey(keys[key], lost)
			if dead > 0.5 || e.allSilent(keys[key]) {
				continue
			}
			for _, i := range keys[key] {
				sum, count = sum+1-e.list[i].sounded, count+1
			}
		}
		lost = min(max(sum/max(count, 1), 0.011), 0.18)
	}
}

// allSilent reports whether all of three strokes and more of a key are likely silent:
// such a key may be dead, though with fewer than five strokes it is not called so, and
// tells nothing of how often strokes are lost elsewhere.
func (e *engine) allSilent(strokes []int) bool {
	return len(strokes) >= 3 && !slices.ContainsFunc(strokes, func(i int) bool { return e.list[i].sounded > 0.5 })
}

// settleKey settles the strokes of one key and returns how likely it is dead.
func (e *engine) settleKey(strokes []int, lost float64) (dead float64) {
	prior := math.Log((1 - lost) / lost)
	if len(strokes) >= deadStrokes && e.faint[e.list[strokes[0]].key] > deadBelow {
		odds := math.Log(deadPrior / (1 - deadPrior))
		for _, i := range strokes {
			told := math.Exp(min(max(e.list[i].told(), -5), 5))
			odds += tempered * (math.Log(1-deadSpeaks+deadSpeaks*told) - math.Log(lost+(1-lost)*told))
		}
		dead = logistic(odds)
	}
	for _, i := range strokes {
		s := &e.list[i]
		told := s.told()
		s.sounded = dead*logistic(told+math.Log(deadSpeaks/(1-deadSpeaks))) + (1-dead)*logistic(told+prior)
		s.dead = dead
	}
	return dead
}
