package exact

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// reals draws products of the kind that music is written in, and worse.
func reals() *rapid.Generator[Real] { return realsFrom(basePi, baseE, basePhi) }

// roots draws Reals whose rationality is always known.
func roots() *rapid.Generator[Real] { return realsFrom(basePhi) }

func realsFrom(constants ...base) *rapid.Generator[Real] {
	return rapid.Custom(func(t *rapid.T) Real {
		x := Real{}
		for range rapid.IntRange(0, 4).Draw(t, "factors") {
			b := Frac(rapid.Int64Range(1, 60).Draw(t, "base"), 1)
			if rapid.IntRange(0, 3).Draw(t, "kind") == 0 {
				b = constantReal(rapid.SampledFrom(constants).Draw(t, "constant"))
			}
			x = x.Mul(b.Pow(smallRats().Draw(t, "power")))
		}
		return x
	})
}

func smallRats() *rapid.Generator[Rat] {
	return rapid.Custom(func(t *rapid.T) Rat {
		return NewRat(rapid.Int64Range(-12, 12).Draw(t, "num"), rapid.SampledFrom([]int64{1, 1, 2, 3, 12, 1200}).Draw(t,
			"den"))
	})
}

func TestRealIsAGroup(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y, z := reals().Draw(t, "x"), reals().Draw(t, "y"), reals().Draw(t, "z")
		p, q := smallRats().Draw(t, "p"), smallRats().Draw(t, "q")
		sum, _ := p.Add(q)
		product, _ := p.Mul(q)
		for law, pair := range map[string][2]Real{
			"x y = y x":            {x.Mul(y), y.Mul(x)},
			"(x y) z = x (y z)":    {x.Mul(y).Mul(z), x.Mul(y.Mul(z))},
			"x 1 = x":              {x.Mul(Real{}), x},
			"x / x = 1":            {x.Quo(x), {}},
			"(x y) / y = x":        {x.Mul(y).Quo(y), x},
			"x^p x^q = x^(p+q)":    {x.Pow(p).Mul(x.Pow(q)), x.Pow(sum)},
			"(x^p)^q = x^(pq)":     {x.Pow(p).Pow(q), x.Pow(product)},
			"(x y)^p = x^p y^p":    {x.Mul(y).Pow(p), x.Pow(p).Mul(y.Pow(p))},
			"text reads as before": {MustParse(x.String()), x},
		} {
			if pair[0].Equal(pair[1]) != Yes {
				t.Fatalf("%s fails: x = %v, y = %v, z = %v, p = %v, q = %v", law, x, y, z, p, q)
			}
		}
	})
}

func TestRealComparesLikeItsValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := reals().Draw(t, "x"), reals().Draw(t, "y")
		if got, want := x.Cmp(y), x.Float(300).Cmp(y.Float(300)); got != want {
			t.Fatalf("Cmp(%v, %v) = %d, the values say %d", x, y, got, want)
		}
		if (x.Cmp(y) == 0) != (x.Equal(y) == Yes) || x.Cmp(y) != -y.Cmp(x) {
			t.Fatalf("Cmp(%v, %v) = %d, Equal %v", x, y, x.Cmp(y), x.Equal(y))
		}
	})
}

