package exact

import (
	"fmt"
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/internal/judge"
)

// The decimal digits of the constants as the On-Line Encyclopedia of Integer
// Sequences lists them (from memory).
func TestConstantsHaveTheirPublishedDigits(t *testing.T) {
	for _, test := range []struct{ oeis, text, digits string }{
		{"A000796", "pi", "3.141592653589793238462643383279502884197169399375105820974944592307816406286208998628034825342117067"},
		{"A001113", "e", "2.718281828459045235360287471352662497757247093699959574966967627724076630353547594571382178525166427"},
		{"A002193", "sqrt(2)", "1.414213562373095048801688724209698078569671875376948073176679737990732478462107038850387534327641572"},
		{"A001622", "phi", "1.618033988749894848204586834365638117720309179805762862135448622705260462818902449707207204189391137"},
	} {
		got := MustParse(test.text).Float(400).Text('f', 105)
		if !strings.HasPrefix(got, test.digits) {
			t.Errorf("%s (OEIS %s)\n  is %s\nwant %s", test.text, test.oeis, got, test.digits)
		}
	}
	for _, test := range []struct {
		oeis   string
		x      float64
		digits string
	}{
		{"A002162", 2, "0.6931471805599453094172321214581765680755001343602552541206800094933936219696947156"},
		{"A002391", 3, "1.0986122886681096913952452369225257046474905578227494517346943336374942932"},
		{"A002392", 10, "2.3025850929940456840179914546843642076011014886287729760333279009675726096773524802"},
	} {
		if got := Ln(big.NewFloat(test.x), 400).Text('f', 105); !strings.HasPrefix(got, test.digits) {
			t.Errorf("ln %v (OEIS %s)\n  is %s\nwant %s", test.x, test.oeis, got, test.digits)
		}
	}
}

// ulps is how many units in the last place of want got is away.
func ulps(got, want *big.Float, prec uint) float64 {
	difference := new(big.Float).SetPrec(64).Sub(got, want)
	if difference.Sign() == 0 {
		return 0
	}
	difference.SetMantExp(difference, int(prec)-want.MantExp(nil))
	f, _ := difference.Float64()
	return math.Abs(f)
}

// Pi by C. F. Gauss's arithmetic-geometric mean (E. Salamin, Math. Comp. 30
// (1976) 565-570) has nothing in common with the series used here.
func TestPiByTheArithmeticGeometricMean(t *testing.T) {
	const prec = 6000
	a, g := newFloat(prec, 1), newFloat(prec, 0.5)
	g.Sqrt(g)
	s := newFloat(prec, 0.25)
	for power := 0; power < 14; power++ {
		mean := new(big.Float).Add(a, g)
		half(mean)
		difference := new(big.Float).Sub(a, mean)
		difference.Mul(difference, difference)
		s.Sub(s, difference.SetMantExp(difference, power))
		g.Mul(a, g).Sqrt(g)
		a = mean
	}
	want := new(big.Float).Mul(a, a)
	want.Quo(want, s)
	if u := ulps(Pi.Float(5000), want, 5000); u > 0.5 {
		t.Errorf("pi is %v units in the last of 5000 bits away", u)
	}
}

func TestTwoWaysToOneLogarithm(t *testing.T) {
	const prec = 4000
	two := newFloat(prec+64, 2)
	two.Sqrt(two) // ln 2 itself is a special case, its half is not
	byRoots := Ln(two, prec)
	byRoots.SetMantExp(byRoots, 1)
	if u := ulps(byRoots, base(2).ln(prec+64), prec); u > 1 {
		t.Errorf("the logarithms of 2 by square roots and by the series of arcs are %v ulps apart", u)
	}
	if u := ulps(Exp(newFloat(64, 1), prec), E.Float(prec), prec); u > 1 {
		t.Errorf("exp(1) and the series for e are %v ulps apart", u)
	}
	if u := ulps(Ln(E.Float(prec+64), prec), newFloat(prec, 1), prec); u > 1 {
		t.Errorf("ln(e) is %v ulps from 1", u)
	}
}

