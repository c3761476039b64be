package exact

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func text[T fmt.Stringer](numbers []T) string {
	parts := make([]string, len(numbers))
	for i, n := range numbers {
		parts[i] = n.String()
	}
	return strings.Join(parts, " ")
}

// The continued fractions that the On-Line Encyclopedia of Integer Sequences
// lists under these numbers.
func TestPublishedContinuedFractions(t *testing.T) {
	for _, test := range []struct{ oeis, number, want string }{
		{"A040000", "sqrt(2)", "1 2 2 2 2 2 2 2 2 2 2 2"},
		{"A040001", "sqrt(3)", "1 1 2 1 2 1 2 1 2"},
		{"A003417", "e", "2 1 2 1 1 4 1 1 6 1 1 8 1 1 10 1 1 12"},
		{"A001203", "pi", "3 7 15 1 292 1 1 1 2 1 3 1 14 2 1 1 2 2 2 2 1 84"},
		{"A000012", "phi", "1 1 1 1 1 1 1 1 1 1"},
		{"A061360", "e/pi", "0 1 6 2 2 1 2 6 8 2 1 1 1 4"},
		{"A061382", "pi/e", "1 6 2 2 1 2 6 8 2"},
		{"A002945", "cbrt(2)", "1 3 1 5 1 1 4 1 1 8 1 14 1 10"},
		{"no number: by arithmetic", "root(12, 2)", "1 16 1 4 2 7"},
		{"no number: by arithmetic", "e/2", "1 2 1 3 1 1 1 3 3 3 1 3"},
	} {
		n := len(strings.Fields(test.want))
		if got := text(MustParse(test.number).ContinuedFraction(n)); got != test.want {
			t.Errorf("%s (OEIS %s) = [%s], want [%s]", test.number, test.oeis, got, test.want)
		}
	}
}

func TestPublishedConvergents(t *testing.T) {
	for _, test := range []struct{ source, number, want string }{
		{"OEIS A001333, A000129", "sqrt(2)", "1/1 3/2 7/5 17/12 41/29 99/70 239/169 577/408"},
		{"OEIS A002485, A002486", "pi", "3/1 22/7 333/106 355/113 103993/33102 104348/33215"},
		{"OEIS A007676, A007677", "e", "2/1 3/1 8/3 11/4 19/7 87/32 106/39 193/71"},
		{"Fibonacci numbers, OEIS A000045", "phi", "1/1 2/1 3/2 5/3 8/5 13/8 21/13 34/21"},
		{"the continued fraction OEIS A061360", "e/pi", "0/1 1/1 6/7 13/15 32/37 45/52 122/141 777/898"},
		{"arithmetic", "root(12, 2)", "1/1 17/16 18/17 89/84 196/185"},
	} {
		n := len(strings.Fields(test.want))
		if got := text(MustParse(test.number).Convergents(n)); got != test.want {
			t.Errorf("%s (%s): %s, want %s", test.number, test.source, got, test.want)
		}
	}
}

func TestContinuedFractionOfAFractionEnds(t *testing.T) {
	for number, want := range map[string]string{
		"1":     "1",
		"7":     "7",
		"1/7":   "0 7",
		"43/19": "2 3 1 4", // 43 = 2*19 + 5, 19 = 3*5 + 4, 5 = 1*4 + 1, 4 = 4*1
		"13/15": "0 1 6 2",
	} {
		if got := text(MustParse(number).ContinuedFraction(20)); got != want {
			t.Errorf("%s = [%s], want [%s]", number, got, want)
		}
	}
	if got := text(MustParse("43/19").ContinuedFraction(2)); got != "2 3" {
		t.Errorf("the first two of 43/19 are %s", got)
	}
	if got := MustParse("sqrt(2)").ContinuedFraction(0); got != nil {
		t.Errorf("the first none of sqrt 2 are %v", got)
	}
}

// Many terms: those of sqrt 2 go on as they began, and those of e follow L.
// Euler's rule (De fractionibus continuis, 1737): 2, then 1, 2k, 1 for k = 1, 2, ...
func TestLongContinuedFractions(t *testing.T) {
	for i, a := range MustParse("sqrt(2)").ContinuedFraction(1500) {
		if i > 0 && a.Int64() != 2 {
			t.Fatalf("term %d of sqrt 2 is %v", i, a)
		}
	}
	terms := E.ContinuedFraction(900)
	if len(terms) != 900 {
		t.Fatalf("only %d terms of e", len(terms))
	}
	for i, a := range terms[1:] {
		want := int64(1)
		if i%3 == 1 {
			want = int64(i/3+1) * 2
		}
		if a.Int64() != want {
			t.Fatalf("term %d of e is %v, want %d", i+1, a, want)
		}
	}
}

