package blocks

import (
	"fmt"
	"regexp"
	"strings"

	"rollwright/text/source"
)

const decimalPoint = "decimals are written with a point"

var (
	pointedDigits = regexp.MustCompile(`[0-9]+([.,][0-9]+)+`)
	withItsUnit   = regexp.MustCompile(`^-?[0-9.]+\s*\p{L}`)
)

// PointForComma is text with a point in every number that has a comma for one,
// 92,5. It is false where there is no such number, and where a number has
// several signs in it, so that nobody knows which of them parts its decimals.
func PointForComma(s string) (pointed string, ok bool) {
	unclear := false
	pointed = pointedDigits.ReplaceAllStringFunc(s, func(number string) string {
		unclear = unclear || strings.Count(number, ".")+strings.Count(number, ",") > 1
		return strings.Replace(number, ",", ".", 1)
	})
	return pointed, pointed != s && !unclear
}

// Pointed is the value of a with a point in every number that has a comma for
// one, and false where there is none. It looks at quoted text, and at what Parse
// refused because of the comma.
func (a *Attr) Pointed() (value string, ok bool) {
	if a.kind == Quoted {
		return PointForComma(a.Raw())
	}
	return a.pointed, a.pointed != ""
}

// DecimalComma is the complaint about such a value, or nil.
func (a *Attr) DecimalComma() *source.Error {
	value, ok := a.Pointed()
	if !ok {
		return nil
	}
	return a.Error(decimalPoint, fmt.Sprintf("write: %s = %s", a.Name, value))
}

// commaAhead reports whether a comma and a digit follow a number without a
// blank: decimals, where nothing else can be meant.
func (p *parser) commaAhead(v *Value) bool {
	src := p.file.bytes
	isDigit := func(i int) bool { return i < len(src) && '0' <= src[i] && src[i] <= '9' }
	switch v.kind {
	case Number, Product, Negative, Sum:
		return p.tok.kind == ',' && p.tok.start == v.End && isDigit(v.End-1) && isDigit(v.End+1)
	}
	return false
}

// noComma is the value of an attribute, from byte from on, that has a comma for
// its point, without quotes.
func (p *parser) noComma(a *Attr, from int) *Value {
	words := p.unquoted(from)
	e := p.file.fail(from, from+len(words), decimalPoint, "write one point in a number, and no comma")
	v := p.bad(from, from+len(words), p.report(e))
	pointed, ok := PointForComma(words)
	if withItsUnit.MatchString(pointed) {
		pointed = fmt.Sprintf("%q", pointed)
	}
	if ok {
		v.pointed = pointed
		e.Hint = fmt.Sprintf("write: %s = %s", a.Name, pointed)
	}
	return v
}
