package exact

import (
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// parseSum adds up texts, each a sign and a Real: only for tests.
func parseSum(texts ...string) Sum {
	sum := Sum{}
	for _, text := range texts {
		term := SumOf(MustParse(text[1:]))
		if text[0] == '-' {
			term = term.Neg()
		}
		sum = sum.Add(term)
	}
	return sum
}

func sums(from *rapid.Generator[Real]) *rapid.Generator[Sum] {
	return rapid.Custom(func(t *rapid.T) Sum {
		sum := Sum{}
		for range rapid.IntRange(0, 3).Draw(t, "terms") {
			coef := big.NewRat(rapid.Int64Range(-20, 20).Draw(t, "num"), rapid.Int64Range(1, 20).Draw(t, "den"))
			sum = sum.Add(SumOf(from.Draw(t, "root")).Scale(coef))
		}
		return sum
	})
}

func TestSumText(t *testing.T) {
	for want, sum := range map[string]Sum{
		"0":                                     {},
		"3/2 + 5*sqrt(2)":                       parseSum("+3/2", "+5*sqrt(2)"),
		"-1 + sqrt(2)":                          parseSum("+sqrt(2)", "-1"),
		"3*sqrt(2)":                             parseSum("+sqrt(2)", "+sqrt(8)"),
		"-1/2*sqrt(2)":                          parseSum("-1/sqrt(2)"),
		"1/2 + 1/2*sqrt(5)":                     parseSum("+phi"),
		"3/2 + 1/2*sqrt(5)":                     parseSum("+phi*phi"), // phi^2 = phi + 1
		"-1/2 + 1/2*sqrt(5)":                    parseSum("+1/phi"),   // phi - 1
		"1 - e/pi":                              parseSum("+1", "-e/pi"),
		"5/2 + 1/2*sqrt(5)":                     parseSum("+phi*sqrt(5)"),
		"sqrt(phi)":                             parseSum("+sqrt(phi)"),
		"1/2*sqrt(5)*sqrt(phi) + 1/2*sqrt(phi)": parseSum("+pow(phi, 3/2)"),
	} {
		if got := sum.String(); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
}

func TestSumsThatVanish(t *testing.T) {
	for _, test := range []struct {
		sum  Sum
		want Answer
		sign int
	}{
		{Sum{}, Yes, 0},
		{parseSum("+sqrt(2)", "+sqrt(3)", "-sqrt(2)", "-sqrt(3)"), Yes, 0},
		{parseSum("+phi", "+1/phi", "-sqrt(5)"), Yes, 0},       // (1 + s)/2 + (s - 1)/2 = s
		{parseSum("+pow(phi, 3)", "-phi*2", "-1"), Yes, 0},     // phi^3 = 2 phi + 1
		{parseSum("+pi*phi", "-pi", "-pi/phi"), Yes, 0},        // phi = 1 + 1/phi
		{parseSum("+pow(phi, 3/2)", "-sqrt(phi)*phi"), Yes, 0}, // the same number written twice
		{parseSum("+sqrt(2)", "-1.414213562373095048"), No, 1}, // the next digit is 8
		{parseSum("+sqrt(2)", "+sqrt(3)", "-sqrt(6)"), No, 1},  // 3.146 - 2.449
		{parseSum("+pi", "-22/7"), No, -1},                     // 1/791 below
		{parseSum("+pi", "-pow(pi, 2)/3"), No, -1},             // pi (1 - pi/3)
		{parseSum("+e/pi", "-13/15"), No, -1},                  // 0.8652 - 0.8667
		{parseSum("+e", "-pi"), No, -1},
		{parseSum("-e/pi"), No, -1},
	} {
		if got := test.sum.IsZero(); got != test.want {
			t.Errorf("%v is zero: %v, want %v", test.sum, got, test.want)
		}
		if got := test.sum.Sign(); got != test.sign {
			t.Errorf("the sign of %v is %d, want %d", test.sum, got, test.sign)
		}
	}
}

func TestRationalSums(t *testing.T) {
	for _, test := range []struct {
		sum  Sum
		want Answer
	}{
		{Sum{}, Yes},
		{parseSum("+3/2", "+sqrt(2)", "-sqrt(2)"), Yes},
		{parseSum("+phi", "-sqrt(5)/2"), Yes}, // 1/2
		{parseSum("+3/2", "+sqrt(2)"), No},
		{parseSum("+pi", "-3"), No},
		{parseSum("+pi", "+pi*pi", "+sqrt(2)"), No},
		{parseSum("+pi", "+e"), Unknown}, // pi + e: standard open question
		{parseSum("+e/pi"), Unknown},
	} {
		if got := test.sum.Rational(); got != test.want {
			t.Errorf("%v is rational: %v, want %v", test.sum, got, test.want)
		}
		if r, ok := test.sum.Rat(); ok != (test.want == Yes) {
			t.Errorf("%v as a fraction: %v, %v", test.sum, r, ok)
		}
	}
}

func TestSumIsAVectorSpace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, u, v := sums(reals()).Draw(t, "s"), sums(reals()).Draw(t, "u"), sums(reals()).Draw(t, "v")
		x := reals().Draw(t, "x")
		r := big.NewRat(rapid.Int64Range(-9, 9).Draw(t, "num"), 7)
		for law, zero := range map[string]Sum{
			"s + u = u + s":             s.Add(u).Sub(u.Add(s)),
			"(s + u) + v = s + (u + v)": s.Add(u).Add(v).Sub(s.Add(u.Add(v))),
			"s - s = 0":                 s.Sub(s),
			"r (s + u) = r s + r u":     s.Add(u).Scale(r).Sub(s.Scale(r).Add(u.Scale(r))),
			"x (s + u) = x s + x u":     s.Add(u).MulReal(x).Sub(s.MulReal(x).Add(u.MulReal(x))),
			"s x / x = s":               s.MulReal(x).MulReal(x.Inv()).Sub(s),
		} {
			if zero.IsZero() != Yes {
				t.Fatalf("%s fails by %v: s = %v, u = %v, v = %v, x = %v, r = %v", law, zero, s, u, v, x, r)
			}
		}
		if !slices.IsSortedFunc(s.terms, compareRoots) {
			t.Fatalf("%v is not in order", s)
		}
	})
}

