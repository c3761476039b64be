package piecefile

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// meant is the value itself, or the value of the let that a bare word names.
// It is nil, with a complaint, when there is none.
func (r *reader) meant(v *blocks.Value) *blocks.Value { return r.meantAs(v, asText) }

// meantAs is meant where a word that names nothing has that hint.
func (r *reader) meantAs(v *blocks.Value, hint bareHint) *blocks.Value {
	for range maxGroups {
		if _, bare := v.Word(); !bare || constant(v) {
			return v
		}
		a := r.letNamed(v, nil, hint)
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
	if v = r.meantAs(v, asWhole); v == nil {
		return 0, false
	}
	n, err := r.intOf(v)
	if err == nil && (n < least || n > most) {
		err = v.Error(fmt.Sprintf("%d is beyond %d to %d", n, least, most), "")
	}
	return n, r.add(err)
}

// real is a positive exact number between least and most.
func (r *reader) real(v *blocks.Value, what string, least, most float64) (exact.Real, bool) {
	if v = r.meantAs(v, asNumber); v == nil {
		return exact.Real{}, false
	}
	if r.asksFor(v) {
		return exact.Real{}, true
	}
	if !r.affords(v.Raw()) {
		return exact.Real{}, r.add(r.tooHard(v.Error(tooHard, tooHardHint)))
	}
	if x, err := r.ratOf(v); err == nil && x.Sign() <= 0 {
		return exact.Real{}, r.add(v.Error(fmt.Sprintf("%s of %v", what, x), "it has to be more than 0"))
	}
	x, err := r.realOf(v)
	if err != nil && v.IsText() {
		numberAlone(v, err)
	}
	if err == nil && (x.Float64() < least || x.Float64() > most) {
		err = v.Error(fmt.Sprintf("%s beyond %s to %s", what, plain(least), plain(most)), "")
	}
	return x, r.add(err)
}

// numberAlone completes a complaint about quoted text that is a number and more:
// 80 bpm.
func numberAlone(v *blocks.Value, e *source.Error) {
	s, _ := v.Str()
	number, rest, more := strings.Cut(strings.TrimSpace(s), " ")
	if _, err := exact.ParseRat(number); err == nil && more && bareName.MatchString(strings.TrimSpace(rest)) {
		e.Problem, e.Hint = "a number alone is wanted here, and more follows", "write: "+number
	}
}

// plain is a bound without exponent.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

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
	if !r.noSeries(v, "stretch", "one factor", "factors", asNumber) {
		return nil
	}
	x, ok := r.real(v, "a stretch", leastFactor, mostFactor)
	return orNil(x, ok)
}

// noSeries complains about several numbers where a voice has one. Several are
// for its statements in turn, and stand in a block.
func (r *reader) noSeries(v *blocks.Value, name, wanted, many string, hint bareHint) bool {
	if v = r.meantAs(v, hint); v == nil {
		return false
	}
	if v.Kind() != blocks.List && !v.IsText() {
		return true
	}
	var numbers []string
	list, _ := v.List()
	for _, member := range list {
		t, err := member.Written()
		if err != nil {
			return true // the reader of the number complains
		}
		numbers = append(numbers, strings.Fields(t.S)...)
	}
	for _, n := range numbers {
		if _, err := exact.ParseRat(n); err != nil {
			return true
		}
	}
	if len(numbers) < 2 && v.Kind() != blocks.List {
		return true
	}
	return r.add(v.Error(wanted+" is wanted here, and this is a list",
		fmt.Sprintf("a list of %s, one for each statement in turn, stands in a block\nwrite: per_color { %s = \"%s\" }", many,
			name, strings.Join(numbers, " "))))
}

// beats is a tempo as it stands over a score: a note value and how many of it a minute.
var beats = regexp.MustCompile(`^\s*([0-9]+/[0-9]+)\s*=\s*([0-9]+(?:\.[0-9]+)?)\s*$`)

