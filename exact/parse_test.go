package exact

import (
	"strings"
	"testing"
	"time"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]string{
		"21/20":                      "21/20",
		"0.35":                       "7/20",
		"1":                          "1",
		"sqrt(31)/4":                 "sqrt(31)/4",
		"e/pi":                       "e/pi",
		"3/7 * 210":                  "90",
		"sqrt(8)":                    "2*sqrt(2)",
		"sqrt(31/6)":                 "sqrt(186)/6",
		"1/sqrt(2)":                  "sqrt(2)/2",
		"sqrt(2)*sqrt(3)":            "sqrt(6)",
		"root(12, 2)":                "root(12, 2)",
		"root(4, 4)":                 "sqrt(2)",
		"cbrt(54)":                   "3*cbrt(2)",
		"pow(2, -7/12)":              "pow(2, 5/12)/2",
		"pow(2, 0)":                  "1",
		"pow(3/2, 2)":                "9/4",
		"cents(50)":                  "cents(50)",
		"cents(20)":                  "cents(20)",
		"cents(-20)":                 "cents(-20)",
		"cents(702)":                 "cents(702)",
		"cents(100)":                 "root(12, 2)",
		"3*cents(20)":                "3*root(60, 2)",
		"cents(-1200)":               "1/2",
		"cents(0)":                   "1",
		"cents(701.955)":             "pow(2, 46797/80000)",
		"phi":                        "phi",
		"1/phi":                      "1/phi",
		"pow(phi, -3/2)":             "1/pow(phi, 3/2)",
		"2*pi*e/(7*phi)":             "2*pi*e/(7*phi)",
		"1/2/3":                      "1/6", // from left to right
		"1/(2/3)":                    "3/2",
		" ( ( 4 ) ) ":                "4",
		"sqrt(cbrt(2)*pi)/e":         "root(6, 2)*sqrt(pi)/e",
		"pow(2, 100)":                "pow(2, 100)",
		"123456789012345678*1000003": "1160557819663014*106377431",
		"9223372036854775783":        "9223372036854775783",
		"sqrt(sqrt(sqrt(2)))":        "cents(150)",
	} {
		x, err := Parse(text)
		if err != nil {
			t.Errorf("Parse(%q): %v", text, err)
			continue
		}
		if got := x.String(); got != want {
			t.Errorf("Parse(%q) = %s, want %s", text, got, want)
		}
		if back, err := Parse(x.String()); err != nil || back.Equal(x) != Yes {
			t.Errorf("%q is printed as %s, which reads as %v, %v", text, x, back, err)
		}
	}
}

