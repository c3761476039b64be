package fields

import (
	"regexp"
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// decimalComma is a number with a comma before its decimals.
var decimalComma = regexp.MustCompile(`^([0-9:]*[0-9]),([0-9]+[a-z]*(?:/[a-z]+)?)$`)

// Pointed is a text with points in place of the commas of its decimals, and
// whether it had any: "24,6 mm" becomes "24.6 mm". Other commas stay.
func Pointed(s string) (pointed string, changed bool) {
	words := strings.Fields(s)
	for i, word := range words {
		if decimalComma.MatchString(strings.TrimPrefix(word, "-")) {
			words[i], changed = strings.Replace(word, ",", ".", 1), true
		}
	}
	if !changed {
		return s, false
	}
	return strings.Join(words, " "), true
}

// DecimalPoint is the problem of a number that has a comma for its point.
const DecimalPoint = "decimals are written with a point: "

// commaError is a complaint about quoted text that would fit with a point in
// place of its comma, or nil.
func commaError(a *blocks.Attr, fits func(string) bool) *source.Error {
	s, err := a.Str()
	if err != nil || !a.IsText() {
		return nil
	}
	pointed, changed := Pointed(s)
	if !changed || !fits(pointed) {
		return nil
	}
	return a.Error(DecimalPoint+pointed, "")
}

func isLength(s string) bool {
	if _, ok := blocks.ParseMM(s); ok {
		return true
	}
	_, err := exact.ParseRat(s)
	return err == nil
}