// quartersOf is a tempo of other note values in quarter notes: 1/8 = 72 is 36.
func quartersOf(v *blocks.Value) (exact.Rat, bool) {
	s, err := v.Str()
	m := beats.FindStringSubmatch(s)
	if err != nil || m == nil {
		return exact.Rat{}, false
	}
	value, bad := exact.ParseRat(m[1])
	count, worse := exact.ParseRat(m[2])
	if bad != nil || worse != nil {
		return exact.Rat{}, false
	}
	quarters, fits := value.Mul(exact.Int(4))
	if !fits {
		return exact.Rat{}, false
	}
	return quarters.Mul(count)
}

func readTempo(r *reader, v *blocks.Value) any {
	if quarters, ok := quartersOf(v); ok {
		return orNil(0, r.add(v.Error("a tempo counts quarter notes a minute", "write: "+quarters.String())))
	}
	x, ok := r.real(v, "a tempo", leastTempo, mostTempo)
	return orNil(x, ok)
}

func readEachNote(r *reader, v *blocks.Value) any {
	x, ok := r.real(v, "a factor from note to note", leastEach, mostEach)
	return orNil(x, ok)
}

func readTranspose(r *reader, v *blocks.Value) any {
	if !r.noSeries(v, "transpose", "one number of semitones", "transpositions", asWhole) {
		return nil
	}
	n, ok := r.integer(v, -mostTranspose, mostTranspose)
	return orNil(n, ok)
}

func readRotate(r *reader, v *blocks.Value) any {
	n, ok := r.integer(v, -maxTurn, maxTurn)
	return orNil(n, ok)
}

func readInvert(r *reader, v *blocks.Value) any {
	axis, ok := r.axisOf(v)
	return orNil(axis, ok)
}

// axisOf is one pitch as what others are mirrored about.
func (r *reader) axisOf(v *blocks.Value) (*piece.Axis, bool) {
	if word, bare := v.Word(); bare && isPitch(word) && r.lets[word] == nil {
		return nil, r.add(v.Error(word+" stands without quotes", fmt.Sprintf("write: %q", word)))
	}
	s, ok := r.written(v)
	if !ok {
		return nil, false
	}
	axis, err := axisIn(s)
	return axis, r.add(err)
}

func axisIn(s span) (*piece.Axis, *source.Error) {
	key, err := keyOf(s)
	if err != nil {
		return nil, err
	}
	return &piece.Axis{Key: key, Spelled: pitch.SpellingOf(s.String()[0], key)}, nil
}

func readTransposeSteps(r *reader, v *blocks.Value) any {
	if !r.noSeries(v, "transpose_steps", "one number of steps", "numbers of steps", asWhole) {
		return nil
	}
	n, ok := r.integer(v, -mostTranspose, mostTranspose)
	return orNil(n, ok)
}

func readBackward(r *reader, v *blocks.Value) any {
	if v = r.meantAs(v, asTruth); v == nil {
		return nil
	}
	b, err := v.Bool()
	if word, e := v.Str(); err != nil && e == nil {
		if truth, ok := truths[strings.ToLower(strings.TrimSpace(word))]; ok {
			err.Hint = "write: " + truth
		}
	}
	return orNil(b, r.add(err))
}

// truths are other ways of saying true and false.
var truths = map[string]string{"true": "true", "yes": "true", "on": "true", "1": "true", "false": "false", "no": "false",
	"off": "false", "0": "false"}

// asTruth takes a word that names nothing for true or false.
func asTruth(word string) (problem, hint string) {
	if truth, ok := truths[strings.ToLower(word)]; ok {
		return "there is nothing called " + word, "write: " + truth
	}
	return "there is nothing called " + word, "write true or false"
}

// readUnit reads a positive fraction of a whole note.
func readUnit(r *reader, v *blocks.Value) any {
	if v = r.meant(v); v == nil {
		return nil
	}
	const hint = "the unit is a note value, as a fraction of a whole note:\n1/16, or 1/12 for a triplet eighth"
	x, err := r.ratOf(v)
	switch {
	case err != nil && v.Kind() != blocks.Bad:
		err = v.Error("this is no note value", hint)
	case err == nil && (x.Sign() <= 0 || x.Cmp(exact.Int(1000)) > 0 || x.Cmp(exact.NewRat(1, 1_000_000)) < 0):
		err = v.Error("a unit of "+x.String(), hint)
	}
	return orNil(x, r.add(err))
}
