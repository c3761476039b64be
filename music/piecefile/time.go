package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// The longest time that a file may name: a hundred hours.
var longestSec = exact.Int(360_000)

const timeHint = `write a time: "2.5 s", "90 ms", "1:20" or "4 min"`

// ParseTime reads a time as a piece file has it ("2.5 s", "90 ms", "1:20", "4
// min") to seconds. Problem says for a person what is wrong with it, and is
// empty when nothing is; hint says how to write it right.
func ParseTime(s string) (sec exact.Rat, problem, hint string) { return parseTime(s) }

// parseTime reads a time to seconds. A problem is empty when there is none.
func parseTime(s string) (sec exact.Rat, problem, hint string) {
	s = strings.TrimSpace(s)
	number, factor := s, exact.Rat{}
	minutes, seconds, clock := strings.Cut(s, ":")
	switch {
	case clock:
		return clockTime(s, minutes, seconds)
	case strings.HasSuffix(s, "min"):
		number, factor = s[:len(s)-3], exact.Int(60)
	case strings.HasSuffix(s, "ms"):
		number, factor = s[:len(s)-2], exact.NewRat(1, 1000)
	case strings.HasSuffix(s, "s"):
		number, factor = s[:len(s)-1], exact.Int(1)
	}
	x, err := exact.ParseRat(number)
	switch {
	case err != nil:
		return sec, fmt.Sprintf("%q is no time", source.Printable(s)), timeHint
	case x.Sign() == 0:
		return x, "", ""
	case factor.Sign() == 0:
		return sec, s + " of what?", fmt.Sprintf(`a time has its unit: "%s s", "%s ms" or "%s min"`, s, s, s)
	}
	return checkTime(x.Mul(factor))
}

func checkTime(sec exact.Rat, fits bool) (exact.Rat, string, string) {
	size := sec
	if size.Sign() < 0 {
		size, _ = exact.Rat{}.Sub(size)
	}
	if !fits || size.Cmp(longestSec) > 0 {
		return sec, "this time is too long, or too fine", "times go up to 100 hours"
	}
	return sec, "", ""
}

// clockTime reads minutes:seconds.
func clockTime(s, minutes, seconds string) (exact.Rat, string, string) {
	m, err := fraction(strings.TrimSpace(minutes))
	whole, _, _ := strings.Cut(seconds, ".")
	sec, err2 := exact.ParseRat(seconds)
	if err != nil || err2 != nil || !m.IsInt() || m.Sign() < 0 || len(whole) != 2 ||
		strings.Trim(whole, "0123456789") != "" || sec.Cmp(exact.Int(60)) >= 0 {
		return sec, fmt.Sprintf("%q is no time", source.Printable(s)),
			`write minutes and two digits of seconds: "1:20" or "0:07.5"`
	}
	m, ok := m.Mul(exact.Int(60))
	if !ok {
		return checkTime(m, false)
	}
	return checkTime(m.Add(sec))
}

// time reads a time to seconds, which have to be more than 0 if positive says
// so.
func (r *reader) time(v *blocks.Value, positive bool) (exact.Rat, bool) {
	s, ok := r.written(v)
	if !ok {
		return exact.Rat{}, false
	}
	return r.timeIn(s, positive)
}

func (r *reader) timeIn(s span, positive bool) (exact.Rat, bool) {
	sec, problem, hint := parseTime(s.String())
	if problem == "" && positive && sec.Sign() <= 0 {
		problem, hint = "a time of "+s.String(), "it has to be more than 0"
	}
	if problem != "" {
		return sec, r.add(s.Error(problem, hint))
	}
	return sec, true
}
