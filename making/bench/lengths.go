package bench

import (
	"math"
	"strconv"

	"rollwright/text/blocks"
)

const inchMM = 25.4 // exact: the international inch of 1959

// Lengths is how lengths are written for a person.
type Lengths int8

// The ways of writing lengths.
const (
	Millimetres   Lengths = iota // to a hundredth
	Inches64                     // whole inches and a fraction, to the nearest 64th
	InchesDecimal                // to a thousandth
)

// lengthWords are the ways as a profile names them.
var lengthWords = []string{"mm", "in/64", "in"}

// Unit is the unit in words as short as a column is wide.
func (l Lengths) Unit() string {
	if l == Millimetres {
		return "mm"
	}
	return "in"
}

// Text is a length without its unit, rounded to the nearest, halves away from
// 0: "117.48", "4 5/8", "4.625".
func (l Lengths) Text(mm float64) string {
	switch l {
	case Inches64:
		return inches64(mm)
	case InchesDecimal:
		return fixed(mm/inchMM, 3)
	}
	return fixed(mm, 2)
}

// With is a length with its unit.
func (l Lengths) With(mm float64) string { return l.Text(mm) + " " + l.Unit() }

// Long is a length of many metres, for estimates: "12.34 m", or "40 ft 6 in".
func (l Lengths) Long(mm float64) string {
	if l == Millimetres {
		return fixed(mm/1000, 2) + " m"
	}
	inches := int64(math.Round(mm / inchMM))
	return strconv.FormatInt(inches/12, 10) + " ft " + strconv.FormatInt(inches%12, 10) + " in"
}

// Across is the size of a wound roll, to what an eye sees: "54 mm", "2.1 in".
func (l Lengths) Across(mm float64) string {
	if l == Millimetres {
		return fixed(mm, 0) + " mm"
	}
	return fixed(mm/inchMM, 1) + " in"
}

// fixed is a number with so many decimals, never -0.
func fixed(x float64, decimals int) string {
	scale := math.Pow10(decimals)
	return strconv.FormatFloat(math.Round(x*scale)/scale+0, 'f', decimals, 64)
}

// inches64 is a length in whole inches and a reduced fraction of the nearest
// 64th.
func inches64(mm float64) string {
	n := int64(math.Round(math.Abs(mm) / inchMM * 64))
	sign := ""
	if mm < 0 && n > 0 {
		sign = "-"
	}
	whole, rest := n/64, n%64
	if rest == 0 {
		return sign + strconv.FormatInt(whole, 10)
	}
	over := int64(64)
	for rest%2 == 0 {
		rest, over = rest/2, over/2
	}
	fraction := strconv.FormatInt(rest, 10) + "/" + strconv.FormatInt(over, 10)
	if whole == 0 {
		return sign + fraction
	}
	return sign + strconv.FormatInt(whole, 10) + " " + fraction
}

// ParseLength is a length of at least 0 with its unit, in millimetres, as
// blocks.ParseMM reads it: "2 mm", "0.125 in", "4 5/8 in", "1.2 m".
func ParseLength(text string) (mm float64, ok bool) {
	mm, ok = blocks.ParseMM(text)
	return mm, ok && mm >= 0
}