// Each convergent p/q is within 1/q^2, convergents lie on either side in turn,
// and a finite continued fraction multiplies out to its number.
func TestConvergentsApproach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := reals().Draw(t, "x")
		value, _ := x.Float(2000).Rat(nil)
		if r, ok := x.Rat(); ok {
			value = r
		}
		for i, c := range x.Convergents(12) {
			distance := new(big.Rat).Sub(value, c)
			if s := distance.Sign(); s != 0 && (s > 0) != (i%2 == 0) {
				t.Fatalf("%v: convergent %d, %v, lies on the wrong side", x, i, c)
			}
			square := new(big.Rat).SetInt(new(big.Int).Mul(c.Denom(), c.Denom()))
			if distance.Abs(distance).Mul(distance, square).Cmp(big.NewRat(1, 1)) > 0 {
				t.Fatalf("%v: convergent %d, %v, is too far", x, i, c)
			}
		}
		if r, ok := x.Rat(); ok {
			if all := x.Convergents(10_000); all[len(all)-1].Cmp(r) != 0 {
				t.Fatalf("%v ends at %v", x, all[len(all)-1])
			}
		}
	})
}

// gaps are the lengths, with their counts, into which the fractional parts of
// 0, x, 2x, ... (n of them) cut a circle of circumference 1; lengths ascend.
func gaps(x Real, n int) (lengths []Sum, counts []int) {
	one := big.NewRat(1, 1)
	points := []Sum{SumRat(one)}
	for k := range n {
		point := SumOf(x).Scale(big.NewRat(int64(k), 1))
		whole, _ := point.Float(200).Int(nil)
		points = append(points, point.Sub(SumRat(new(big.Rat).SetInt(whole))))
	}
	bySign := func(a, b Sum) int { return a.Sub(b).Sign() }
	slices.SortFunc(points, bySign)
	var all []Sum
	for i := range n {
		all = append(all, points[i+1].Sub(points[i]))
	}
	slices.SortFunc(all, bySign)
	for _, gap := range all {
		if last := len(lengths) - 1; last >= 0 && lengths[last].Sub(gap).IsZero() == Yes {
			counts[last]++
			continue
		}
		lengths, counts = append(lengths, gap), append(counts, 1)
	}
	return lengths, counts
}

// The three-distance theorem (V. T. Sos, J. Suranyi, S. Swierczkowski, 1958):
// never more than three lengths, and of three the longest is the sum of the
// others.
func TestThreeDistances(t *testing.T) {
	for _, text := range []string{"sqrt(2)", "phi", "pi", "e", "root(12, 2)", "sqrt(31)/4"} {
		for _, n := range []int{1, 2, 5, 12, 29, 60} {
			lengths, counts := gaps(MustParse(text), n)
			switch len(lengths) {
			case 1, 2:
			case 3:
				if lengths[0].Add(lengths[1]).Sub(lengths[2]).IsZero() != Yes {
					t.Errorf("%d multiples of %s: gaps %v do not add up", n, text, lengths)
				}
			default:
				t.Errorf("%d multiples of %s leave gaps of %d lengths (%v times)", n, text, len(lengths), counts)
			}
		}
	}
}

// The same with its numbers, by arithmetic.
func TestThreeDistancesInNumbers(t *testing.T) {
	for _, test := range []struct {
		number string
		n      int
		want   string
	}{
		{"phi", 5, "0.145898034x2 0.236067977x3"},
		{"phi", 7, "0.090169944x2 0.145898034x4 0.236067977x1"},
		{"sqrt(2)", 8, "0.071067812x3 0.100505063x1 0.171572875x4"},
		{"pi", 10, "0.008851425x3 0.132741229x2 0.141592654x5"},
		{"e", 7, "0.126872686x3 0.154845485x4"},
	} {
		lengths, counts := gaps(MustParse(test.number), test.n)
		var got []string
		for i, length := range lengths {
			got = append(got, fmt.Sprintf("%.9fx%d", length.Float64(), counts[i]))
		}
		if strings.Join(got, " ") != test.want {
			t.Errorf("%d multiples of %s: %v, want %s", test.n, test.number, got, test.want)
		}
	}
}

func BenchmarkContinuedFraction(b *testing.B) {
	for _, text := range []string{"43/19", "sqrt(31)/4", "e/pi", "root(12, 2)"} {
		x := MustParse(text)
		b.Run(text, func(b *testing.B) {
			for b.Loop() {
				x.ContinuedFraction(12)
			}
		})
	}
}
