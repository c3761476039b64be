package piecefile

import (
	"fmt"
	"math/big"
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// A number may be reckoned: products and quotients of everything that package exact
// knows, sums and differences of fractions, names of lets among them.

// reckoned is a number that came of it: a fraction of either sign, or a positive root.
type reckoned struct {
	rat  *big.Rat   // nil: it is no fraction
	root exact.Real // in place of rat
	neg  bool       // of a root
}

// text is the number as package exact reads it.
func (x reckoned) text() string {
	if x.rat != nil {
		return x.rat.RatString()
	}
	if x.neg {
		return "-" + x.root.String()
	}
	return x.root.String()
}

// real is the number as a positive product; false when it is not more than 0, or too large.
func (x reckoned) real() (exact.Real, bool) {
	if x.rat == nil {
		return x.root, !x.neg
	}
	if x.rat.Sign() <= 0 {
		return exact.Real{}, false
	}
	r, err := exact.FromRat(x.rat)
	return r, err == nil
}

// wrong is why something cannot be reckoned, about the bytes from i to j of its text.
type wrong struct {
	i, j          int
	problem, hint string
}

// calculation reads a number from left to right.
type calculation struct {
	r     *reader
	s     string
	i     int
	depth int
}

// deepestNames bounds names that are made of names, and parentheses.
const deepestNames = 32

// reckonable reports whether text may be more than package exact reads by itself: it adds
// or subtracts, or has a name of a let in it.
func (r *reader) reckonable(text string) bool {
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '+', c == '-' && strings.TrimSpace(text[:i]) != "":
			return true
		case letterOrUnder(c):
			word := wordAt(text[i:])
			if r.lets[word] != nil {
				return true
			}
			if before, _, cut := strings.Cut(word, "-"); cut && r.lets[before] != nil {
				return true
			}
			i += len(word) - 1
		}
	}
	return false
}

func letterOrUnder(c byte) bool {
	return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '_'
}

// wordAt is the name at the beginning of s, as HCL has names: hyphens belong to them.
func wordAt(s string) string {
	n := 0
	for n < len(s) && (letterOrUnder(s[n]) || n > 0 && (s[n] == '-' || '0' <= s[n] && s[n] <= '9')) {
		n++
	}
	return s[:n]
}

// reckon reads a whole text.
func (r *reader) reckon(text string, depth int) (reckoned, *wrong) {
	c := &calculation{r: r, s: text, depth: depth}
	x, err := c.sum()
	if err == nil && c.peek() != 0 {
		err = &wrong{c.i, len(strings.TrimRight(text, " \t\r\n")), "a sign is missing before this",
			"join numbers with * / + or -"}
	}
	return x, err
}

// peek is the next character, blanks left out; 0 at the end.
func (c *calculation) peek() byte {
	for c.i < len(c.s) && strings.IndexByte(" \t\r\n", c.s[c.i]) >= 0 {
		c.i++
	}
	if c.i == len(c.s) {
		return 0
	}
	return c.s[c.i]
}

func (c *calculation) sum() (reckoned, *wrong) {
	c.peek()
	start := c.i
	x, err := c.product()
	for err == nil && (c.peek() == '+' || c.peek() == '-') {
		minus := c.s[c.i] == '-'
		c.i++
		var y reckoned
		if y, err = c.product(); err != nil {
			break
		}
		if x.rat == nil || y.rat == nil {
			root, word := x, "sum"
			if x.rat != nil {
				root = y
			}
			if minus {
				word = "difference"
			}
			return x, &wrong{start, c.i, fmt.Sprintf("a %s of roots cannot be kept exact: %s is no fraction", word, root.text()),
				"sums and differences are for fractions; write a product of fractions and roots, or a decimal"}
		}
		if minus {
			x.rat = new(big.Rat).Sub(x.rat, y.rat)
		} else {
			x.rat = new(big.Rat).Add(x.rat, y.rat)
		}
		err = c.small(x, start)
	}
	return x, err
}

// small refuses numbers of a size that nobody needs.
func (c *calculation) small(x reckoned, start int) *wrong {
	const bits = 256
	if x.rat != nil && (x.rat.Num().BitLen() > bits || x.rat.Denom().BitLen() > bits) {
		return &wrong{start, c.i, "this number is too large or too fine", "write a rounder one"}
	}
	return nil
}

