package plan

import (
	"math/big"

	"rollwright/exact"
)

// relation is what is known about two clocks: whether their steps have a
// common measure, and which steps of one fall on steps of the other.
type relation struct {
	common  exact.Answer // are the steps commensurable?
	ratio   *big.Rat     // step of A / step of B, when they are
	offset  *big.Rat     // start of B - start of A in steps of A, when rational; nil: it is not
	meet    exact.Answer // can steps ever coincide? Unknown: not decided
	lattice lattice      // which do, when meet is Yes
	// incommensurable: the only instant lies x steps of A and y of B after their starts; nil: there is none
	x, y *big.Rat
}

// lattice is all pairs of steps that coincide: i0 + k*di of A with j0 + k*dj
// of B, for every integer k, negative ones too. Both di and dj are 0 when there
// is only one pair. 0 <= i0 < di otherwise.
type lattice struct {
	i0, di, j0, dj int64
}

// relate solves startA + i*stepA = startB + j*stepB in integers.
func relate(a, b *onsets) relation {
	stepA, stepB := a.step(), b.step()
	apart := b.clock.start.Sub(a.clock.start)
	ratio := stepA.Quo(stepB)
	r := relation{common: ratio.Rational()}
	switch r.common {
	case exact.Yes:
		r.ratio, _ = ratio.Rat()
		r.meet = r.solveCommon(apart, stepA)
	case exact.No:
		r.meet = r.solveOnce(apart, stepA, stepB)
	}
	return r
}

// solveCommon: with stepA/stepB = p/q, i*p - j*q = d*p, where d is the
// distance of the starts in steps of A.
func (r *relation) solveCommon(apart exact.Sum, stepA exact.Real) exact.Answer {
	d, ans := rational(apart.MulReal(stepA.Inv()))
	if ans != exact.Yes {
		return ans
	}
	r.offset = d
	p, q := r.ratio.Num(), r.ratio.Denom()
	c := new(big.Rat).Mul(d, new(big.Rat).SetInt(p))
	if !c.IsInt() {
		return exact.No
	}
	// i = c/p modulo q; p and q have no common factor.
	i0 := new(big.Int)
	if q.Cmp(big.NewInt(1)) != 0 {
		i0.ModInverse(p, q)
		i0.Mod(i0.Mul(i0, c.Num()), q)
	}
	j0 := new(big.Int).Mul(i0, p)
	j0.Quo(j0.Sub(j0, c.Num()), q)
	if !i0.IsInt64() || !j0.IsInt64() || !p.IsInt64() || !q.IsInt64() {
		return exact.Unknown
	}
	r.lattice = lattice{i0.Int64(), q.Int64(), j0.Int64(), p.Int64()}
	return exact.Yes
}

// solveOnce: incommensurable steps leave at most one solution, the
// coordinates of the distance of the starts in the basis of the two steps.
func (r *relation) solveOnce(apart exact.Sum, stepA, stepB exact.Real) exact.Answer {
	x, y, ans := apart.InSpan(stepA, stepB)
	if ans != exact.Yes {
		return ans
	}
	r.x, r.y = x, y.Neg(y)
	if !r.x.IsInt() || !r.y.IsInt() || !r.x.Num().IsInt64() || !r.y.Num().IsInt64() {
		return exact.No
	}
	r.lattice = lattice{i0: r.x.Num().Int64(), j0: r.y.Num().Int64()}
	return exact.Yes
}

// rational is s as a fraction, when it is one. 1 and the root of a prime that
// cannot stand in s make a basis in which a fraction has no second coordinate.
func rational(s exact.Sum) (*big.Rat, exact.Answer) {
	if s.IsZero() == exact.Yes {
		return new(big.Rat), exact.Yes
	}
	x, y, ans := s.InSpan(exact.Frac(1, 1), foreignRoot)
	if ans == exact.Yes && y.Sign() != 0 {
		return nil, exact.No
	}
	return x, ans
}

// foreignRoot is a root that no piece is likely to use; one that did would be
// found irrational all the same.
var foreignRoot = exact.Frac(1_000_003, 1).Pow(exact.NewRat(1, 2))

// ticks puts the onsets of two voices with commensurable steps on one scale of
// whole numbers, so that equal numbers are equal instants. It reports false
// when the numbers would not fit. The last result is the length of one tick.
func (r *relation) ticks(a, b *onsets) (ta, tb []int64, tick exact.Real, ok bool) {
	// One tick is stepA / (p*m): an onset of A is i*p*m ticks, one of B is
	// d*p*m + j*q*m, where m clears the denominator of d*p.
	p, q := r.ratio.Num(), r.ratio.Denom()
	c := new(big.Rat).Mul(r.offset, new(big.Rat).SetInt(p))
	m := c.Denom()
	scaleA, scaleB := new(big.Int).Mul(p, m), new(big.Int).Mul(q, m)
	perA := new(big.Rat).SetInt(scaleA)
	tickLength, err := exact.FromRat(perA.Inv(perA))
	if err != nil {
		return nil, nil, tick, false
	}
	ta, okA := stretch(a.steps.at, new(big.Int), scaleA)
	tb, okB := stretch(b.steps.at, c.Num(), scaleB)
	return ta, tb, a.step().Mul(tickLength), okA && okB
}

// finer is how many times finer the scale of ticks is than the steps need by
// themselves, for the sake of the distance of the starts.
func (r *relation) finer() int64 {
	c := new(big.Rat).Mul(r.offset, new(big.Rat).SetInt(r.ratio.Num()))
	return c.Denom().Int64() // the ticks have fitted
}

// stretch is offset + n*scale for every n, and false when one does not fit.
// The numbers rise, so the first and the last decide.
func stretch(at []int64, offset, scale *big.Int) ([]int64, bool) {
	if len(at) == 0 {
		return nil, true
	}
	end := func(n int64) bool {
		x := new(big.Int).Mul(big.NewInt(n), scale)
		return x.Add(x, offset).BitLen() < 63
	}
	if !end(at[0]) || !end(at[len(at)-1]) || !offset.IsInt64() || !scale.IsInt64() {
		return nil, false
	}
	o, s := offset.Int64(), scale.Int64()
	out := make([]int64, len(at))
	for i, n := range at {
		out[i] = o + n*s
	}
	return out, true
}
