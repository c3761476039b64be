package bench

import (
	"math"
	"strconv"
	"strings"

	"rollwright/exact"
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

// ParseLength is a length with its unit in millimetres: "2 mm", "0.125 in",
// "1/8 in", "4 5/8 in", "1.2 m". It rounds once.
func ParseLength(text string) (mm float64, ok bool) {
	text = strings.TrimSpace(text)
	for _, unit := range []struct {
		name string
		mm   exact.Rat
	}{{"mm", exact.NewRat(1, 1)}, {"cm", exact.NewRat(10, 1)}, {"m", exact.NewRat(1000, 1)}, {"in", exact.NewRat(127, 5)}, {"ft", exact.NewRat(1524, 5)}} {
		number, found := strings.CutSuffix(text, unit.name)
		if !found {
			continue
		}
		r, ok := mixed(number)
		if ok {
			r, ok = r.Mul(unit.mm)
		}
		return r.Float64(), ok && r.Sign() >= 0
	}
	return 0, false
}

// mixed is a number, or a whole number with a fraction after a blank.
func mixed(text string) (exact.Rat, bool) {
	parts := strings.Fields(text)
	if len(parts) == 0 || len(parts) > 2 {
		return exact.Rat{}, false
	}
	sum, err := exact.ParseRat(parts[0])
	if err != nil || len(parts) == 1 {
		return sum, err == nil
	}
	fraction, err := exact.ParseRat(parts[1])
	if err != nil || !sum.IsInt() || fraction.Sign() < 0 || !strings.Contains(parts[1], "/") {
		return exact.Rat{}, false
	}
	return sum.Add(fraction)
}