// positiveFloats draws numbers of all sizes, and numbers very close to 1.
func positiveFloats() *rapid.Generator[*big.Float] {
	return rapid.Custom(func(t *rapid.T) *big.Float {
		x := new(big.Float).SetPrec(200).SetInt64(rapid.Int64Range(1, math.MaxInt64).Draw(t, "mantissa"))
		if rapid.Bool().Draw(t, "near 1") {
			x.SetMantExp(x, -63-rapid.IntRange(0, 120).Draw(t, "distance"))
			return x.Add(x, newFloat(200, 1))
		}
		return x.SetMantExp(x, rapid.IntRange(-300, 300).Draw(t, "exponent"))
	})
}

func TestLnAndExpAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := positiveFloats().Draw(t, "x")
		prec := uint(rapid.IntRange(53, 500).Draw(t, "prec"))
		ln := Ln(x, prec+20)
		// An error of one unit in the last place of ln is, in exp(ln), one of
		// |ln| 2^-(prec+20): here less than 512/2^20 units.
		if u := ulps(Exp(ln, prec), x, prec); u > 1.01 {
			t.Fatalf("exp(ln(%v)) at %d bits is %v ulps away", x, prec, u)
		}
		// The same value at twice the precision judges the error bound.
		if u := ulps(Ln(x, prec), Ln(x, 2*prec+50), prec); u > 1 {
			t.Fatalf("ln(%v) at %d bits is %v ulps away", x, prec, u)
		}
		if u := ulps(Exp(ln, prec), Exp(ln, 2*prec+50), prec); u > 1 {
			t.Fatalf("exp(%v) at %d bits is %v ulps away", ln, prec, u)
		}
	})
}

func TestLnOfAProduct(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := positiveFloats().Draw(t, "x"), positiveFloats().Draw(t, "y")
		product := new(big.Float).SetPrec(500).Mul(x, y)
		sum := new(big.Float).Add(Ln(x, 400), Ln(y, 400))
		difference := sum.Sub(sum, Ln(product, 400))
		if difference.Sign() != 0 && difference.MantExp(nil) > -380 {
			t.Fatalf("ln(%v * %v) is %v off the sum of the logarithms", x, y, difference)
		}
	})
}

func TestExpBeyondTheRange(t *testing.T) {
	large := new(big.Float).SetMantExp(newFloat(64, 1), 40)
	if got := Exp(large, 64); !got.IsInf() {
		t.Errorf("exp(2^40) = %v", got)
	}
	if got := Exp(large.Neg(large), 64); got.Sign() != 0 {
		t.Errorf("exp(-2^40) = %v", got)
	}
	if got := Exp(new(big.Float).SetMantExp(newFloat(64, 1), -400), 64); got.Cmp(newFloat(64, 1)) != 0 {
		t.Errorf("exp(2^-400) at 64 bits = %v", got)
	}
}

// Python's decimal module is another implementation of roots and logarithms,
// with the rounding of IEEE 754-2008's decimal formats.
func TestAgainstPythonsDecimals(t *testing.T) {
	tests := []struct{ ours, theirs string }{
		{"root(12, 2)", "D(2) ** (D(1) / 12)"},
		{"pow(3, 7/5) * 11", "D(3) ** (D(7) / 5) * 11"},
		{"sqrt(31)/4", "D(31).sqrt() / 4"},
		{"cents(701.955)", "D(2) ** (D('701.955') / 1200)"},
		{"pow(phi, 3/7)", "((1 + D(5).sqrt()) / 2) ** (D(3) / 7)"},
		{"pow(e, -13/17)", "(D(-13) / 17).exp()"},
		{"root(1000, 1000003) * pow(7, -300/7)", "D(1000003) ** (D(1) / 1000) * D(7) ** (D(-300) / 7)"},
	}
	script := "from decimal import *\ngetcontext().prec = 90\nD = Decimal\n"
	for _, test := range tests {
		script += fmt.Sprintf("print(format(%s, '.60e'))\n", test.theirs)
	}
	out := judge.Script(t, "decimal", script)
	lines := strings.Fields(string(out))
	for i, test := range tests {
		want, _, err := big.ParseFloat(lines[i], 10, 300, big.ToNearestEven)
		if err != nil {
			t.Fatal(err)
		}
		// 60 digits after the point: half a unit of the last is 2^-200 of it.
		if u := ulps(MustParse(test.ours).Float(300), want, 196); u > 1 {
			t.Errorf("%s is %s, python says %s", test.ours, MustParse(test.ours).Float(300).Text('e', 60), lines[i])
		}
	}
}
