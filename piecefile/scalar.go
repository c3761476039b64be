package piecefile

import (
	"fmt"
	"strconv"
	"strings"

	"rollwright/blocks"
	"rollwright/exact"
	"rollwright/piece"
	"rollwright/source"
)

// meant is the value itself, or the value of the let that a bare word names.
// It is nil, with a complaint, when there is none.
func (r *reader) meant(v *blocks.Value) *blocks.Value {
	for range maxGroups {
		if _, bare := v.Word(); !bare || constant(v) {
			return v
		}
		a := r.letNamed(v, nil)
		if a == nil {
			return nil
		}
		v = a.Value
	}
	r.add(v.Error("this name is made of itself, or of too many others", "give the let a value"))
	return nil
}

// constant reports whether a bare word has a meaning of its own.
func constant(v *blocks.Value) bool {
	word, _ := v.Word()
	for _, w := range taken {
		if word == w {
			return true
		}
	}
	return false
}

// words is the text of a value that is text, blanks at its ends left out.
func (r *reader) words(v *blocks.Value) (string, bool) {
	if v = r.meant(v); v == nil {
		return "", false
	}
	s, err := v.Str()
	return strings.TrimSpace(s), r.add(err)
}

// written is the text of a value that may be bare too, blanks at its ends left
// out.
func (r *reader) written(v *blocks.Value) (span, bool) {
	if v = r.meant(v); v == nil {
		return span{}, false
	}
	if v.Kind() == blocks.List {
		return span{}, r.add(v.Error("one value is wanted here, not a list", ""))
	}
	t, err := v.Written()
	if !r.add(err) {
		return span{}, false
	}
	return newCursor(t).rest(), true
}

// integer is a whole number within bounds.
func (r *reader) integer(v *blocks.Value, least, most int) (int, bool) {
	if v = r.meant(v); v == nil {
		return 0, false
	}
	n, err := v.Int()
	if err == nil && (n < least || n > most) {
		err = v.Error(fmt.Sprintf("%d is beyond %d to %d", n, least, most), "")
	}
	return n, r.add(err)
}

// pitch is the key of one pitch in quotes.
func (r *reader) pitch(v *blocks.Value) (int, bool) {
	if word, bare := v.Word(); bare && isPitch(word) && r.lets[word] == nil {
		return 0, r.add(v.Error(word+" stands without quotes", fmt.Sprintf("write: %q", word)))
	}
	s, ok := r.written(v)
	if !ok {
		return 0, false
	}
	key, err := pitch(s)
	return key, r.add(err)
}

// real is a positive exact number between least and most.
func (r *reader) real(v *blocks.Value, what string, least, most float64) (exact.Real, bool) {
	if v = r.meant(v); v == nil {
		return exact.Real{}, false
	}
	if !r.affords(v.Raw()) {
		return exact.Real{}, r.add(r.tooHard(v.Error(tooHard, tooHardHint)))
	}
	if x, err := v.Rat(); err == nil && x.Sign() <= 0 {
		return exact.Real{}, r.add(v.Error(fmt.Sprintf("%s of %v", what, x), "it has to be more than 0"))
	}
	x, err := v.Real()
	if err == nil && (x.Float64() < least || x.Float64() > most) {
		err = v.Error(fmt.Sprintf("%s beyond %s to %s", what, plain(least), plain(most)), "")
	}
	return x, r.add(err)
}

// plain is a bound without exponent.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

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
	if err != nil {
		return real64{}, s.c.t.NumberError(err, s.i)
	}
	r.numbers[text] = real64{x, x.Float64()}
	return r.numbers[text], nil
}

// The bounds of numbers. They are beyond any music and keep what is computed
// from them within floating point.
const (
	leastFactor, mostFactor = 1e-6, 1e6 // speed, stretch
	leastTempo, mostTempo   = 1e-3, 1e6 // quarter notes a minute
	leastEach, mostEach     = 0.1, 10.0 // each_note
	mostTranspose           = 1000
)

func readSpeed(r *reader, v *blocks.Value) any {
	x, ok := r.real(v, "a speed", leastFactor, mostFactor)
	return orNil(x, ok)
}

func readStretch(r *reader, v *blocks.Value) any {
	x, ok := r.real(v, "a stretch", leastFactor, mostFactor)
	return orNil(x, ok)
}

func readTempo(r *reader, v *blocks.Value) any {
	x, ok := r.real(v, "a tempo", leastTempo, mostTempo)
	return orNil(x, ok)
}

func readEachNote(r *reader, v *blocks.Value) any {
	x, ok := r.real(v, "a factor from note to note", leastEach, mostEach)
	return orNil(x, ok)
}

func readTranspose(r *reader, v *blocks.Value) any {
	n, ok := r.integer(v, -mostTranspose, mostTranspose)
	return orNil(n, ok)
}

func readRotate(r *reader, v *blocks.Value) any {
	n, ok := r.integer(v, -maxTurn, maxTurn)
	return orNil(n, ok)
}

