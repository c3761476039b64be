package find

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"rollwright/text/say"
)

// width is the columns of a terminal that the text keeps to.
const width = 80

// millis writes a short time in milliseconds, to a tenth.
func millis(sec float64) string {
	return strconv.FormatFloat(math.Round(sec*1e4)/10, 'f', -1, 64) + " ms"
}

// decimal writes x with so many significant digits, without zeros at the end.
func decimal(x float64, digits int) string {
	if x == 0 {
		return "0"
	}
	places := max(0, digits-1-int(math.Floor(math.Log10(math.Abs(x))+1e-12)))
	text := strconv.FormatFloat(x, 'f', min(places, 12), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// share writes a share in per cent: all of them, 97 %, 99.4 %.
func share(x float64) string {
	if x >= 1 {
		return "all"
	}
	return strconv.FormatFloat(math.Floor(x*1000)/10, 'f', -1, 64) + " %"
}

// luck says how often chance would do as well.
func luck(x float64) string {
	switch {
	case x >= 0.5:
		return "chance would do as well"
	case x < 1e-12:
		return "chance would do as well less than once in a million million times"
	case x < 1e-6:
		return "chance would do as well less than once in a million times"
	}
	n := math.Pow(10, math.Floor(-math.Log10(x)))
	return "chance would do as well less than once in " + strconv.FormatFloat(n, 'f', 0, 64) + " times"
}

// interval names a distance in semitones.
func interval(semitones int) string {
	way := "higher"
	if semitones < 0 {
		way, semitones = "lower", -semitones
	}
	named := map[int]string{0: "at the same pitch", 12: "an octave " + way, 24: "two octaves " + way, 7: "a fifth " + way,
		19: "a twelfth " + way,
		5:  "a fourth " + way, 36: "three octaves " + way}
	if text, ok := named[semitones]; ok {
		return text
	}
	return say.Count(semitones, "semitone") + " " + way
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