func TestSumHasTheValueOfItsTerms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := reals().Draw(t, "x"), reals().Draw(t, "y")
		difference := SumOf(x).Sub(SumOf(y))
		want := new(big.Float).SetPrec(2000).Sub(x.Float(2000), y.Float(2000))
		if x.Equal(y) == Yes {
			want.SetInt64(0)
		}
		if got := difference.Float(100); got.Cmp(new(big.Float).SetPrec(100).Set(want)) != 0 {
			t.Fatalf("%v - %v = %v, want %v", x, y, got, want)
		}
		if f, _ := want.Float64(); difference.Float64() != f {
			t.Fatalf("%v - %v = %v, want %v", x, y, difference.Float64(), f)
		}
		if difference.Sign() != x.Cmp(y) {
			t.Fatalf("%v - %v has sign %d, Cmp says %d", x, y, difference.Sign(), x.Cmp(y))
		}
	})
}

// A Real survives the way through a Sum, powers of phi included.
func TestSumBackToReal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := reals().Draw(t, "x")
		back, ok := SumOf(x).Real()
		if !ok || back.Equal(x) != Yes {
			t.Fatalf("%v comes back as %v, %v", x, back, ok)
		}
		if negative, ok := SumOf(x).Neg().Real(); ok {
			t.Fatalf("-(%v) is the positive %v", x, negative)
		}
	})
	for _, sum := range []Sum{{}, parseSum("+1", "+sqrt(2)"), parseSum("+1", "+sqrt(20)"), parseSum("+1", "+pi", "+e")} {
		if x, ok := sum.Real(); ok {
			t.Errorf("%v is the product %v", sum, x)
		}
	}
}

func TestInSpan(t *testing.T) {
	for _, test := range []struct {
		sum  Sum
		a, b string
		x, y string // empty: none
		want Answer
	}{
		{parseSum("+3/2", "+5*sqrt(2)"), "1", "sqrt(2)", "3/2", "5", Yes},
		{parseSum("+3/2", "+5*sqrt(2)"), "sqrt(8)", "3", "5/2", "1/2", Yes},
		{Sum{}, "1", "sqrt(2)", "0", "0", Yes},
		{parseSum("+sqrt(3)"), "1", "sqrt(2)", "", "", No},
		{parseSum("+sqrt(5)"), "1", "phi", "-1", "2", Yes}, // 2 phi - 1
		{parseSum("+7"), "phi", "1/phi", "7", "-7", Yes},   // phi - 1/phi = 1
		{parseSum("+sqrt(7)"), "phi", "1/phi", "", "", No},
		{parseSum("+pi"), "1", "sqrt(2)", "", "", No},
		{parseSum("+3*pi", "-1/2"), "pi", "1", "3", "-1/2", Yes},
		{parseSum("+e", "-2*pi"), "e", "pi", "", "", Unknown}, // e/pi may be rational
		{parseSum("+e/2", "+pi"), "1", "pi", "", "", Unknown}, // e may be a combination of 1 and pi
		{parseSum("+sqrt(2)"), "1", "2", "", "", Unknown},     // 1 and 2 are commensurable
		{parseSum("+e", "+e*sqrt(2)"), "e", "e*sqrt(2)", "1", "1", Yes},
	} {
		x, y, got := test.sum.InSpan(MustParse(test.a), MustParse(test.b))
		if got != test.want || got == Yes && (x.RatString() != test.x || y.RatString() != test.y) || got != Yes && x != nil {
			t.Errorf("%v = x*%s + y*%s: %v, x = %v, y = %v; want %v, %s, %s", test.sum, test.a, test.b, got, x, y, test.want,
				test.x, test.y)
		}
	}
}

