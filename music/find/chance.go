package find

import "math"

// certain is how rarely chance may do as well for a claim to be made.
const certain = 1e-4

// Chance is how often chance would show at least hits agreements in one of so
// many tries of trials comparisons each, if each agrees with probability p: the
// upper tail of the binomial distribution times the number of tries (C. E.
// Bonferroni's inequality, 1936), at most 1. What p is follows W. F. Friedman,
// The Index of Coincidence and its Applications in Cryptography (1922): how
// often two members of the series, taken at random, agree.
//
// The tail is bounded as W. Hoeffding does (Probability inequalities for sums of
// bounded random variables, J. Amer. Stat. Assoc. 58, 1963, theorem 1): for a
// share a above p it is at most exp(-n D), with D = a ln(a/p) + (1-a)
// ln((1-a)/(1-p)). So what is said is never less than the truth.
func Chance(tries, hits, trials int, p float64) float64 {
	if trials <= 0 || hits <= 0 || p >= 1 {
		return 1
	}
	p = math.Max(p, 1/float64(4*trials))
	a := math.Min(1, float64(hits)/float64(trials))
	if a <= p {
		return 1
	}
	d := a * math.Log(a/p)
	if a < 1 {
		d += (1 - a) * math.Log((1-a)/(1-p))
	}
	return math.Min(1, math.Exp(math.Log(float64(max(1, tries)))-float64(trials)*d))
}