func TestParseSaysWhatIsWrong(t *testing.T) {
	for _, test := range []struct {
		text   string
		offset int
		want   string
	}{
		{"", 0, "a number is missing"},
		{"  ", 2, "a number is missing"},
		{"3 *", 3, "a number is missing at the end"},
		{"0", 0, "a number here must be more than 0"},
		{"0,35", 1, `"," does not belong here; decimals are written with a point: 0.35`},
		{"1,05", 1, `"," does not belong here; decimals are written with a point: 0.35`},
		{"-3", 0, "a number here must be more than 0 and has no sign; a power or cents may be negative: pow(2, -7/12), cents(-50)"},
		{"1 + sqrt(2)", 2, "a sum cannot be written here: only products, quotients and roots are kept exact; work it out and write it as one fraction, decimal or root"},
		{"sqrt(5 - 1)", 7, "a difference cannot be written here: only products, quotients and roots are kept exact; work it out and write it as one fraction, decimal or root"},
		{"pow(1 + 2, 2)", 6, "a sum cannot be written here: only products, quotients and roots are kept exact; work it out and write it as one fraction, decimal or root"},
		{"2 pi", 2, "two numbers stand side by side; write * between them to multiply"},
		{"3(2)", 1, "two numbers stand side by side; write * between them to multiply"},
		{"2^3", 1, `"^" does not belong here; write a power as pow(2, 7/12)`},
		{"4 : 5", 2, `":" does not belong here; write / for divided by`},
		{"3 × 7", 2, `"×" does not belong here; write * for times`},
		{"√2", 0, `a number is wanted here, not "√"; write sqrt(2)`},
		{"π/4", 0, `a number is wanted here, not "π"; write pi`},
		{"sqrt 2", 5, "a ( is missing here; as in sqrt(2)"},
		{"root(12)", 7, "a comma and a second number are missing here; as in root(12, 2)"},
		{"pow(2)", 5, "a comma and a second number are missing here; as in pow(2, 7/12)"},
		{"root(0, 2)", 5, "the degree of a root is a whole number from 1, not 0; root(12, 2) is the twelfth root of 2"},
		{"root(2.5, 2)", 5, "the degree of a root is a whole number from 1, not 5/2; root(12, 2) is the twelfth root of 2"},
		{"sqrt(2", 6, "a ) is missing at the end"},
		{"2)", 1, "this ) has no ("},
		{"sqr(2)", 0, "there is no number called \"sqr\"; did you mean sqrt(x)?\nthe names are pi, e, phi, sqrt(x), cbrt(x), root(n, x), pow(x, p/q) and cents(n)"},
		{"fast", 0, `there is no number called "fast"; the names are pi, e, phi, sqrt(x), cbrt(x), root(n, x), pow(x, p/q) and cents(n)`},
		{"1e5", 0, "powers of ten are not read in this form: 1e5; write the number out: 1e3 is 1000"},
		{"pow(2, sqrt(2))", 7, `a number is wanted here, not "sqrt"`},
		{"pow(10, 101)", 0, "this number is too large or too small: about 10^101; stay between 10^-100 and 10^100"},
		{"pow(2, 1000000)", 0, "this power is too large"},
		{"root(1000003, root(1000033, 2))", 0, "this root is too fine to be kept exact; use rounder numbers: cents(702) rather than cents(701.9550008654)"},
		{"1234567890123456789012345678901234567", 0, "this number is too long to be taken apart into its primes; use at most 18 digits"},
		{strings.Repeat("(", 40) + "2", 32, "more than 32 parentheses stand within each other"},
		{"\xff", 0, `a number is wanted here, not "\xff"`},
	} {
		_, err := Parse(test.text)
		checkSyntaxError(t, test.text, err, test.offset, test.want)
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{
		"21/20", "sqrt(31)/4", "e/pi", "root(12, 2)", "pow(2, -7/12)", "cents(50)", "3/7 * 210", "1+1",
		"pow(pow(pow(2,1000),1/1000),999/7)", "9223371994482243049", "1/(phi*sqrt(pi))",
		"root(997,2)*root(991,3)*root(983,5)",
		"pow(3,1200)/pow(2,1900)", "sqrt(999999999999999989/1000000000000000003)",
	} {
		f.Add(seed)
	}
	// Nothing takes long, nothing panics; what is accepted prints so that it
	// reads back as the same number with the same text; what is refused has
	// its place within the text.
	f.Fuzz(func(t *testing.T, text string) {
		begin := time.Now()
		x, err := Parse(text)
		if took := time.Since(begin); took > 500*time.Millisecond { // far above what a loaded machine needs
			t.Fatalf("%q took %v", text, took)
		}
		if err != nil {
			checkPlace(t, text, err)
			return
		}
		printed := x.String()
		back, err := Parse(printed)
		if err != nil || back.Equal(x) != Yes || back.String() != printed {
			t.Fatalf("%q is %s, but that reads as %v, %v", text, printed, back, err)
		}
		if f := x.Float64(); !(f >= 1e-101 && f <= 1e101) {
			t.Fatalf("%q = %v", text, f)
		}
		x.Rational()
		x.Cmp(Frac(3, 2))
	})
}

func BenchmarkParse(b *testing.B) {
	for _, text := range []string{"21/20", "sqrt(31)/4", "pow(2, -7/12) * 440", "9223371873002223329"} {
		b.Run(text, func(b *testing.B) {
			for b.Loop() {
				if _, err := Parse(text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkString(b *testing.B) {
	x := MustParse("3*sqrt(31)/4*root(12, 2)/pi")
	for b.Loop() {
		_ = x.String()
	}
}

func TestNameHint(t *testing.T) {
	for word, want := range map[string]string{
		"pie": "pi", "pix": "pi", "p": "pi", "Pi": "pi", "PHI": "phi", "ph": "phi", "phy": "phi", "ip": "", "x": "",
		"fast": "", "": "",
		"ee": "e", "E": "e", "sqr": "sqrt(x)", "sqtr": "sqrt(x)", "sqrtt": "sqrt(x)", "cbr": "cbrt(x)", "rot": "root(n, x)",
		"poww": "pow(x, p/q)", "cent": "cents(n)", "square": "",
	} {
		hint, all, both := strings.Cut(NameHint(word), "\n")
		if !both {
			hint, all = "", hint
		} else {
			hint = strings.TrimSuffix(strings.TrimPrefix(hint, "did you mean "), "?")
		}
		if hint != want || !strings.HasPrefix(all, "the names are pi, e, phi, ") {
			t.Errorf("%q: %q, want %q", word, NameHint(word), want)
		}
	}
}