// Numbers that agree to twenty and more digits.
func TestCmpOfNearlyEqualNumbers(t *testing.T) {
	for _, test := range []struct {
		x, y string
		want int
	}{
		// Convergents p/q of sqrt 2 (OEIS A001333, A000129) with p^2 - 2 q^2 = 1
		// lie above it, those with -1 below: here by less than 10^-34.
		{"sqrt(2)", "202605639573839043/143263821649299118", -1},
		{"sqrt(2)", "489133282872437279/345869461223138161", 1},
		{"pow(2, 84/53)", "3", -1}, // the circle of 53 fifths: 2^84 < 3^53, by 1/480
		{"pow(pi, 2) / pow(pi, 2)", "1", 0},
		{"e/pi", "e/pi", 0},
		{"pow(2, 1000) / pow(2, 999)", "2", 0},
	} {
		if got := MustParse(test.x).Cmp(MustParse(test.y)); got != test.want {
			t.Errorf("Cmp(%s, %s) = %d, want %d", test.x, test.y, got, test.want)
		}
	}
	// pi^2 against its own value cut off after 2^-3000: still told apart.
	square := Pi.Pow(Int(2))
	cut, _ := square.Float(60).Rat(nil)
	approximation, err := FromRat(cut)
	if err != nil {
		t.Fatal(err)
	}
	if c := square.Cmp(approximation); c != square.Float(500).Cmp(new(big.Float).SetPrec(500).SetRat(cut)) || c == 0 {
		t.Errorf("Cmp(pi^2, %v) = %d", approximation, c)
	}
	// Powers of ten million: one part in 10^13 apart, while the factors have
	// millions of digits.
	x := Frac(3, 1).Pow(Int(10_000_000)).Mul(Frac(1_000_000_000_001, 1_000_000_000_000))
	if got := x.Cmp(Frac(3, 1).Pow(Int(10_000_000))); got != 1 {
		t.Errorf("3^10^7 * (1 + 10^-12) against 3^10^7: %d", got)
	}
}

func TestWhatIsRational(t *testing.T) {
	for text, want := range map[string]Answer{
		"21/20":                      Yes,
		"sqrt(4)/3":                  Yes,
		"sqrt(2) * sqrt(8)":          Yes,
		"root(12, 4096)":             Yes,
		"cents(1200)":                Yes,
		"cents(701)":                 No,
		"sqrt(2)":                    No,
		"sqrt(31)/4":                 No,
		"cbrt(2)*cbrt(3)":            No,
		"phi":                        No,
		"phi*phi":                    No, // phi + 1
		"phi*sqrt(5)":                No, // (sqrt 5 + 5)/2
		"sqrt(phi)":                  No,
		"pi":                         No,
		"pi*sqrt(2)":                 No,
		"pow(pi, 3/7)":               No,
		"e":                          No,
		"sqrt(e)/3":                  No,
		"pi/pi":                      Yes,
		"e/pi":                       Unknown,
		"pi*e":                       Unknown,
		"pow(pi, 2)*sqrt(e)*phi/100": Unknown,
	} {
		x := MustParse(text)
		if got := x.Rational(); got != want {
			t.Errorf("%s: rational %v, want %v", text, got, want)
		}
		if r, ok := x.Rat(); ok != (want == Yes) {
			t.Errorf("%s: Rat is %v, %v", text, r, ok)
		}
		if got := x.Mul(MustParse("e*sqrt(7)")).Commensurable(MustParse("e*sqrt(7)")); got != want {
			t.Errorf("%s and 1, each times e sqrt 7: commensurable %v, want %v", text, got, want)
		}
	}
}

func TestEqual(t *testing.T) {
	for _, test := range []struct {
		x, y string
		want Answer
	}{
		{"sqrt(8)", "2*sqrt(2)", Yes},
		{"root(6, 8)", "sqrt(2)", Yes},
		{"0.35", "7/20", Yes},
		{"cents(50)", "root(24, 2)", Yes},
		{"e/pi", "e/pi", Yes},
		{"pi", "22/7", No},
		{"e/pi", "13/15", No}, // both pi and e, yet told apart by their digits
		{"e", "pi", No},
		{"sqrt(2)", "1.414213562373095048", No},
	} {
		if got := MustParse(test.x).Equal(MustParse(test.y)); got != test.want {
			t.Errorf("%s = %s: %v, want %v", test.x, test.y, got, test.want)
		}
	}
}

// ISO 16 fixes A4 at 440 Hz; the frequencies of equal temperament follow, here
// as handbooks print them, to four decimals.
func TestEqualTemperament(t *testing.T) {
	for _, test := range []struct {
		name string
		key  int64 // 69 is A4
		want float64
	}{
		{"A0", 21, 27.5}, {"C4", 60, 261.6256}, {"A4", 69, 440}, {"C8", 108, 4186.009},
	} {
		f := Frac(440, 1).Mul(Frac(2, 1).Pow(NewRat(test.key-69, 12))).Float64()
		if math.Abs(f-test.want) > 0.5e-4*max(1, test.want/1000) {
			t.Errorf("%s: %v Hz, want %v", test.name, f, test.want)
		}
	}
	if got := MustParse("root(12, 2)").Float64(); got != 1.0594630943592953 {
		t.Errorf("2^(1/12) = %v", got)
	}
}

