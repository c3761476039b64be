package blocks

import (
	"strings"
	"testing"
)

// value is what stands after "a = ".
func value(t *testing.T, text string) *Value {
	t.Helper()
	body, errs := parse("a = " + text + "\n")
	if len(errs) > 0 {
		t.Fatalf("%s: %v", text, errs)
	}
	return body.Get("a").Value
}

func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		text, rat, real string
		float           float64
	}{
		{"7", "7", "7", 7},
		{`"7"`, "7", "7", 7},
		{"0.1", "1/10", "1/10", 0.1},
		{"25.4/9", "127/45", "127/45", 127.0 / 45},
		{"-3/7", "-3/7", "", -3.0 / 7},
		{`" -3/7 "`, "-3/7", "", -3.0 / 7},
		{"-3*2", "-6", "", -6},
		{"3/7 * 210", "90", "90", 90},
		{"(3 /\n 4)", "3/4", "3/4", 0.75},
		{"sqrt(2)", "", "sqrt(2)", 1.4142135623730951},
		{"-sqrt(2)", "", "", -1.4142135623730951},
		{"0", "0", "", 0},
	} {
		v := value(t, c.text)
		if r, err := v.Rat(); (err == nil) != (c.rat != "") || err == nil && r.String() != c.rat {
			t.Errorf("%s is the fraction %v, %v; want %q", c.text, r, err, c.rat)
		}
		if x, err := v.Real(); (err == nil) != (c.real != "") || err == nil && x.String() != c.real {
			t.Errorf("%s is the number %v, %v; want %q", c.text, x, err, c.real)
		}
		if f, err := v.Float(); err != nil || f != c.float {
			t.Errorf("%s is %v, %v; want %v", c.text, f, err, c.float)
		}
	}
	for _, text := range []string{"x", "1 + 2", `"1 - 2"`, "[1]", "f(1)", `""`, "true", "1.2.3"[:3] + "x"} {
		body, errs := parse("a = " + text + "\n")
		if len(errs) > 0 {
			continue
		}
		if f, err := body.Get("a").Float(); err == nil {
			t.Errorf("%s is the number %v", text, f)
		}
	}
}

// A text knows where each of its bytes stands: the place of X is that in the
// file, whatever was escaped or left out before it.
func TestTextPlaces(t *testing.T) {
	for _, text := range []string{
		`"X"`, `"ab X"`, `"\"\\ X"`, `"\n\u00e9X"`, `"$${ X"`, "<<END\nab\n  X\nEND", "<<-END\n    ab\n      X\n    END",
		"<<-END\r\n  ab $${\r\n  X\r\n  END",
	} {
		v := value(t, text)
		got, err := v.Text()
		if err != nil {
			t.Fatal(err)
		}
		i := strings.IndexByte(got.S, 'X')
		if want := strings.IndexByte("a = "+text, 'X'); i < 0 || got.Offset(i) != want {
			t.Errorf("%q reads as %q; X is at %d, want %d", text, got.S, got.Offset(i), want)
		}
	}
}

func TestText(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{`"a\tb\n\"c\" \\ é \u00e9 \U0001d11e"`, "a\tb\n\"c\" \\ é é 𝄞"},
		{`"$${x} %%{y} $5 100%"`, "${x} %{y} $5 100%"},
		{"<<END\n  a\n\n b\n  END", "  a\n\n b\n"},
		{"<<-END\n  a\n\n    b\n  END", "a\n\n  b\n"},
		{"<<END\nEND", ""},
	} {
		if got, err := value(t, c.text).Str(); err != nil || got != c.want {
			t.Errorf("%s reads as %q, %v; want %q", c.text, got, err, c.want)
		}
	}
}
