package exact

import "math/big"

// Powers of phi, the golden ratio, within sums: phi^n = (L + F sqrt 5)/2 with
// the Lucas number L and the Fibonacci number F of n.

var sqrt5 = Frac(5, 1).Pow(NewRat(1, 2))

func halve(x *big.Rat) *big.Rat { return x.Mul(x, big.NewRat(1, 2)) }

// lucasFibonacci are the numbers L and F of phi^n = (L + F sqrt 5)/2, for any n.
func lucasFibonacci(n int) (lucas, fibonacci *big.Rat) {
	l, f := big.NewInt(2), big.NewInt(0)
	for range max(n, -n) { // phi * (l + f sqrt 5)/2 = ((l + 5f)/2 + (l + f)/2 sqrt 5)/2
		next := new(big.Int).Mul(f, big.NewInt(5))
		next.Add(next, l).Rsh(next, 1)
		f.Add(f, l).Rsh(f, 1)
		l = next
	}
	if n < 0 { // phi^-n = (-1)^n times the conjugate
		f.Neg(f)
		if n%2 != 0 {
			l.Neg(l)
			f.Neg(f)
		}
	}
	return new(big.Rat).SetInt(l), new(big.Rat).SetInt(f)
}

// phiPower writes two terms as coef * root, root with a power of phi in it, if
// they are that: r*(a + b sqrt 5), where r sqrt 5 may stand reduced as 5 times
// another root.
func (s Sum) phiPower() (coef *big.Rat, root Real, ok bool) {
	for i, plain := range s.terms {
		other := s.terms[1-i]
		b := new(big.Rat).Set(other.Coef)
		switch ratio := other.Root.Quo(plain.Root); {
		case ratio.sameForm(sqrt5.Inv()):
			b.Mul(b, big.NewRat(1, 5))
		case !ratio.sameForm(sqrt5):
			continue
		}
		if n, ok := phiExponent(new(big.Rat).Quo(plain.Coef, b)); ok {
			lucas, _ := lucasFibonacci(n)
			coef = lucas.Quo(plain.Coef, halve(lucas))
			return coef, plain.Root.Mul(Phi.Pow(Int(int64(n)))), coef.Sign() > 0
		}
	}
	return nil, Real{}, false
}

// phiExponent is the n, not 0, for which phi^n is a multiple of ratio + sqrt 5.
// Ratio is then L/F for a positive n, and -L/F of -n for a negative one.
func phiExponent(ratio *big.Rat) (n int, ok bool) {
	size, quotient := new(big.Rat).Abs(ratio), new(big.Rat)
	for n := 1; n <= maxPhiSearch; n++ {
		if lucas, fibonacci := lucasFibonacci(n); quotient.Quo(lucas, fibonacci).Cmp(size) == 0 {
			return n * ratio.Sign(), true
		}
	}
	return 0, false
}

// maxPhiSearch is the largest power of phi that Sum.Real recognises.
const maxPhiSearch = 64