func TestInSpanFindsWhatWasPutIn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := roots().Draw(t, "a"), roots().Draw(t, "b")
		if a.Commensurable(b) != No {
			return
		}
		x := big.NewRat(rapid.Int64Range(-50, 50).Draw(t, "x"), rapid.Int64Range(1, 9).Draw(t, "den x"))
		y := big.NewRat(rapid.Int64Range(-50, 50).Draw(t, "y"), rapid.Int64Range(1, 9).Draw(t, "den y"))
		sum := SumOf(a).Scale(x).Add(SumOf(b).Scale(y))
		gotX, gotY, ans := sum.InSpan(a, b)
		if ans != Yes || gotX.Cmp(x) != 0 || gotY.Cmp(y) != 0 {
			t.Fatalf("%v*%v + %v*%v gives %v, %v, %v", x, a, y, b, gotX, gotY, ans)
		}
	})
}

// Whole powers of phi against the recurrence of the Fibonacci numbers (OEIS
// A000045) and Lucas numbers (A000032).
func TestLucasFibonacci(t *testing.T) {
	fibonacci := []int64{0, 1, 1, 2, 3, 5, 8, 13, 21, 34, 55}
	lucas := []int64{2, 1, 3, 4, 7, 11, 18, 29, 47, 76, 123}
	for n := range fibonacci {
		l, f := lucasFibonacci(n)
		if l.Cmp(big.NewRat(lucas[n], 1)) != 0 || f.Cmp(big.NewRat(fibonacci[n], 1)) != 0 {
			t.Errorf("n = %d: %v, %v", n, l, f)
		}
		value := SumRat(l).Add(SumOf(sqrt5).Scale(f)).Scale(big.NewRat(1, 2))
		inverse, negF := lucasFibonacci(-n)
		product := value.MulReal(Phi.Pow(Int(int64(-n)))).Sub(SumRat(big.NewRat(1, 1)))
		if product.IsZero() != Yes {
			t.Errorf("n = %d: times the inverse (%v, %v) it is not 1 but differs by %v", n, inverse, negF, product)
		}
	}
}

// Beyond the limits numbers are not written out, and nothing is claimed.
func TestSumsOfHugePowers(t *testing.T) {
	huge := SumOf(Frac(2, 1).Pow(Int(1 << 20)))
	if got := huge.Sub(SumOf(Frac(2, 1).Pow(Int(1 << 20)))).IsZero(); got != Yes {
		t.Errorf("2^2^20 - 2^2^20 is zero: %v", got)
	}
	other := SumOf(Phi.Pow(Int(1 << 20)))
	if got := huge.Sub(other).IsZero(); got != No {
		t.Errorf("2^2^20 - phi^2^20 is zero: %v", got)
	}
	if got := huge.Add(other).Rational(); got != Unknown {
		t.Errorf("2^2^20 + phi^2^20 is rational: %v", got)
	}
	// Beyond floats too: the sign is that of the larger term.
	larger, smaller := SumOf(Frac(3, 1).Pow(Int(1<<40))), SumOf(Frac(2, 1).Pow(Int(1<<40)))
	if s := larger.Sub(smaller); s.Sign() != 1 || !s.Float(64).IsInf() || s.Float(64).Sign() < 0 {
		t.Errorf("3^2^40 - 2^2^40 has sign %d, value %v", s.Sign(), s.Float(64))
	}
	if s := smaller.Sub(larger); s.Sign() != -1 || !s.Float(64).IsInf() || s.Float(64).Sign() > 0 {
		t.Errorf("2^2^40 - 3^2^40 has sign %d, value %v", s.Sign(), s.Float(64))
	}
	tiny := SumOf(Frac(3, 1).Pow(Int(-1 << 40))).Sub(SumOf(Frac(2, 1).Pow(Int(-1 << 40))))
	if tiny.Sign() != -1 || tiny.Float64() != 0 {
		t.Errorf("3^-2^40 - 2^-2^40 has sign %d, value %v", tiny.Sign(), tiny.Float64())
	}
}

func TestTermsAreTheCallersOwn(t *testing.T) {
	sum := parseSum("+3/2", "+5*sqrt(2)")
	terms := sum.Terms()
	terms[0].Coef.SetInt64(99)
	if got := sum.String(); got != "3/2 + 5*sqrt(2)" {
		t.Errorf("changing a term changed the sum to %s", got)
	}
	r, _ := SumRat(big.NewRat(3, 2)).Rat()
	r.SetInt64(99)
	x := big.NewRat(1, 2)
	half := SumRat(x)
	x.SetInt64(99)
	if half.String() != "1/2" {
		t.Errorf("changing the fraction changed the sum to %v", half)
	}
}

func BenchmarkSumAdd(b *testing.B) {
	s, t := parseSum("+3/2", "+5*sqrt(2)"), parseSum("+7/3", "-2*sqrt(2)")
	for b.Loop() {
		s.Add(t)
	}
}

func BenchmarkSumFloat64(b *testing.B) {
	s := parseSum("+3/2", "+5*sqrt(2)")
	for b.Loop() {
		s.Float64()
	}
}
