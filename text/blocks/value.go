package blocks

import (
	"errors"
	"math/big"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/text/source"
)

// Kind is the form of the value.
func (v *Value) Kind() Kind { return v.kind }

// At is the place of the value's first character.
func (v *Value) At() source.Pos { return v.file.pos(v.Start) }

// Raw is the value as written.
func (v *Value) Raw() string { return string(v.file.bytes[v.Start:v.End]) }

// IsText reports whether the value is quoted text or a heredoc.
func (v *Value) IsText() bool { return v.kind == Quoted || v.kind == Heredoc }

// Error is a complaint that marks the whole value. A value that could not be
// read returns the complaint already made about it.
func (v *Value) Error(problem, hint string) *source.Error {
	if v.kind == Bad {
		return v.err
	}
	return v.file.fail(v.Start, v.End, problem, hint)
}

// ErrorAt is a complaint that marks the bytes from start to end of the file.
func (v *Value) ErrorAt(start, end int, problem, hint string) *source.Error {
	return v.file.fail(start, end, problem, hint)
}

// Word is the bare word that the value is, such as a name or true.
func (v *Value) Word() (string, bool) {
	if v.kind != Word {
		return "", false
	}
	return v.Raw(), true
}

// Call is the function and its arguments when the value is a call.
func (v *Value) Call() (name string, args []*Value, ok bool) {
	if v.kind != Call {
		return "", nil, false
	}
	return string(v.file.bytes[v.Start:v.nameEnd]), v.items, true
}

// List is the members of a list; any other value is its own only member.
func (v *Value) List() ([]*Value, *source.Error) {
	switch v.kind {
	case Bad:
		return nil, v.err
	case List:
		return v.items, nil
	}
	return []*Value{v}, nil
}

// number is the text of a number written bare or in quotes.
func (v *Value) number() (Text, *source.Error) {
	if v.kind == List {
		return Text{}, v.Error("one number is wanted here, not a list", "keep one of its numbers")
	}
	return v.Written()
}

// Rat is an exact fraction of either sign, bare or in quotes: 7, 0.35, -3/7, or
// a product that comes to a fraction. Numerator and denominator fit 64 bits.
func (v *Value) Rat() (exact.Rat, *source.Error) {
	t, err := v.number()
	if err != nil {
		return exact.Rat{}, err
	}
	r, e := exact.ParseRat(t.S)
	if e == nil {
		return r, nil
	}
	x, negative, err := t.signed()
	if err != nil {
		return exact.Rat{}, err
	}
	b, ok := x.Rat()
	if !ok {
		return exact.Rat{}, v.Error("a fraction is wanted here, and this number is irrational",
			"write a whole number, a decimal or a fraction: 3/7")
	}
	if negative {
		b = new(big.Rat).Neg(b)
	}
	r, ok = exact.FromBig(b)
	if !ok {
		return exact.Rat{}, v.Error("this number is too large or too fine",
			"numerator and denominator have at most 18 digits")
	}
	return r, nil
}

// signed reads a product with an optional minus sign before it.
func (t Text) signed() (x exact.Real, negative bool, err *source.Error) {
	at := strings.IndexByte(t.S, '-')
	negative = at >= 0 && strings.TrimSpace(t.S[:at]) == ""
	if !negative {
		at = -1
	}
	x, e := exact.Parse(t.S[at+1:])
	return x, negative, t.NumberError(e, at+1)
}

// Real is an exact positive number, bare or in quotes: a fraction, or a product
// of fractions, roots, pi, e and phi.
func (v *Value) Real() (exact.Real, *source.Error) {
	t, err := v.number()
	if err != nil {
		return exact.Real{}, err
	}
	x, e := exact.Parse(t.S)
	return x, t.NumberError(e, 0)
}

