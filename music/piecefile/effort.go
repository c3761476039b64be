package piecefile

import (
	"rollwright/exact"
	"rollwright/text/source"
)

// What reading a number costs: primes of long numbers are slow to find, roots
// are slow to reduce.
const (
	maxEffort  = 100_000
	plainCost  = 1
	wordCost   = 20 // sqrt, pi
	longCost   = 1_000
	longDigits = 12 // digits beyond which a number is a long one
)

const (
	tooHard     = "too many different numbers that take long to work out"
	tooHardHint = "use rounder numbers, such as 0.707 or 7/9, or the same ones again"
)

// tooHard is the first complaint of its kind, for one is enough.
func (r *reader) tooHard(e *source.Error) *source.Error {
	if r.spent == nil {
		r.spent = e
	}
	return r.spent
}

// affords spends the effort that a number costs; false when the file has used
// up what there is.
func (r *reader) affords(s string) bool {
	r.effort += plainCost
	digits := 0
	for i := range len(s) {
		switch {
		case '0' <= s[i] && s[i] <= '9':
			if digits++; digits == longDigits+1 {
				r.effort += longCost
			}
		case s[i] >= 'a' && (i == 0 || s[i-1] < 'a'):
			r.effort += wordCost
			digits = 0
		case s[i] == '*' || s[i] == '/':
			r.effort++
			digits = 0
		case s[i] != '.':
			digits = 0
		}
	}
	return r.effort <= maxEffort
}

// real64 is an exact number with the float64 nearest to it.
type real64 struct {
	x    exact.Real
	size float64
}

// exactReal reads a positive exact number out of a text.
func (r *reader) exactReal(s span) (real64, *source.Error) {
	text := s.String()
	if known, ok := r.numbers[text]; ok {
		return known, nil
	}
	if !r.affords(text) {
		return real64{}, r.tooHard(s.Error(tooHard, tooHardHint))
	}
	x, err := exact.Parse(text)
	if err != nil && r.reckonable(text) {
		return r.reckonedReal(s)
	}
	if err != nil {
		return real64{}, s.c.t.NumberError(err, s.i)
	}
	r.numbers[text] = real64{x, x.Float64()}
	return r.numbers[text], nil
}

// reckonedReal is exactReal for what package exact alone does not read.
func (r *reader) reckonedReal(s span) (real64, *source.Error) {
	x, err := r.reckonedIn(s.c.t, s.i, s.j)
	if err != nil {
		return real64{}, err
	}
	real, ok := x.real()
	if !ok {
		return real64{}, s.Error("a number here must be more than 0, and this is "+x.text(), "")
	}
	return real64{real, real.Float64()}, nil
}