// Float64 and Float round correctly: the value at 1000 bits, rounded once, is
// the judge.
func TestRoundingIsCorrect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := reals().Draw(t, "x")
		reference := x.approximate(1000)
		if r, ok := x.Rat(); ok {
			reference.SetPrec(1000).SetRat(r)
		}
		if want, _ := reference.Float64(); x.Float64() != want {
			t.Fatalf("%v: Float64 %v, want %v", x, x.Float64(), want)
		}
		prec := uint(rapid.IntRange(1, 300).Draw(t, "prec"))
		want := new(big.Float).SetPrec(prec).Set(reference)
		if got := x.Float(prec); got.Cmp(want) != 0 || got.Prec() != prec {
			t.Fatalf("%v: Float(%d) %v, want %v", x, prec, got, want)
		}
	})
}

func TestNumbersBeyondFloats(t *testing.T) {
	huge := Frac(2, 1).Pow(Int(1 << 40))
	if !math.IsInf(huge.Float64(), 1) || huge.Inv().Float64() != 0 {
		t.Errorf("2^2^40 and its inverse: %v, %v", huge.Float64(), huge.Inv().Float64())
	}
	if !huge.Float(64).IsInf() || huge.Inv().Float(64).Sign() != 0 {
		t.Errorf("2^2^40 and its inverse: %v, %v", huge.Float(64), huge.Inv().Float(64))
	}
	if _, ok := huge.Rat(); ok || huge.Rational() != Yes {
		t.Error("2^2^40 is rational, but too long to write out")
	}
	if terms := huge.ContinuedFraction(3); terms != nil {
		t.Errorf("2^2^40 has the continued fraction %v", terms)
	}
	if got := huge.Cmp(Real{}); got != 1 {
		t.Errorf("Cmp(2^2^40, 1) = %d", got)
	}
	tiny := Frac(2, 1).Pow(Int(-1074)) // the smallest float64
	if got := tiny.Float64(); got != math.SmallestNonzeroFloat64 {
		t.Errorf("2^-1074 = %v", got)
	}
	if got := tiny.Mul(MustParse("sqrt(2)/4")).Float64(); got != 0 {
		t.Errorf("2^-1074 * 0.35 = %v", got)
	}
	// Two huge factors whose product is not huge.
	balanced := Frac(3, 1).Pow(Int(1 << 40)).Quo(Frac(2, 1).Pow(Int(1742684699132)))
	const want = 0.8937894686366006 // by Python's decimal module, with 60 digits
	if got := balanced.Float64(); got != want {
		t.Errorf("3^2^40 / 2^1742684699132 = %v, want %v", got, want)
	}
}

// Exponents of any size: the seventh power of a product of roots whose
// degrees have no common factor does not fit an int64.
func TestExponentsBeyondInt64(t *testing.T) {
	x := Real{}
	for _, degree := range []int64{997, 991, 983, 977, 971, 967, 953, 947} {
		x = x.Mul(Frac(2, 1).Pow(NewRat(1, degree)))
	}
	if x.exponentOf(2).big == nil {
		t.Fatal("the exponent fits: the test is no test")
	}
	// 1/997 + ... + 1/947 = 0.008220..., and 2^0.00822 = 1.00571...
	want := math.Exp2(1./997 + 1./991 + 1./983 + 1./977 + 1./971 + 1./967 + 1./953 + 1./947)
	if got := x.Float64(); math.Abs(got-want) > 1e-15 {
		t.Errorf("got %v, want %v", got, want)
	}
	back := x
	for _, degree := range []int64{947, 953, 967, 971, 977, 983, 991, 997} {
		back = back.Quo(Frac(2, 1).Pow(NewRat(1, degree)))
	}
	if back.Equal(Real{}) != Yes || x.Equal(x.Pow(Int(2))) != No || x.Cmp(x.Pow(Int(2))) != -1 {
		t.Errorf("dividing again leaves %v", back)
	}
	whole, fraction := x.exponentOf(2).split()
	if whole.Sign() != 0 || fraction.cmp(x.exponentOf(2)) != 0 || fraction.isInt() {
		t.Errorf("split gives %v and %v", whole, fraction)
	}
}

