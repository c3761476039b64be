package fields

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Text takes quoted text.
func Text[T any](to func(*T) *string) Take[T] {
	return func(into *T, a *blocks.Attr) *source.Error {
		s, err := a.Str()
		if err == nil {
			*to(into) = s
		}
		return err
	}
}

// Words takes one of a few words in quotes; set is told which, from 0.
func Words[T any](set func(*T, int), choices ...string) Take[T] {
	return func(into *T, a *blocks.Attr) *source.Error {
		all := `write "` + strings.Join(choices, `" or "`) + `"`
		s, err := a.Str()
		if err != nil {
			if !a.IsText() && a.Kind() != blocks.Bad && !slices.Contains(choices, a.Raw()) {
				err.Hint = all // the value in quotes would be no choice either
			}
			return err
		}
		i := slices.Index(choices, s)
		if i < 0 {
			return a.Error(fmt.Sprintf("%s cannot be %q", a.Name, source.Printable(s)), all)
		}
		set(into, i)
		return nil
	}
}

// OrWord takes one word in quotes as a value of its own, and everything else as
// take does.
func OrWord[T any](word string, value float64, to func(*T) *float64, take Take[T]) Take[T] {
	return func(into *T, a *blocks.Attr) *source.Error {
		if s, err := a.Str(); a.IsText() && err == nil && s == word {
			*to(into) = value
			return nil
		}
		return take(into, a)
	}
}

// Whole takes a whole number.
func Whole[T any](low, high int, to func(*T) *int) Take[T] {
	return func(into *T, a *blocks.Attr) *source.Error {
		numberAlone(a, float64(low), float64(high))
		n, err := a.Int()
		if err != nil {
			return err
		}
		*to(into) = n
		return InRange(a, float64(n), float64(low), float64(high), "")
	}
}

// Number takes a number without a unit.
func Number[T any](low, high float64, to func(*T) *float64) Take[T] {
	return func(into *T, a *blocks.Attr) *source.Error {
		numberAlone(a, low, high)
		x, err := a.Float()
		if err != nil {
			return err
		}
		*to(into) = x
		return InRange(a, x, low, high, "")
	}
}

// Length takes millimetres, or text with its unit: 1.8, 25.4/9, "1/8 in".
func Length[T any](lowMM, highMM float64, to func(*T) *float64) Take[T] {
	return func(into *T, a *blocks.Attr) *source.Error {
		mm, err := MM(a)
		if err != nil {
			return err
		}
		*to(into) = mm
		return InRange(a, mm, lowMM, highMM, " mm")
	}
}

const noLength, lengthHint = "a length is wanted here", `write millimetres, 1.8, or a length with its unit: "1.8 mm", "1/8 in"`

// MM is the attribute's value as Length takes it.
func MM(a *blocks.Attr) (float64, *source.Error) {
	withUnit(a, func(words string) bool { _, ok := blocks.ParseMM(words); return ok }, noLength, lengthHint)
	mm, err := a.MM()
	if err != nil && a.IsText() {
		err = cmp.Or(commaError(a, isLength), a.Error(noLength, lengthHint))
	}
	return mm, err
}

// span is a way of stating times.
type span struct {
	sec  float64 // the unit that ranges are told in
	name string
	hint string
}

// Seconds takes a short time with its unit, "40 ms" or "0.04 s", to seconds.
func Seconds[T any](lowSec, highSec float64, to func(*T) *float64) Take[T] {
	return timed(span{1, " s", `write "40 ms" or "0.04 s"`}, lowSec, highSec, to)
}

// Minutes takes a long time with its unit, "90 min" or "1.5 h", to seconds.
func Minutes[T any](lowMin, highMin float64, to func(*T) *float64) Take[T] {
	return timed(span{60, " minutes", `write "90 min" or "1.5 h"`}, lowMin, highMin, to)
}

func timed[T any](in span, low, high float64, to func(*T) *float64) Take[T] {
	const problem = "a time with its unit is wanted here"
	return func(into *T, a *blocks.Attr) *source.Error {
		withUnit(a, isTime, problem, in.hint)
		wanted := a.Error(problem, in.hint)
		if !a.IsText() {
			return wanted
		}
		s, err := a.Str()
		if err != nil {
			return err
		}
		sec, ok := parseSec(s)
		if !ok {
			return cmp.Or(commaError(a, isTime), wanted)
		}
		*to(into) = sec
		return InRange(a, sec/in.sec, low, high, in.name)
	}
}

func isTime(s string) bool {
	_, ok := parseSec(s)
	return ok
}

// parseSec is a time with its unit, in seconds.
func parseSec(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	for _, unit := range []struct {
		name      string
		times, by float64 // dividing by 1000 rounds once, multiplying by 0.001 twice
	}{{"ms", 1, 1000}, {"s", 1, 1}, {"min", 60, 1}, {"h", 3600, 1}} {
		number, found := strings.CutSuffix(s, unit.name)
		if !found {
			continue
		}
		x, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		return x * unit.times / unit.by, err == nil && !math.IsNaN(x) && !math.IsInf(x, 0)
	}
	return 0, false
}

var leadingNumber = regexp.MustCompile(`^-?[0-9][0-9./]*`)

// withUnit completes the complaint about a value of several words without
// quotes. Where they are a number and a unit that may stand there, quotes are
// what is missing, as the complaint says already.
func withUnit(a *blocks.Attr, fits func(words string) bool, problem, hint string) {
	words, ok := a.Several()
	if ok && leadingNumber.MatchString(words) && !fits(words) {
		e := a.Error("", "")
		e.Problem, e.Hint = problem, hint
	}
}

// numberAlone completes the complaint about a value of several words where no
// unit may stand.
func numberAlone(a *blocks.Attr, low, high float64) {
	words, ok := a.Several()
	number := leadingNumber.FindString(words)
	if !ok || number == "" {
		return
	}
	e := a.Error("", "")
	e.Problem, e.Hint = "a number alone is wanted here, and more follows", "write a number alone"
	if x, err := exact.ParseRat(number); err == nil && x.Float64() >= low && x.Float64() <= high {
		e.Hint = fmt.Sprintf("write: %s = %s", a.Name, number)
	}
}

// InRange complains about a number that is not from low to high; the unit comes
// after the figures: " mm".
func InRange(a *blocks.Attr, x, low, high float64, unit string) *source.Error {
	if x >= low && x <= high {
		return nil
	}
	return a.Error(a.Name+" is out of range", fmt.Sprintf("it runs from %s to %s%s", Figure(low), Figure(high), unit))
}

// Figure is a number without needless digits.
func Figure(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
