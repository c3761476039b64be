package exact

import (
	"fmt"
	"math/big"
	"math/bits"
	"slices"
)

// maxFactorBits is the size of number that is always taken apart in well under
// a millisecond, once the primes below smallPrimeLimit are out of it.
const (
	maxFactorBits   = 63
	smallPrimeLimit = 1000
)

// smallPrimes are the primes below smallPrimeLimit, by the sieve of Eratosthenes.
var smallPrimes = sieve(smallPrimeLimit)

func sieve(limit int) []uint64 {
	composite := make([]bool, limit)
	var primes []uint64
	for n := 2; n < limit; n++ {
		if composite[n] {
			continue
		}
		primes = append(primes, uint64(n))
		for m := n * n; m < limit; m += n {
			composite[m] = true
		}
	}
	return primes
}

// primePower is one factor of a whole number.
type primePower struct {
	prime uint64
	power int64
}

// factorBig takes n, 1 or more, apart into primes in ascending order. The
// error says what is too large: what the primes below 1000 leave of n.
func factorBig(n *big.Int) ([]primePower, error) {
	if n.BitLen() <= maxFactorBits {
		return factor(n.Uint64()), nil
	}
	var factors []primePower
	rest, quotient, remainder := new(big.Int).Set(n), new(big.Int), new(big.Int)
	divisor := new(big.Int)
	for _, p := range smallPrimes {
		divisor.SetUint64(p)
		var power int64
		for {
			quotient.QuoRem(rest, divisor, remainder)
			if remainder.Sign() != 0 {
				break
			}
			rest.Set(quotient)
			power++
		}
		if power > 0 {
			factors = append(factors, primePower{p, power})
		}
		if rest.BitLen() <= maxFactorBits {
			return mergeFactors(factors, factor(rest.Uint64())), nil
		}
	}
	return nil, fmt.Errorf("exact: a number of %d digits has prime factors that are too large to find (more than %d bits)",
		len(n.String()), maxFactorBits)
}

// mergeFactors joins small factors with those of what they left, whose
// smallest prime may be the last of the small ones.
func mergeFactors(small, rest []primePower) []primePower {
	if len(small) > 0 && len(rest) > 0 && small[len(small)-1].prime == rest[0].prime {
		small[len(small)-1].power += rest[0].power
		rest = rest[1:]
	}
	return append(small, rest...)
}

// factor takes n, below 2^63, apart into primes in ascending order.
func factor(n uint64) []primePower {
	var factors []primePower
	for _, p := range smallPrimes {
		if p*p > n {
			break
		}
		var power int64
		for ; n%p == 0; n /= p {
			power++
		}
		if power > 0 {
			factors = append(factors, primePower{p, power})
		}
	}
	if n == 1 || n == 0 {
		return factors
	}
	large := splitLarge(nil, n)
	slices.Sort(large)
	for _, p := range large {
		if last := len(factors) - 1; last >= 0 && factors[last].prime == p {
			factors[last].power++
		} else {
			factors = append(factors, primePower{p, 1})
		}
	}
	return factors
}

// splitLarge appends the primes of n, in any order and as often as they occur.
// n is more than 1 and either prime or without factors below smallPrimeLimit.
func splitLarge(primes []uint64, n uint64) []uint64 {
	if n < smallPrimeLimit*smallPrimeLimit || isPrime(n) {
		return append(primes, n)
	}
	d := rho(n)
	return splitLarge(splitLarge(primes, d), n/d)
}

// isPrime is the test of Miller and Rabin for an odd n below 2^63. With the
// first twelve primes as bases it makes no mistake below 3.18e23: J. Sorenson
// and J. Webster, Math. Comp. 86 (2017) 985-1003.
func isPrime(n uint64) bool {
	m := newModulus(n)
	shift := bits.TrailingZeros64(n - 1)
	odd := (n - 1) >> shift
	for _, base := range smallPrimes[:12] {
		if base%n != 0 && !m.passes(base, odd, shift) {
			return false
		}
	}
	return true
}

// passes reports whether base^odd is 1, or becomes -1 by squaring less than
// shift times: always so when the modulus is prime.
func (m modulus) passes(base, odd uint64, shift int) bool {
	one, minusOne := m.enter(1), m.enter(m.n-1)
	x, square := one, m.enter(base)
	for ; odd > 0; odd >>= 1 {
		if odd&1 == 1 {
			x = m.mul(x, square)
		}
		square = m.mul(square, square)
	}
	if x == one {
		return true
	}
	for range shift {
		if x == minusOne {
			return true
		}
		x = m.mul(x, x)
	}
	return false
}

// rho finds a proper divisor of an odd composite n: J. M. Pollard, BIT 15
// (1975) 331-334, with the cycle finding of R. P. Brent, BIT 20 (1980)
// 176-184. For n below 2^63 some 50,000 steps are expected, a third of a
// millisecond.
func rho(n uint64) uint64 {
	m := newModulus(n)
	for c := uint64(1); ; c++ {
		if d := m.rhoFrom(m.enter(2), m.enter(c)); d != n {
			return d
		}
	}
}

// rhoFrom iterates x*x + c. It returns n when the walk closes on itself
// without showing a divisor.
func (m modulus) rhoFrom(start, c uint64) uint64 {
	const batch = 128 // differences multiplied together before one gcd
	y := start
	for length := 1; ; length *= 2 {
		x := y
		for range length {
			y = m.step(y, c)
		}
		for done := 0; done < length; done += batch {
			resume, product := y, m.enter(1)
			for range min(batch, length-done) {
				y = m.step(y, c)
				product = m.mul(product, difference(x, y))
			}
			if d := gcd(product, m.n); d > 1 {
				if d < m.n {
					return d
				}
				return m.slowly(x, resume, c)
			}
		}
	}
}

// slowly repeats a batch step by step, after two divisors came in one batch.
func (m modulus) slowly(x, y, c uint64) uint64 {
	for {
		y = m.step(y, c)
		if d := gcd(difference(x, y), m.n); d > 1 {
			return d
		}
	}
}

func (m modulus) step(x, c uint64) uint64 {
	x = m.mul(x, x) + c // both below 2^63: no overflow
	if x >= m.n {
		x -= m.n
	}
	return x
}

func difference(a, b uint64) uint64 {
	if a < b {
		return b - a
	}
	return a - b
}

// modulus multiplies modulo an odd n below 2^63 without dividing: P. L.
// Montgomery, Math. Comp. 44 (1985) 519-521. Numbers are held times 2^64.
type modulus struct {
	n       uint64
	inverse uint64 // -1/n modulo 2^64
	square  uint64 // 2^128 modulo n
}

func newModulus(n uint64) modulus {
	inverse := n // correct to 3 bits; each Newton step doubles that
	for range 5 {
		inverse *= 2 - n*inverse
	}
	_, r := bits.Div64(1%n, 0, n) // 2^64 modulo n
	high, low := bits.Mul64(r, r)
	_, square := bits.Div64(high%n, low, n)
	return modulus{n, -inverse, square}
}

func (m modulus) enter(x uint64) uint64 { return m.mul(x, m.square) }

// mul is x*y/2^64 modulo n, for x and y below n.
func (m modulus) mul(x, y uint64) uint64 {
	high, low := bits.Mul64(x, y)
	q := low * m.inverse
	addHigh, addLow := bits.Mul64(q, m.n)
	_, carry := bits.Add64(low, addLow, 0)
	result := high + addHigh + carry // below 2n, so below 2^64
	if result >= m.n {
		result -= m.n
	}
	return result
}
