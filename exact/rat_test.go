package exact

import (
	"errors"
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestRatIsInLowestTerms(t *testing.T) {
	for _, test := range []struct {
		num, den int64
		want     string
	}{
		{0, 5, "0"},
		{0, -5, "0"},
		{6, -4, "-3/2"},
		{-6, -4, "3/2"},
		{math.MinInt64, 2, "-4611686018427387904"},
		{math.MinInt64, 1, "-9223372036854775808"},
		{math.MinInt64, math.MinInt64, "1"},
		{2, math.MinInt64, "-1/4611686018427387904"},
		{math.MaxInt64, math.MaxInt64, "1"},
	} {
		if got := NewRat(test.num, test.den).String(); got != test.want {
			t.Errorf("NewRat(%d, %d) = %s, want %s", test.num, test.den, got, test.want)
		}
	}
	if (NewRat(0, 7) != Rat{}) {
		t.Error("0/7 is not == the zero value")
	}
}

func TestNewRatPanicsWhenThereIsNoSuchRat(t *testing.T) {
	for _, test := range [][2]int64{{1, 0}, {1, math.MinInt64}, {math.MinInt64, -1}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("NewRat(%d, %d) did not panic", test[0], test[1])
				}
			}()
			NewRat(test[0], test[1])
		}()
	}
}

// int64s draws small numbers and numbers near the ends of int64 alike.
func int64s() *rapid.Generator[int64] {
	return rapid.OneOf(rapid.Int64Range(-50, 50), rapid.Int64(),
		rapid.SampledFrom([]int64{math.MinInt64, math.MinInt64 + 1, math.MaxInt64, math.MaxInt64 - 1, 1 << 32, 1<<53 + 1}))
}

func rats() *rapid.Generator[Rat] {
	return rapid.Custom(func(t *rapid.T) Rat {
		num, den := int64s().Draw(t, "num"), int64s().Draw(t, "den")
		if den == 0 {
			return Int(num)
		}
		r, ok := reduce(num, den)
		if !ok {
			return Int(7)
		}
		return r
	})
}

// Every operation is that of big.Rat, and fails exactly when the result does
// not fit.
func TestRatAgreesWithBigRat(t *testing.T) {
	operations := map[string]struct {
		ours   func(r, s Rat) (Rat, bool)
		theirs func(z, x, y *big.Rat) *big.Rat
	}{
		"add": {Rat.Add, (*big.Rat).Add},
		"sub": {Rat.Sub, (*big.Rat).Sub},
		"mul": {Rat.Mul, (*big.Rat).Mul},
		"quo": {Rat.Quo, (*big.Rat).Quo},
	}
	rapid.Check(t, func(t *rapid.T) {
		r, s := rats().Draw(t, "r"), rats().Draw(t, "s")
		for name, op := range operations {
			got, ok := op.ours(r, s)
			if name == "quo" && s.Sign() == 0 {
				if ok {
					t.Fatalf("%v / 0 = %v", r, got)
				}
				continue
			}
			want := op.theirs(new(big.Rat), r.Big(), s.Big())
			wanted, fits := FromBig(want)
			if ok != fits || ok && got != wanted {
				t.Fatalf("%s %v and %v: got %v, %v, want %v (fits: %v)", name, r, s, got, ok, want, fits)
			}
		}
		if got, want := r.Cmp(s), r.Big().Cmp(s.Big()); got != want {
			t.Fatalf("Cmp(%v, %v) = %d, want %d", r, s, got, want)
		}
		if got, want := r.Sign(), r.Big().Sign(); got != want {
			t.Fatalf("Sign(%v) = %d, want %d", r, got, want)
		}
		if want, _ := r.Big().Float64(); r.Float64() != want {
			t.Fatalf("Float64(%v) = %v, want %v", r, r.Float64(), want)
		}
		if back, err := ParseRat(r.String()); err != nil || back != r {
			t.Fatalf("ParseRat(%v) = %v, %v", r, back, err)
		}
		if r.String() != r.Big().RatString() || r.IsInt() != r.Big().IsInt() {
			t.Fatalf("%v is written otherwise than %s", r, r.Big().RatString())
		}
	})
}

