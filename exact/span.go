package exact

import (
	"math/big"
	"slices"
)

// InSpan finds the fractions x and y with s = x*a + y*b, which are the only
// ones where a/b is irrational: the caller sees to that. Yes: here they are.
// No: there are none. Unknown: pi and e are mixed so that nothing is proved,
// or a/b is rational after all.
func (s Sum) InSpan(a, b Real) (x, y *big.Rat, ans Answer) {
	if a.Commensurable(b) != No {
		return nil, nil, Unknown
	}
	left, right := SumOf(a), SumOf(b)
	x, y, ok := s.solve(left, right)
	if ok {
		return x, y, Yes
	}
	if independent(slices.Concat(s.terms, left.terms, right.terms)) {
		return nil, nil, No
	}
	return nil, nil, Unknown
}

// solve finds x and y with s = x*a + y*b coefficient by coefficient.
func (s Sum) solve(a, b Sum) (x, y *big.Rat, ok bool) {
	// Two roots whose coefficients in a and b are not proportional give x and
	// y by Cramer's rule; the others then agree or there is no solution.
	roots := slices.Concat(a.terms, b.terms)
	for i := range roots {
		for j := range i {
			p, q := roots[i].Root, roots[j].Root
			det := determinant(a.coef(p), b.coef(p), a.coef(q), b.coef(q))
			if det.Sign() == 0 {
				continue
			}
			x = determinant(s.coef(p), b.coef(p), s.coef(q), b.coef(q))
			y = determinant(a.coef(p), s.coef(p), a.coef(q), s.coef(q))
			x.Quo(x, det)
			y.Quo(y, det)
			return x, y, len(s.Sub(a.Scale(x)).Sub(b.Scale(y)).terms) == 0
		}
	}
	return nil, nil, false
}

// determinant is a*d - b*c.
func determinant(a, b, c, d *big.Rat) *big.Rat {
	left := new(big.Rat).Mul(a, d)
	return left.Sub(left, new(big.Rat).Mul(b, c))
}

// coef is the coefficient of root in s, 0 when it is not there.
func (s Sum) coef(root Real) *big.Rat {
	i, found := slices.BinarySearchFunc(s.terms, Term{Root: root}, compareRoots)
	if !found {
		return new(big.Rat)
	}
	return s.terms[i].Coef
}