func (c *calculation) product() (reckoned, *wrong) {
	c.peek()
	start := c.i
	x, err := c.factor()
	for err == nil && (c.peek() == '*' || c.peek() == '/') {
		over := c.s[c.i] == '/'
		c.i++
		c.peek()
		at := c.i
		var y reckoned
		if y, err = c.factor(); err != nil {
			break
		}
		if over && y.rat != nil && y.rat.Sign() == 0 {
			return x, &wrong{at, c.i, "a division by 0", ""}
		}
		if x, err = c.times(x, y, over, start); err == nil {
			err = c.small(x, start)
		}
	}
	return x, err
}

func (c *calculation) times(x, y reckoned, over bool, start int) (reckoned, *wrong) {
	if x.rat != nil && y.rat != nil {
		if over {
			return reckoned{rat: new(big.Rat).Quo(x.rat, y.rat)}, nil
		}
		return reckoned{rat: new(big.Rat).Mul(x.rat, y.rat)}, nil
	}
	if x.rat != nil && x.rat.Sign() == 0 || y.rat != nil && y.rat.Sign() == 0 {
		return reckoned{rat: new(big.Rat)}, nil
	}
	a, negA, okA := x.size()
	b, negB, okB := y.size()
	if !okA || !okB {
		return x, &wrong{start, c.i, "this number is too large or too fine", "write a rounder one"}
	}
	if over {
		b = b.Inv()
	}
	return normal(a.Mul(b), negA != negB), nil
}

// size is the number without its sign; false when it is too large.
func (x reckoned) size() (size exact.Real, negative, ok bool) {
	if x.rat == nil {
		return x.root, x.neg, true
	}
	size, err := exact.FromRat(new(big.Rat).Abs(x.rat))
	return size, x.rat.Sign() < 0, err == nil
}

// normal is a product as a fraction where it is one.
func normal(x exact.Real, negative bool) reckoned {
	if rat, ok := x.Rat(); ok {
		if negative {
			rat = new(big.Rat).Neg(rat)
		}
		return reckoned{rat: rat}
	}
	return reckoned{root: x, neg: negative}
}

func (c *calculation) factor() (reckoned, *wrong) {
	start := c.i
	switch b := c.peek(); {
	case b == 0:
		return reckoned{}, &wrong{max(start-1, 0), max(start, 1), "a number is missing here",
			"go on after this sign, or delete it"}
	case b == '-':
		c.i++
		x, err := c.deeper(c.factor)
		if x.rat != nil {
			x.rat = new(big.Rat).Neg(x.rat)
		} else {
			x.neg = !x.neg
		}
		return x, err
	case b == '(':
		open := c.i
		c.i++
		x, err := c.deeper(c.sum)
		if err == nil && c.peek() != ')' {
			return x, &wrong{open, open + 1, "this ( is not closed", "close it with )"}
		}
		c.i++
		return x, err
	case letterOrUnder(b):
		return c.name()
	}
	return c.literal()
}

func (c *calculation) deeper(inner func() (reckoned, *wrong)) (reckoned, *wrong) {
	if c.depth++; c.depth > deepestNames {
		return reckoned{}, &wrong{c.i, c.i + 1, "this is nested too deeply", ""}
	}
	x, err := inner()
	c.depth--
	return x, err
}

// literal is a number in digits.
func (c *calculation) literal() (reckoned, *wrong) {
	start := c.i
	for c.i < len(c.s) && (c.s[c.i] == '.' || '0' <= c.s[c.i] && c.s[c.i] <= '9') {
		c.i++
	}
	x, err := exact.ParseRat(c.s[start:c.i])
	if err != nil || c.i == start {
		return reckoned{}, &wrong{start, max(c.i, start+1), fmt.Sprintf("%q is no number",
			source.Printable(strings.TrimSpace(c.s[start:max(c.i, start+1)]))), "write a number: 7, 0.35 or 3/7"}
	}
	return reckoned{rat: x.Big()}, nil
}

// name is a constant, a function or a let.
func (c *calculation) name() (reckoned, *wrong) {
	start := c.i
	word := wordAt(c.s[c.i:])
	c.i += len(word)
	if c.i < len(c.s) && c.s[c.i] == '(' && numberFunction(word) {
		return c.call(word, start)
	}
	if x, err := exact.Parse(word); err == nil {
		return normal(x, false), nil
	}
	a := c.r.lets[word]
	if a == nil {
		problem, hint := asNumber(source.Printable(word))
		if before, after, cut := strings.Cut(word, "-"); cut {
			hint = fmt.Sprintf("a - belongs to a name; for a difference put blanks around it: %s - %s", before, after)
		}
		return reckoned{}, &wrong{start, c.i, problem, hint}
	}
	t, err := a.Value.Written()
	if err != nil || a.Value.Kind() == blocks.List {
		return reckoned{}, &wrong{start, c.i, word + " is no number",
			fmt.Sprintf("line %d has: %s", a.At.Line, source.Printable(brief(a.Raw())))}
	}
	if c.depth >= deepestNames {
		return reckoned{}, &wrong{start, c.i, word + " is made of itself, or of too many others", "give the let a value"}
	}
	x, bad := c.r.reckon(t.S, c.depth+1)
	if bad != nil {
		bad = &wrong{start, c.i, word + " is no number", fmt.Sprintf("line %d has: %s", a.At.Line,
			source.Printable(brief(a.Raw())))}
	}
	return x, bad
}

