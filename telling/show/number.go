package show

import (
	"regexp"
	"strings"
	"unicode/utf8"

	"rollwright/music/plan"
)

// longestNumber is how many characters an exact number may have to be read out.
const longestNumber = 14

var (
	greek      = strings.NewReplacer("pi", "π", "phi", "φ", "*", "·")
	squareRoot = regexp.MustCompile(`\bsqrt\((\d+|e|π|φ)\)`)
	cubeRoot   = regexp.MustCompile(`\bcbrt\((\d+|e|π|φ)\)`)
	functions  = regexp.MustCompile(`[a-z]{2}`)
)

// signs is a number of a piece file as print has it: sqrt(3) is √3. False for
// numbers that a line of plain type cannot hold, such as pow(2, 7/12).
func signs(exact string) (string, bool) {
	s := greek.Replace(exact)
	s = squareRoot.ReplaceAllString(s, "√$1")
	s = cubeRoot.ReplaceAllString(s, "³√$1")
	return s, !functions.MatchString(s)
}

// number is a number exactly, where that is short, and as a decimal where that
// says more.
func (t *teller) number(n *plan.Number) string {
	decimal := t.decimal(n.Decimal)
	exact, ok := signs(n.Exact)
	switch {
	case exact == "" || !ok || utf8.RuneCountInString(exact) > longestNumber:
		return decimal
	case exact == decimal || strings.Trim(exact, "0123456789") == "":
		return exact
	}
	return exact + " (" + decimal + ")"
}