func TestParseRat(t *testing.T) {
	for text, want := range map[string]Rat{
		"7":                    Int(7),
		"-3/7":                 NewRat(-3, 7),
		"0.35":                 NewRat(7, 20), // 35/100
		"+2":                   Int(2),
		" 3 / 7 ":              NewRat(3, 7),
		"0":                    {},
		"-0.0":                 {},
		"1.5/2.25":             NewRat(2, 3), // 150/225
		"007":                  Int(7),
		"-9223372036854775808": Int(math.MinInt64),
		"0.000000000000000001": NewRat(1, 1e18),
	} {
		if got, err := ParseRat(text); err != nil || got != want {
			t.Errorf("ParseRat(%q) = %v, %v, want %v", text, got, err, want)
		}
	}
}

func TestParseRatSaysWhatIsWrong(t *testing.T) {
	for _, test := range []struct {
		text   string
		offset int
		want   string
	}{
		{"", 0, "a number is missing at the end"},
		{"3/", 2, "a number is missing at the end"},
		{"3/0", 2, "a number cannot be divided by 0"},
		{"0,35", 1, `"," does not belong to a number; decimals are written with a point: 0.35`},
		{"1/2/3", 3, `"/" does not belong to a number; a fraction has one line: 3/7`},
		{".5", 0, "a number begins with a digit, not with its point; write 0.5"},
		{"5.", 0, "no digit follows the point of 5.; write 5"},
		{"1e3", 0, "powers of ten are not read in this form: 1e3; write the number out: 1e3 is 1000"},
		{"seven", 0, `a number is wanted here, not "seven"`},
		{"3 x", 2, `"x" does not belong to a number`},
		{"9223372036854775808", 0, "this fraction is too long to be kept exact; use at most 18 digits above and below the line"},
		{strings.Repeat("1", 50), 0, "a number of 50 digits is too long; use at most 18 digits"},
		{"7" + strings.Repeat(" ", 2000), 500, "this number is written with 2001 characters; at most 500 are read"},
	} {
		_, err := ParseRat(test.text)
		checkSyntaxError(t, test.text, err, test.offset, test.want)
	}
}

func checkSyntaxError(t *testing.T, text string, err error, offset int, want string) {
	t.Helper()
	var syntax *SyntaxError
	if !errors.As(err, &syntax) {
		t.Errorf("%q: error %v, want %q", text, err, want)
		return
	}
	if syntax.Offset != offset || syntax.Error() != want {
		t.Errorf("%q: at byte %d: %s\nwant at byte %d: %s", text, syntax.Offset, syntax, offset, want)
	}
	if syntax.Offset+syntax.Width > len(text) || syntax.Width < 0 {
		t.Errorf("%q: marks bytes %d to %d, beyond the text", text, syntax.Offset, syntax.Offset+syntax.Width)
	}
}

func FuzzParseRat(f *testing.F) {
	for _, seed := range []string{"7", "-3/7", "0.35", "1e9", "0/0", "9223372036854775807/3", "1.\xff"} {
		f.Add(seed)
	}
	// What is accepted is printed so that it reads back as the same number;
	// what is refused has its place within the text.
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRat(text)
		if err != nil {
			checkPlace(t, text, err)
			return
		}
		if back, err := ParseRat(r.String()); err != nil || back != r {
			t.Fatalf("%q is %v, but that reads as %v, %v", text, r, back, err)
		}
	})
}

func checkPlace(t *testing.T, text string, err error) {
	t.Helper()
	var syntax *SyntaxError
	if !errors.As(err, &syntax) {
		t.Fatalf("%q: %T is not a *SyntaxError", text, err)
	}
	if syntax.Offset < 0 || syntax.Width < 0 || syntax.Offset+syntax.Width > len(text) || syntax.Problem == "" {
		t.Fatalf("%q: bad error %+v", text, *syntax)
	}
}

func BenchmarkRatAdd(b *testing.B) {
	x, y := NewRat(3, 16), NewRat(5, 12)
	for b.Loop() {
		x.Add(y)
	}
}

func BenchmarkRatAddInts(b *testing.B) {
	x, y := Int(12), Int(5)
	for b.Loop() {
		x.Add(y)
	}
}

func BenchmarkBigRatAdd(b *testing.B) {
	x, y, z := big.NewRat(3, 16), big.NewRat(5, 12), new(big.Rat)
	for b.Loop() {
		z.Add(x, y)
	}
}
