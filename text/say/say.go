// Package say turns numbers into what a person reads: times, spans of work,
// lengths, counts. There is one way to say each, held by testdata/cases.json, to
// which the page in the browser is held too.
//
// Times are seconds and lengths millimetres, in float64; each function says to
// what it rounds. A value within a billionth below a half counts as the half,
// because arithmetic may have put it there.
package say

import (
	"fmt"
	"math"
	"strings"
)

// nearHalf is how far below a half arithmetic may leave one.
const nearHalf = 1e-9

// rounded is x times scale to the nearest whole number, halves up.
func rounded(x, scale float64) int64 { return int64(math.Floor(x*scale + 0.5 + nearHalf)) }

// Clock is an instant or a length of time as minutes and seconds, 1:23.4, from an
// hour on with hours, 1:06:40.0, to the nearest with so many decimals (0 to 9),
// halves up. A time before 0 has a sign unless it rounds to 0.
func Clock(sec float64, places int) string {
	sign := ""
	scale := math.Pow10(places)
	n := rounded(math.Abs(sec), scale)
	if sec < 0 && n > 0 {
		sign = "-"
	}
	whole, part := n/int64(scale), n%int64(scale)
	text := fmt.Sprintf("%s%d:%02d", sign, whole/60, whole%60)
	if whole >= 3600 {
		text = fmt.Sprintf("%s%d:%02d:%02d", sign, whole/3600, whole/60%60, whole%60)
	}
	if places > 0 {
		text += fmt.Sprintf(".%0*d", places, part)
	}
	return text
}

// Instant is a time in a piece, for a place that has to be found: seconds to the
// millisecond below a minute, 12.345 s, then Clock with three decimals.
func Instant(sec float64) string {
	if math.Abs(sec) < 60-0.0005 {
		return fmt.Sprintf("%.3f s", float64(rounded(sec, 1000))/1000)
	}
	return Clock(sec, 3)
}

// Work is a span of work to the next whole minute: "12 min", "3 h 05 min".
func Work(sec float64) string {
	minutes := int64(math.Ceil(sec/60 - nearHalf))
	if minutes < 60 {
		return fmt.Sprintf("%d min", minutes)
	}
	return fmt.Sprintf("%d h %02d min", minutes/60, minutes%60)
}

// Paper is a length along the paper: millimetres to a tenth up to a metre, then
// metres to the millimetre, halves up.
func Paper(mm float64) string {
	if math.Abs(mm) >= 999.95 {
		return fmt.Sprintf("%.3f m", float64(rounded(mm, 1))/1000)
	}
	return fmt.Sprintf("%.1f mm", float64(rounded(mm, 10))/10)
}

// irregular are the nouns of the trade whose plural is not made with s.
var irregular = map[string]string{
	"color": "colores", "talea": "taleae", "punch": "punches", "pitch": "pitches", "pass": "passes",
	"piece of paper": "pieces of paper", "kind of voice": "kinds of voices", "more pair is": "more pairs are",
	"voice of its own": "voices of their own", "inch": "inches", "foot": "feet", "thing to mend": "things to mend",
}

// Plural is a noun for so many.
func Plural(n int, noun string) string {
	if n == 1 {
		return noun
	}
	if plural, ok := irregular[noun]; ok {
		return plural
	}
	if stem, ok := strings.CutSuffix(noun, "y"); ok && !strings.HasSuffix(stem, "a") && !strings.HasSuffix(stem, "e") {
		return stem + "ies"
	}
	return noun + "s"
}

// Count is a number with its noun: "1 note", "12 notes", "2 colores".
func Count(n int, noun string) string { return fmt.Sprintf("%d %s", n, Plural(n, noun)) }

// List is names in a row: "a", "a and b", "a, b and c".
func List(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}
