package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Durations lie between these, in units, so that sums of them stay readable.
var (
	shortest = exact.NewRat(1, 1_000_000)
	longest  = exact.Int(1_000_000)
)

var taleaKind = &kind[piece.Duration]{
	name:   "talea",
	what:   "durations",
	sample: "3 2 1",
	one: func(r *reader, c *cursor) (piece.Duration, *source.Error) {
		return r.duration(c.item())
	},
	even:   func(units int) piece.Duration { return piece.Duration{Units: exact.Int(int64(units))} },
	longer: longerDuration,
	of:     func(r *reader, t *borrowed) ([]piece.Duration, bool) { return t.talea, true },
	ofName: "durations",
}

func longerDuration(d piece.Duration, by exact.Rat) (piece.Duration, bool) {
	units, ok := d.Units.Mul(by)
	d.Units = units
	return d, ok && units.Cmp(shortest) >= 0 && units.Cmp(longest) <= 0
}

func readTalea(r *reader, v *blocks.Value) any {
	return r.materialOf(aTalea, v)
}

func (r *reader) taleaMaterial(v *blocks.Value) (*material, bool) {
	out, marks, ok := marked(r, v, taleaKind)
	if ok && silent(out) {
		return nil, r.add(v.Error("the talea is silent from end to end",
			"at least one duration has to sound: write it without parentheses"))
	}
	return &material{talea: out, marks: marks}, ok
}

// orNil is v, or a nil any when it could not be read.
func orNil(v any, ok bool) any {
	if !ok {
		return nil
	}
	return v
}

func silent(talea []piece.Duration) bool {
	for _, d := range talea {
		if !d.Silent {
			return false
		}
	}
	return true
}

// duration reads 3, 1/2, 0.75 or, silent, (3).
func (r *reader) duration(s span) (piece.Duration, *source.Error) {
	text := s.String()
	if !strings.HasPrefix(text, "(") || s.c.whole {
		units, err := r.units(s)
		return piece.Duration{Units: units}, err
	}
	if !strings.HasSuffix(text, ")") {
		if strings.Contains(text, ")") {
			return piece.Duration{}, s.Error(fmt.Sprintf("%q is no duration", text), "part durations with blanks: (1) 3")
		}
		return piece.Duration{}, s.part(0, 1).Error("this ( is not closed", "a silent duration stands in parentheses: (3)")
	}
	units, err := r.units(s.part(1, len(text)-1))
	return piece.Duration{Units: units, Silent: true}, err
}

// units reads a positive length.
func (r *reader) units(s span) (exact.Rat, *source.Error) {
	text := strings.TrimSpace(s.String())
	x, err := fraction(text)
	if err != nil && s.c.whole && r.reckonable(text) {
		return r.reckonedUnits(s)
	}
	return x, checkUnits(s, text, x, err)
}

// reckonedUnits is a length that is written as a sum, or with names of lets.
func (r *reader) reckonedUnits(s span) (exact.Rat, *source.Error) {
	n, e := r.reckonedIn(s.c.t, s.i, s.j)
	switch {
	case e != nil:
		return exact.Rat{}, e
	case n.rat == nil:
		return exact.Rat{}, notUnits(s, n.text())
	}
	x, ok := exact.FromBig(n.rat)
	if !ok {
		return x, s.Error("this number is too large or too fine", "")
	}
	return x, checkUnits(s, x.String(), x, nil)
}

// checkUnits is what is wrong with a length, or nil.
func checkUnits(s span, text string, x exact.Rat, err error) *source.Error {
	switch {
	case err != nil:
		return notUnits(s, text)
	case x.Sign() == 0:
		return s.Error("a duration of 0", "a duration is more than 0; to strike notes together join their pitches: C4+E4")
	case x.Sign() < 0:
		return s.Error("a duration below 0", "a duration is more than 0; a silent one stands in parentheses: (3)")
	case x.Cmp(longest) > 0:
		return s.Error("a duration of more than 1,000,000 units", "")
	case x.Cmp(shortest) < 0:
		return s.Error("a duration of less than 1/1,000,000 unit", "")
	}
	return nil
}

func notUnits(s span, text string) *source.Error {
	problem := fmt.Sprintf("%q is no duration", source.Printable(text))
	switch _, err := pitch.Parse(strings.SplitN(text, "+", 2)[0]); {
	case text == "":
		return s.Error("a duration is missing", "write a number: 3, 1/2, 0.75, or (1) for silence")
	case err == nil:
		return s.Error(problem, "pitches stand in color, durations in talea; or write both as a line: C4:2")
	case strings.Contains(text, ","):
		return s.Error(problem, "durations are parted by blanks, and decimals have a point: 3 1.5 2")
	case strings.HasPrefix(text, "sqrt") || strings.Contains(text, "pi"):
		return s.Error(problem, "durations are fractions of the unit; a speed or a stretch may be irrational")
	}
	return s.Error(problem, "write a number: 3, 1/2, 0.75, or (1) for silence")
}

// fraction is exact.ParseRat, with a short way for small whole numbers, of
// which cycles are full.
func fraction(s string) (exact.Rat, error) {
	if len(s) == 0 || len(s) > 9 {
		return exact.ParseRat(s)
	}
	n := int64(0)
	for i := range len(s) {
		d := s[i] - '0'
		if d > 9 {
			return exact.ParseRat(s)
		}
		n = 10*n + int64(d)
	}
	return exact.Int(n), nil
}
