package exact

import (
	"fmt"
	"math/big"
	"strings"
	"unicode/utf8"
)

// SyntaxError says why a text is not a number that is read here, in words for
// the person who wrote it.
type SyntaxError struct {
	Offset  int    // of the first byte that is wrong, from 0; the length of the text when something is missing at its end
	Width   int    // how many bytes are wrong; 0 when something is missing
	Problem string // what is wrong
	Hint    string // how to write it right; may be empty
}

func (e *SyntaxError) Error() string {
	if e.Hint == "" {
		return e.Problem
	}
	return e.Problem + "; " + e.Hint
}

// Limits of what is read. They are far beyond any music, and keep every step
// of reading fast.
const (
	maxText     = 500           // bytes
	maxDepth    = 32            // parentheses within parentheses
	maxDigits   = 40            // of one number, as written
	maxFineness = 1_000_000_000 // denominator of a power
	maxBaseLog2 = 2000          // size of one prime power: 2^2000
	maxLog10    = 100           // size of the whole number: 10^100
)

// ParseRat reads a whole number, a fraction or a decimal: "7", "-3/7", "0.35".
// Blanks may stand around the parts. An error is a *SyntaxError.
func ParseRat(s string) (Rat, error) {
	p := &parser{text: s}
	x, err := p.ratText()
	if err != nil {
		return Rat{}, err
	}
	return x, nil
}

func (p *parser) ratText() (Rat, *SyntaxError) {
	if err := p.checkText(); err != nil {
		return Rat{}, err
	}
	x, err := p.signedFraction()
	if err != nil {
		return Rat{}, err
	}
	if p.skip(); p.pos < len(p.text) {
		return Rat{}, p.strayAfterNumber()
	}
	return x, nil
}

// parser reads a text from left to right.
type parser struct {
	text  string
	pos   int
	depth int
}

func (p *parser) checkText() *SyntaxError {
	if len(p.text) > maxText {
		return &SyntaxError{maxText, len(p.text) - maxText,
			fmt.Sprintf("this number is written with %d characters; at most %d are read", len(p.text), maxText), ""}
	}
	return nil
}

// skip passes over blanks.
func (p *parser) skip() {
	for p.pos < len(p.text) && strings.IndexByte(" \t\r\n", p.text[p.pos]) >= 0 {
		p.pos++
	}
}

// take passes over blanks and then over c, if c is there.
func (p *parser) take(c byte) bool {
	if p.peek() != c {
		return false
	}
	p.pos++
	return true
}

// peek is the next byte after blanks, 0 at the end.
func (p *parser) peek() byte {
	if p.skip(); p.pos < len(p.text) {
		return p.text[p.pos]
	}
	return 0
}

// signedFraction is a sign, a number and perhaps a slash and another number.
func (p *parser) signedFraction() (Rat, *SyntaxError) {
	p.skip()
	start := p.pos
	negative := p.take('-')
	if !negative {
		p.take('+')
	}
	x, err := p.number()
	if err != nil {
		return Rat{}, err
	}
	if p.take('/') {
		p.skip()
		divisorStart := p.pos
		divisor, err := p.number()
		if err != nil {
			return Rat{}, err
		}
		if divisor.Sign() == 0 {
			return Rat{}, p.errorFrom(divisorStart, "a number cannot be divided by 0", "")
		}
		x.Quo(x, divisor)
	}
	if negative {
		x.Neg(x)
	}
	r, ok := FromBig(x)
	if !ok {
		return Rat{}, p.errorFrom(start, "this fraction is too long to be kept exact",
			"use at most 18 digits above and below the line")
	}
	return r, nil
}

// number is digits, perhaps with a point in them.
func (p *parser) number() (*big.Rat, *SyntaxError) {
	p.skip()
	start := p.pos
	p.digits()
	wholeEnd := p.pos
	if p.pos < len(p.text) && p.text[p.pos] == '.' {
		p.pos++
		p.digits()
	}
	literal := p.text[start:p.pos]
	switch {
	case wholeEnd == start:
		p.pos = start
		return nil, p.missingNumber(literal)
	case strings.HasSuffix(literal, "."):
		return nil, p.errorFrom(start, fmt.Sprintf("no digit follows the point of %s", literal), "write "+
			strings.TrimSuffix(literal, "."))
	case len(literal) > maxDigits:
		return nil, p.errorFrom(start, fmt.Sprintf("a number of %d digits is too long", len(literal)),
			"use at most 18 digits")
	}
	if err := p.powerOfTen(start); err != nil {
		return nil, err
	}
	x, ok := new(big.Rat).SetString(literal)
	if !ok {
		panic("exact: a literal of digits and a point is not a number: " + literal)
	}
	return x, nil
}

func (p *parser) digits() {
	for p.pos < len(p.text) && '0' <= p.text[p.pos] && p.text[p.pos] <= '9' {
		p.pos++
	}
}

// powerOfTen refuses the computer's way to write large numbers: in music text
// the e of 2e3 may as well be the constant.
func (p *parser) powerOfTen(start int) *SyntaxError {
	rest := p.text[p.pos:]
	if rest == "" || rest[0] != 'e' && rest[0] != 'E' {
		return nil
	}
	exponent := strings.TrimLeft(rest[1:], "+-")
	if exponent == "" || exponent[0] < '0' || exponent[0] > '9' {
		return nil
	}
	p.pos++
	for p.pos < len(p.text) && strings.IndexByte("+-", p.text[p.pos]) >= 0 {
		p.pos++
	}
	p.digits()
	return p.errorFrom(start, "powers of ten are not read in this form: "+p.text[start:p.pos],
		"write the number out: 1e3 is 1000")
}

// errorFrom marks the text from start to the place reached.
func (p *parser) errorFrom(start int, problem, hint string) *SyntaxError {
	return &SyntaxError{start, p.pos - start, problem, hint}
}

// missingNumber is the error where digits should begin and do not.
func (p *parser) missingNumber(literal string) *SyntaxError {
	found := p.found()
	switch {
	case found == "":
		return p.errorFrom(p.pos, "a number is missing at the end", "")
	case strings.HasPrefix(literal, ".") && len(literal) > 1:
		return &SyntaxError{p.pos, len(literal), "a number begins with a digit, not with its point", "write 0" + literal}
	}
	return &SyntaxError{p.pos, len(found), fmt.Sprintf("a number is wanted here, not %q", found), ""}
}

// strayAfterNumber is the error for what follows a complete number.
func (p *parser) strayAfterNumber() *SyntaxError {
	found := p.found()
	e := &SyntaxError{p.pos, len(found), fmt.Sprintf("%q does not belong to a number", found), ""}
	switch found {
	case ",":
		e.Hint = "decimals are written with a point: 0.35"
	case "/":
		e.Hint = "a fraction has one line: 3/7"
	}
	return e
}

// found is the next word or sign, for messages; empty at the end.
func (p *parser) found() string {
	p.skip()
	if word := p.word(); word != "" {
		return word
	}
	_, size := utf8.DecodeRuneInString(p.text[p.pos:])
	return p.text[p.pos : p.pos+size]
}

// word is the run of ASCII letters at the place reached.
func (p *parser) word() string {
	end := p.pos
	for end < len(p.text) && ('a' <= p.text[end]|0x20 && p.text[end]|0x20 <= 'z') {
		end++
	}
	return p.text[p.pos:end]
}