func readInvert(r *reader, v *blocks.Value) any {
	key, ok := r.pitch(v)
	return orNil(key, ok)
}

func readBackward(r *reader, v *blocks.Value) any {
	if v = r.meant(v); v == nil {
		return nil
	}
	b, err := v.Bool()
	return orNil(b, r.add(err))
}

// readUnit reads a positive fraction of a whole note.
func readUnit(r *reader, v *blocks.Value) any {
	if v = r.meant(v); v == nil {
		return nil
	}
	const hint = "the unit is a note value, as a fraction of a whole note:\n1/16, or 1/12 for a triplet eighth"
	x, err := v.Rat()
	switch {
	case err != nil && v.Kind() != blocks.Bad:
		err = v.Error("this is no note value", hint)
	case err == nil && (x.Sign() <= 0 || x.Cmp(exact.Int(1000)) > 0 || x.Cmp(exact.NewRat(1, 1_000_000)) < 0):
		err = v.Error("a unit of "+x.String(), hint)
	}
	return orNil(x, r.add(err))
}

// The longest time that a file may name: a hundred hours.
var longestSec = exact.Int(360_000)

const timeHint = `write a time: "2.5 s", "90 ms", "1:20" or "4 min"`

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
	if err != nil || err2 != nil || !m.IsInt() || m.Sign() < 0 || len(whole) != 2 || strings.Trim(whole, "0123456789") != "" || sec.Cmp(exact.Int(60)) >= 0 {
		return sec, fmt.Sprintf("%q is no time", source.Printable(s)), `write minutes and two digits of seconds: "1:20" or "0:07.5"`
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

// point reads a point of a voice.
func (r *reader) point(v *blocks.Value) (piece.Point, bool) {
	s, ok := r.written(v)
	if !ok {
		return piece.Point{}, false
	}
	fields := strings.Fields(s.String())
	var p piece.Point
	switch {
	case len(fields) == 1 && fields[0] == "start":
		return piece.Point{Kind: piece.AtStart}, true
	case len(fields) == 1 && fields[0] == "end":
		return piece.Point{Kind: piece.AtEnd}, true
	case len(fields) == 2 && fields[0] == "note":
		p = piece.Point{Kind: piece.AtNote, N: count(fields[1])}
	case len(fields) == 3 && fields[0] == "note" && fields[2] == "end":
		p = piece.Point{Kind: piece.AtNoteEnd, N: count(fields[1])}
	case len(fields) == 2 && fields[0] == "unit":
		x, err := exact.ParseRat(fields[1])
		if err == nil && x.Sign() >= 0 && x.Float64() <= 1e9 {
			return piece.Point{Kind: piece.AtUnit, X: x}, true
		}
	default:
		return r.sharePoint(s)
	}
	if p.N > 0 {
		return p, true
	}
	return p, r.add(s.Error(fmt.Sprintf("%q is no point of a voice", source.Printable(s.String())), "notes count from 1, units from 0: note 43, note 43 end, unit 12.5"))
}

func (r *reader) sharePoint(s span) (piece.Point, bool) {
	x, err := exact.ParseRat(s.String())
	const hint = `write start, end, note 43, note 43 end, unit 12, or a share of the length: 2/3`
	switch {
	case err != nil:
		return piece.Point{}, r.add(s.Error(fmt.Sprintf("%q is no point of a voice", source.Printable(s.String())), hint))
	case x.Sign() < 0 || x.Cmp(exact.Int(1)) > 0:
		return piece.Point{}, r.add(s.Error(fmt.Sprintf("%v is no share of a length", x), "a share lies between 0 and 1; notes and units say so: note 43, unit 12"))
	}
	return piece.Point{Kind: piece.AtShare, X: x}, true
}

// readSpans reads full, or stretches of units: 0-16 24-30.
func readSpans(r *reader, v *blocks.Value) any {
	s, ok := r.written(v)
	if !ok {
		return nil
	}
	const hint = `write full, or stretches in units: "0-16 24-30"`
	if s.String() == "full" {
		return piece.Spans{Full: true}
	}
	var out piece.Spans
	for c := s.inside(); c.skip(); {
		item := c.item()
		from, to, ok := strings.Cut(item.String(), "-")
		a, err := exact.ParseRat(from)
		b, err2 := exact.ParseRat(to)
		switch {
		case !ok || err != nil || err2 != nil:
			return orNil(nil, r.add(item.Error(fmt.Sprintf("%q is no stretch of a voice", source.Printable(item.String())), hint)))
		case a.Sign() < 0 || a.Cmp(b) >= 0:
			return orNil(nil, r.add(item.Error("this stretch ends before it begins", hint)))
		case !r.charge(1, v):
			return nil
		}
		out.List = append(out.List, piece.Span{From: a, To: b})
	}
	if len(out.List) == 0 {
		return orNil(nil, r.add(v.Error("no stretch of the voice is named", hint)))
	}
	return out
}
