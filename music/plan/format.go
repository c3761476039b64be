package plan

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"rollwright/text/say"
)

// width is the columns of a terminal that the text keeps to.
const width = 80

// clockTime writes a time as 0:04.6, 1:23.4 or 3:50:23.4, to the nearest tenth
// of a second, half up; beyond 100 hours as days or years.
func clockTime(sec float64) string {
	if sec > 360_000 {
		return longTime(sec)
	}
	return say.Clock(sec, 1)
}

// longTime is for what nobody will wait for.
func longTime(sec float64) string {
	const day, year = 86_400.0, 365.2425 * 86_400
	switch years := sec / year; {
	case years >= 1e6:
		return fmt.Sprintf("%.1e years", years)
	case years >= 2:
		return fmt.Sprintf("%.0f years", years)
	}
	return fmt.Sprintf("%.1f days", sec/day)
}

// duration writes a length of time with three significant digits in the unit
// that suits it.
func duration(sec float64) string {
	size := math.Abs(sec)
	switch {
	case size == 0:
		return "0 s"
	case size < 0.9995e-6:
		return decimal(sec*1e9, 3) + " ns"
	case size < 0.9995e-3:
		return decimal(sec*1e6, 3) + " us"
	case size < 0.9995:
		return decimal(sec*1e3, 3) + " ms"
	case size < 600:
		return decimal(sec, 3) + " s"
	}
	return clockTime(sec)
}

// decimal writes x with so many significant digits, without an exponent and
// without zeros at the end.
func decimal(x float64, digits int) string {
	if x == 0 {
		return "0"
	}
	places := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(x))+1e-12)))
	text := fmt.Sprintf("%.*f", min(places, 15), x)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	if text == "-0" {
		return "0"
	}
	return text
}

// both writes a number exactly, if that is short, and as a decimal, if that
// says more.
func (n Number) both(digits int) string {
	rounded := decimal(n.Decimal, digits)
	switch {
	case n.Exact == "" || len(n.Exact) > 24:
		return rounded
	case n.Exact == rounded || !strings.ContainsAny(n.Exact, "/(*+epi"):
		return n.Exact
	}
	return n.Exact + " = " + rounded
}

// brief is the exact number if it is short, else the decimal.
func (n Number) brief() string {
	if n.Exact != "" && len(n.Exact) <= 12 {
		return n.Exact
	}
	return decimal(n.Decimal, 6)
}

// units writes "1 unit", "5/2 units".
func units(n string) string {
	if n == "1" {
		return "1 unit"
	}
	return n + " units"
}

// wrap breaks text into lines that fit after indent columns.
func wrap(text string, indent int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		switch {
		case line == "":
			line = word
		case indent+utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width:
			lines = append(lines, line)
			line = word
		default:
			line += " " + word
		}
	}
	return append(lines, line)
}

// cut shortens text to n characters.
func cut(text string, n int) string {
	if utf8.RuneCountInString(text) <= n {
		return text
	}
	return string([]rune(text)[:max(0, n-2)]) + ".."
}

// pad fills text with blanks to n characters.
func pad(text string, n int) string {
	return text + strings.Repeat(" ", max(0, n-utf8.RuneCountInString(text)))
}

// padLeft fills text with blanks on the left.
func padLeft(text string, n int) string {
	return strings.Repeat(" ", max(0, n-utf8.RuneCountInString(text))) + text
}
