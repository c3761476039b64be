package exact

import (
	"fmt"
	"math"
	"strings"
)

var errNotPositive = fmt.Errorf("exact: a Real must be more than 0")

// Parse reads products and quotients, in parentheses if wanted, of
//
//	7  0.35           whole numbers and decimals
//	pi  e  phi        the constants; phi is the golden ratio
//	sqrt(x)  cbrt(x)  the square and the cube root
//	root(n, x)        the n-th root
//	pow(x, p/q)       x to the power p/q, which may be negative
//	cents(n)          the ratio of an interval of n cents, n with a sign or a point if wanted
//
// so "21/20", "sqrt(31)/4", "3/7 * 210". As in school, products and quotients
// are taken from left to right. The number must be more than 0, between
// 10^-100 and 10^100, and a whole number in it must be such that its primes
// can be found: 18 digits always can. An error is a *SyntaxError.
func Parse(s string) (Real, error) {
	p := &parser{text: s}
	x, err := p.realText()
	if err != nil {
		return Real{}, err
	}
	return x, nil
}

// MustParse is Parse for texts that are part of a program. It panics on error.
func MustParse(s string) Real {
	x, err := Parse(s)
	if err != nil {
		panic("exact: " + s + ": " + err.Error())
	}
	return x
}

func (p *parser) realText() (Real, *SyntaxError) {
	if err := p.checkText(); err != nil {
		return Real{}, err
	}
	x, err := p.product()
	if err != nil {
		return Real{}, err
	}
	if p.skip(); p.pos < len(p.text) {
		return Real{}, p.strayAfterFactor()
	}
	whole := &SyntaxError{Offset: 0, Width: len(p.text)}
	switch {
	case math.Abs(x.log2()) > maxLog10*math.Log2(10):
		whole.Problem = fmt.Sprintf("this number is too large or too small: about 10^%.0f", x.log2()/math.Log2(10))
		whole.Hint = fmt.Sprintf("stay between 10^-%d and 10^%d", maxLog10, maxLog10)
		return Real{}, whole
	case len(x.factors) > 10 && len(x.String()) > maxText:
		whole.Problem = "this number has too many different primes in it to be written out"
		return Real{}, whole
	}
	return x, nil
}

// product is factors with * or / between them.
func (p *parser) product() (Real, *SyntaxError) {
	x, err := p.factor()
	if err != nil {
		return Real{}, err
	}
	for {
		p.skip()
		start := p.pos
		divide := p.take('/')
		if !divide && !p.take('*') {
			return x, nil
		}
		y, err := p.factor()
		if err != nil {
			return Real{}, err
		}
		if divide {
			y = y.Inv()
		}
		if x, err = p.checkSize(x.Mul(y), start); err != nil {
			return Real{}, err
		}
	}
}

// checkSize keeps numbers so small that each step with them is fast.
func (p *parser) checkSize(x Real, start int) (Real, *SyntaxError) {
	for _, f := range x.factors {
		switch {
		case math.Abs(f.exp.float())*max(1, f.base.log2()) > maxBaseLog2:
			return Real{}, p.errorFrom(start, "this power is too large", "")
		case f.exp.big != nil || f.exp.small.Den() > maxFineness:
			return Real{}, p.errorFrom(start, "this root is too fine to be kept exact",
				"use rounder numbers: cents(702) rather than cents(701.9550008654)")
		}
	}
	return x, nil
}

func (p *parser) factor() (Real, *SyntaxError) {
	switch c := p.peek(); {
	case '0' <= c && c <= '9' || c == '.':
		return p.literal()
	case c == '(':
		return p.inParentheses(p.product)
	}
	start, word := p.pos, p.word()
	p.pos += len(word)
	switch word {
	case "pi":
		return Pi, nil
	case "e":
		return E, nil
	case "phi":
		return Phi, nil
	case "sqrt":
		return p.inParentheses(func() (Real, *SyntaxError) { return p.rootOf(2, start) })
	case "cbrt":
		return p.inParentheses(func() (Real, *SyntaxError) { return p.rootOf(3, start) })
	case "root":
		return p.inParentheses(func() (Real, *SyntaxError) { return p.root(start) })
	case "pow":
		return p.inParentheses(func() (Real, *SyntaxError) { return p.power(start) })
	case "cents":
		return p.inParentheses(func() (Real, *SyntaxError) { return p.cents(start) })
	}
	p.pos = start
	return Real{}, p.noFactor()
}

// inParentheses reads what inner reads between ( and ).
func (p *parser) inParentheses(inner func() (Real, *SyntaxError)) (Real, *SyntaxError) {
	before := strings.TrimSpace(p.text[max(0, p.pos-5):p.pos])
	if !p.take('(') {
		return Real{}, &SyntaxError{p.pos, 0, "a ( is missing here", fmt.Sprintf("as in %s", example(before))}
	}
	if p.depth++; p.depth > maxDepth {
		return Real{}, p.errorFrom(p.pos-1, fmt.Sprintf("more than %d parentheses stand within each other", maxDepth), "")
	}
	x, err := inner()
	if err != nil {
		return Real{}, err
	}
	if !p.take(')') {
		return Real{}, p.strayAfterFactor()
	}
	p.depth--
	return x, nil
}