func TestFactor(t *testing.T) {
	for _, n := range []uint64{
		1, 2, 3, 4, 997 * 997, 1009 * 1009, 1 << 62, math.MaxInt64, // 7^2 * 73 * 127 * 337 * 92737 * 649657
		9223372036854775783, // the largest prime below 2^63
		3037000493 * 3037000493, 3037000453 * 3037000493, 2097143 * 2097143 * 2097143,
		// a strong pseudoprime to 2, 3, 5 and 7: C. Pomerance and others, Math. Comp. 35 (1980)
		3215031751,
		341550071728321, 3825123056546413051, // and to the first seven and nine primes: G. Jaeschke, Math. Comp. 61 (1993)
		999999000001, 1000003 * 1000033, 600851475143, // 71 * 839 * 1471 * 6857
	} {
		checkFactors(t, n)
	}
	rapid.Check(t, func(t *rapid.T) {
		checkFactors(t, rapid.Uint64Range(1, math.MaxInt64).Draw(t, "n"))
	})
}

func checkFactors(t interface{ Errorf(string, ...any) }, n uint64) {
	product, before := uint64(1), uint64(0)
	for _, f := range factor(n) {
		if f.prime <= before || !new(big.Int).SetUint64(f.prime).ProbablyPrime(20) {
			t.Errorf("factor(%d): %d is no prime or not in order", n, f.prime)
		}
		before = f.prime
		for range f.power {
			product *= f.prime
		}
	}
	if product != n {
		t.Errorf("factor(%d) multiplies to %d", n, product)
	}
}

func TestFromRat(t *testing.T) {
	googol := new(big.Int).Exp(big.NewInt(10), big.NewInt(100), nil)
	x, err := FromRat(new(big.Rat).SetFrac(big.NewInt(1), googol))
	if err != nil || x.String() != "1/(pow(2, 100)*pow(5, 100))" {
		t.Errorf("10^-100 is %v, %v", x, err)
	}
	if r, ok := x.Rat(); !ok || r.Denom().Cmp(googol) != 0 {
		t.Errorf("10^-100 comes back as %v", r)
	}
	large := new(big.Int).Mul(big.NewInt(math.MaxInt64-24), big.NewInt(997*997)) // 2^63-25 is prime
	if x, err := FromRat(new(big.Rat).SetInt(large)); err != nil || x.String() != "9223372036854775783*994009" {
		t.Errorf("%v is %v, %v", large, x, err)
	}
	large.Mul(large, big.NewInt(math.MaxInt64-24))
	if _, err := FromRat(new(big.Rat).SetInt(large)); err == nil {
		t.Error("two primes of 19 digits were found in their product, though that is too hard")
	}
	for _, x := range []int64{0, -2} {
		if _, err := FromRat(big.NewRat(x, 3)); err == nil {
			t.Errorf("%d/3 passed as positive", x)
		}
	}
}

func TestFracPanicsUnlessPositive(t *testing.T) {
	for _, test := range [][2]int64{{0, 1}, {-1, 2}, {1, 0}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("Frac(%d, %d) did not panic", test[0], test[1])
				}
			}()
			Frac(test[0], test[1])
		}()
	}
}

func BenchmarkRealMul(b *testing.B) {
	x, y := MustParse("sqrt(31)/4"), MustParse("21/20*root(12, 2)")
	for b.Loop() {
		x.Mul(y)
	}
}

func BenchmarkFloat64(b *testing.B) {
	for _, text := range []string{"21/20", "sqrt(31)/4", "root(12, 2)", "e/pi", "pow(pi, 2/7)", "root(12, 1000003)"} {
		x := MustParse(text)
		b.Run(text, func(b *testing.B) {
			for b.Loop() {
				x.Float64()
			}
		})
	}
}

func BenchmarkCmp(b *testing.B) {
	x, y := MustParse("e/pi"), MustParse("sqrt(3)/2")
	for b.Loop() {
		x.Cmp(y)
	}
}

func BenchmarkFactorHardest(b *testing.B) {
	for b.Loop() {
		factor(3037000453 * 3037000493)
	}
}