// brief is text short enough for a hint.
func brief(s string) string {
	const most = 40
	if first, _, more := strings.Cut(s, "\n"); more {
		s = first + " ..."
	}
	if len(s) > most {
		return s[:most] + " ..."
	}
	return s
}

// call is sqrt(...) and its like, whose arguments may be reckoned too.
func (c *calculation) call(word string, start int) (reckoned, *wrong) {
	c.i++
	var args []string
	for {
		x, err := c.deeper(c.sum)
		if err != nil {
			return x, err
		}
		args = append(args, x.text())
		next := c.peek()
		c.i++
		if next == ')' {
			break
		}
		if next != ',' {
			return x, &wrong{start, start + len(word), "the parentheses of " + word + " are not closed", ""}
		}
	}
	x, err := exact.Parse(word + "(" + strings.Join(args, ", ") + ")")
	if err != nil {
		syntax, _ := err.(*exact.SyntaxError)
		bad := &wrong{start, c.i, err.Error(), ""}
		if syntax != nil {
			bad.problem, bad.hint = syntax.Problem, syntax.Hint
		}
		return reckoned{}, bad
	}
	return normal(x, false), nil
}

// reckonedIn is the number that a text comes to, with a complaint where it does not. It is
// for what package exact alone does not read.
func (r *reader) reckonedIn(t blocks.Text, i, j int) (reckoned, *source.Error) {
	if !r.affords(t.S[i:j]) {
		return reckoned{}, r.tooHard(t.Error(i, j, tooHard, tooHardHint))
	}
	x, bad := r.reckon(t.S[i:j], 0)
	if bad != nil {
		return x, t.Error(i+bad.i, min(i+bad.j, len(t.S)), bad.problem, bad.hint)
	}
	return x, nil
}

// reckonValue is what a value comes to that package exact alone does not read; tried is
// false where it is not that.
func (r *reader) reckonValue(v *blocks.Value) (x reckoned, tried bool, err *source.Error) {
	if v.Kind() == blocks.List || v.Kind() == blocks.Bad {
		return x, false, nil
	}
	t, err := v.Written()
	if err != nil || !r.reckonable(t.S) {
		return x, false, nil
	}
	x, err = r.reckonedIn(t, 0, len(t.S))
	return x, true, err
}

// ratOf is an exact fraction of either sign.
func (r *reader) ratOf(v *blocks.Value) (exact.Rat, *source.Error) {
	x, tried, err := r.reckonValue(v)
	switch {
	case !tried:
		return v.Rat()
	case err != nil:
		return exact.Rat{}, err
	case x.rat == nil:
		return exact.Rat{}, v.Error("a fraction is wanted here, and this number is irrational",
			"write a whole number, a decimal or a fraction: 3/7")
	}
	f, ok := exact.FromBig(x.rat)
	if !ok {
		return f, v.Error("this number is too large or too fine", "numerator and denominator have at most 18 digits")
	}
	return f, nil
}

// intOf is a whole number of either sign.
func (r *reader) intOf(v *blocks.Value) (int, *source.Error) {
	x, tried, err := r.reckonValue(v)
	switch {
	case !tried:
		return v.Int()
	case err != nil:
		return 0, err
	case x.rat == nil || !x.rat.IsInt():
		return 0, v.Error("a whole number is wanted here, and this is "+x.text(), "")
	case !x.rat.Num().IsInt64():
		return 0, v.Error("this number is too large", "")
	}
	return int(x.rat.Num().Int64()), nil
}

// realOf is an exact positive number.
func (r *reader) realOf(v *blocks.Value) (exact.Real, *source.Error) {
	x, tried, err := r.reckonValue(v)
	switch {
	case !tried:
		return v.Real()
	case err != nil:
		return exact.Real{}, err
	}
	real, ok := x.real()
	if !ok {
		return real, v.Error("a number here must be more than 0, and this is "+x.text(), "")
	}
	return real, nil
}