// example is how a function is written, for hints.
func example(text string) string {
	for _, e := range []string{"sqrt(2)", "cbrt(2)", "root(12, 2)", "pow(2, 7/12)", "cents(702)"} {
		if name, _, _ := strings.Cut(e, "("); strings.HasSuffix(text, name) {
			return e
		}
	}
	return "(3/2)"
}

func (p *parser) literal() (Real, *SyntaxError) {
	start := p.pos
	x, err := p.number()
	if err != nil {
		return Real{}, err
	}
	if x.Sign() == 0 && p.peek() == ',' {
		return Real{}, p.strayAfterFactor()
	}
	if x.Sign() == 0 {
		return Real{}, p.errorFrom(start, "a number here must be more than 0", "")
	}
	r, factorErr := FromRat(x)
	if factorErr != nil {
		return Real{}, p.errorFrom(start, "this number is too long to be taken apart into its primes",
			"use at most 18 digits")
	}
	return p.checkSize(r, start)
}

func (p *parser) rootOf(n int64, start int) (Real, *SyntaxError) {
	x, err := p.product()
	if err != nil {
		return Real{}, err
	}
	return p.checkSize(x.Pow(NewRat(1, n)), start)
}

// root is "n, x".
func (p *parser) root(start int) (Real, *SyntaxError) {
	p.skip()
	degreeStart := p.pos
	n, err := p.signedFraction()
	if err != nil {
		return Real{}, err
	}
	if !n.IsInt() || n.Sign() <= 0 || n.Num() > maxFineness {
		return Real{}, p.errorFrom(degreeStart, fmt.Sprintf("the degree of a root is a whole number from 1, not %s", n),
			"root(12, 2) is the twelfth root of 2")
	}
	if err := p.comma("root(12, 2)"); err != nil {
		return Real{}, err
	}
	return p.rootOf(n.Num(), start)
}

// power is "x, p/q".
func (p *parser) power(start int) (Real, *SyntaxError) {
	x, err := p.product()
	if err != nil {
		return Real{}, err
	}
	if err := p.comma("pow(2, 7/12)"); err != nil {
		return Real{}, err
	}
	n, err := p.signedFraction()
	if err != nil {
		return Real{}, err
	}
	return p.checkSize(x.Pow(n), start)
}

func (p *parser) cents(start int) (Real, *SyntaxError) {
	n, err := p.signedFraction()
	if err != nil {
		return Real{}, err
	}
	return p.checkSize(Cents(n), start)
}

func (p *parser) comma(example string) *SyntaxError {
	if p.take(',') {
		return nil
	}
	if strings.IndexByte("+-^", p.peek()) >= 0 && p.peek() != 0 {
		return p.strayAfterFactor()
	}
	return &SyntaxError{p.pos, len(p.found()), "a comma and a second number are missing here", "as in " + example}
}

const whyNoSums = "only products, quotients and roots are kept exact"

// noFactor is the error where a number should begin and does not.
func (p *parser) noFactor() *SyntaxError {
	found := p.found()
	e := &SyntaxError{p.pos, len(found), fmt.Sprintf("a number is wanted here, not %q", found), ""}
	switch {
	case found == "":
		e.Problem = "a number is missing at the end"
		if strings.TrimSpace(p.text) == "" {
			e.Problem = "a number is missing"
		}
	case found == "-":
		e.Problem = "a number here must be more than 0 and has no sign"
		e.Hint = "a power or cents may be negative: pow(2, -7/12), cents(-50)"
	case found == "+":
		e.Problem = "a number here has no sign"
	case found == "√":
		e.Hint = "write sqrt(2)"
	case found == "π" || found == "Π":
		e.Hint = "write pi"
	case found == "φ" || found == "ϕ" || found == "Φ":
		e.Hint = "write phi"
	case p.word() != "":
		e.Problem = fmt.Sprintf("there is no number called %q", found)
		e.Hint = NameHint(found)
	}
	return e
}

// strayAfterFactor is the error for what follows a number or a closing
// parenthesis and is neither * nor /.
func (p *parser) strayAfterFactor() *SyntaxError {
	found := p.found()
	e := &SyntaxError{p.pos, len(found), fmt.Sprintf("%q does not belong here", found), ""}
	switch {
	case found == "":
		e.Problem = "a ) is missing at the end"
	case found == "+" || found == "-" || found == "−" || found == "–":
		kind := "sum"
		if found != "+" {
			kind = "difference"
		}
		e.Problem = fmt.Sprintf("a %s cannot be written here: %s", kind, whyNoSums)
		e.Hint = "work it out and write it as one fraction, decimal or root"
	case found == "^":
		e.Hint = "write a power as pow(2, 7/12)"
	case found == "×" || found == "·" || found == "⋅":
		e.Hint = "write * for times"
	case found == "÷" || found == ":":
		e.Hint = "write / for divided by"
	case found == ",":
		e.Hint = "decimals are written with a point: 0.35"
	case found == ")":
		e.Problem = "this ) has no ("
	case found == "(" || p.word() != "" || '0' <= found[0] && found[0] <= '9':
		e.Problem = "two numbers stand side by side"
		e.Width = 0
		e.Hint = "write * between them to multiply"
	}
	return e
}