// Float is the float64 nearest to a number of either sign, bare or in quotes:
// a fraction, a decimal or a product such as 25.4/9. It rounds once.
func (v *Value) Float() (float64, *source.Error) {
	t, err := v.number()
	if err != nil {
		return 0, err
	}
	if r, e := exact.ParseRat(t.S); e == nil {
		return r.Float64(), nil
	}
	x, negative, err := t.signed()
	if negative {
		return -x.Float64(), err
	}
	return x.Float64(), err
}

// MM is a length in millimetres of either sign: a number as Float reads it, or
// quoted text with its unit, "3 mm" or "1/8 in" (an inch is 25.4 mm, exactly). It
// rounds once.
func (v *Value) MM() (float64, *source.Error) {
	if v.IsText() {
		if s, err := v.Str(); err == nil {
			if mm, ok := ParseMM(s); ok {
				return mm, nil
			}
		}
	}
	return v.Float()
}

// lengthUnits are the units of lengths; of two that end alike the longer comes
// first.
var lengthUnits = []struct {
	name string
	mm   exact.Rat
}{
	{"mm", exact.Int(1)}, {"cm", exact.Int(10)}, {"m", exact.Int(1000)}, {"in", exact.NewRat(127, 5)},
	{"ft", exact.NewRat(1524, 5)},
}

// ParseMM reads a length with its unit to millimetres: "3 mm", "1.2 m", "1/8 in",
// "4 5/8 in", "-1/4 in". It rounds once.
func ParseMM(s string) (float64, bool) {
	for _, unit := range lengthUnits {
		number, found := strings.CutSuffix(strings.TrimSpace(s), unit.name)
		if !found {
			continue
		}
		x, ok := mixed(number)
		if !ok {
			return 0, false
		}
		mm, fits := x.Mul(unit.mm)
		return mm.Float64(), fits
	}
	return 0, false
}

// mixed is a number, or a whole number with a fraction after a blank.
func mixed(s string) (exact.Rat, bool) {
	parts := strings.Fields(s)
	if len(parts) == 0 || len(parts) > 2 {
		return exact.Rat{}, false
	}
	sum, err := exact.ParseRat(parts[0])
	if err != nil || len(parts) == 1 {
		return sum, err == nil
	}
	fraction, err := exact.ParseRat(parts[1])
	if err != nil || !sum.IsInt() || fraction.Sign() < 0 || !strings.Contains(parts[1], "/") {
		return exact.Rat{}, false
	}
	if strings.HasPrefix(parts[0], "-") {
		return sum.Sub(fraction)
	}
	return sum.Add(fraction)
}

// NumberError is an error of exact.Parse or exact.ParseRat, which read the text
// from byte from on, at its place in the file; nil for a nil error.
func (t Text) NumberError(err error, from int) *source.Error {
	var syntax *exact.SyntaxError
	switch {
	case err == nil:
		return nil
	case !errors.As(err, &syntax):
		return t.Error(0, len(t.S), err.Error(), "")
	}
	start := min(from+syntax.Offset, len(t.S))
	return t.Error(start, min(start+syntax.Width, len(t.S)), syntax.Problem, syntax.Hint)
}

// Int is a whole number of either sign, bare or in quotes.
func (v *Value) Int() (int, *source.Error) {
	t, err := v.number()
	if err != nil {
		return 0, err
	}
	digits, negative := strings.CutPrefix(strings.TrimSpace(t.S), "-")
	if negative {
		digits = "-" + strings.TrimLeft(digits, " ") // - 3 is one number, 1 2 are two
	}
	n, e := strconv.Atoi(digits)
	if e != nil {
		return 0, v.Error("a whole number is wanted here", "write it without point, fraction or blanks: 7 or -7")
	}
	return n, nil
}

// Bool is true or false, bare or in quotes.
func (v *Value) Bool() (bool, *source.Error) {
	t, err := v.number()
	if err == nil && t.S != "true" && t.S != "false" {
		err = v.Error("true or false is wanted here", "")
	}
	return t.S == "true", err
}
