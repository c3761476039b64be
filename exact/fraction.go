package exact

import "math/big"

// ContinuedFraction is the beginning of x as a continued fraction: at most n
// whole numbers a0, a1, ... with x = a0 + 1/(a1 + 1/(a2 + ...)), a0 from 0 and
// the others from 1. That of a fraction ends, and its last number is 2 or more
// (unless it is the only one). All numbers returned are proved, by bounds on
// both sides of x; fewer than n come back for an irrational x only when 2^14 +
// 16n bits do not settle the next one, or x is beyond what Float can hold.
func (x Real) ContinuedFraction(n int) []*big.Int {
	if n <= 0 {
		return nil
	}
	if r, ok := x.Rat(); ok {
		return euclid(r, n)
	}
	if l := x.log2(); !(l < maxRatBits && l > -maxRatBits) {
		return nil
	}
	var terms []*big.Int
	limit := uint(1<<14 + 16*n)
	if x.mixed() {
		limit = MaxBits // it might be a fraction: then no precision would do
	}
	for working := uint(128); working <= limit; working *= 2 {
		terms = x.settledTerms(n, working)
		if len(terms) == n {
			break
		}
	}
	return terms
}

// settledTerms are the first terms that a lower and an upper bound of x share.
func (x Real) settledTerms(n int, working uint) []*big.Int {
	low, high := new(big.Float).SetPrec(working+8), new(big.Float).SetPrec(working+8)
	x.interval(low, high, working)
	a, _ := low.Rat(nil)
	b, _ := high.Rat(nil)
	if a.Sign() <= 0 {
		return nil
	}
	// One term more than is sure, so that the last term of a bound, which a
	// number close to it does not share, is never taken for one of x.
	lows, highs := euclid(a, n+1), euclid(b, n+1)
	shared := 0
	for shared < min(len(lows), len(highs), n) && lows[shared].Cmp(highs[shared]) == 0 {
		shared++
	}
	return lows[:min(shared, len(lows)-1, len(highs)-1)]
}

// euclid is Euclid's algorithm: the quotients are the continued fraction.
func euclid(r *big.Rat, n int) []*big.Int {
	num, den := new(big.Int).Set(r.Num()), new(big.Int).Set(r.Denom())
	var terms []*big.Int
	for len(terms) < n && den.Sign() != 0 {
		quotient, remainder := new(big.Int).QuoRem(num, den, new(big.Int))
		terms = append(terms, quotient)
		num, den = den, remainder
	}
	return terms
}

// Convergents are the fractions that the first terms of the continued fraction
// give, at most n: the best approximations of x for the size of their
// denominators.
func (x Real) Convergents(n int) []*big.Rat {
	terms := x.ContinuedFraction(n)
	convergents := make([]*big.Rat, len(terms))
	num, numBefore := big.NewInt(1), big.NewInt(0)
	den, denBefore := big.NewInt(0), big.NewInt(1)
	for i, a := range terms {
		num, numBefore = new(big.Int).Add(new(big.Int).Mul(a, num), numBefore), num
		den, denBefore = new(big.Int).Add(new(big.Int).Mul(a, den), denBefore), den
		convergents[i] = new(big.Rat).SetFrac(num, den)
	}
	return convergents
}
