package calibrate

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// Extension ends the name of a file of readings.
const Extension = ".readings"

// The bounds of a file of readings.
const (
	mostBytes = 200_000
	mostRuns  = 50
)

// beyondMM is how far past its length a mark of the roll may lie: half a row of
// a perforator, and the rounding of the length to whole millimetres.
const beyondMM = 2

// Readings are what a person wrote down while the test roll played.
type Readings struct {
	File       *source.File
	Instrument string  // that the roll was made for: a built-in name, or a path
	LengthMM   float64 // of the test roll
	Lever      float64 // what the tempo lever stood at; 0: the instrument's own tempo

	list  []reading
	runs  int
	named *blocks.Attr // where the instrument is named

	Slots   [3]int // of each key: the first try from which on all sounded; 0: not read
	Repeats [3]int // of each key: the last group of which every stroke was heard
	Chord   int    // notes of the largest chord that sounded as a whole
	One     int    // the last pair heard as one note
	Two     int    // the first pair from which on all were heard as two
}

// Complain is what is wrong with the instrument that the readings name, at the
// place where they name it.
func (r *Readings) Complain(err error) error {
	if r.named == nil {
		return err
	}
	return source.Errors{r.named.Error(err.Error(), "it is the instrument that the test roll was made for: a built-in name, or the path of its file as seen from this folder")}
}

// precision is what a reading of each kind is good for until the readings
// themselves say.
type precision struct{ heard, seen, turns, around float64 }

// assumed: a stopwatch in the hand, a film of 25 or 30 pictures a second, a
// mark on the flange, a strip of paper around the spool (common practice, no
// source).
var assumed = precision{heard: 0.15, seen: 0.03, turns: 0.1, around: 0.5}

// Read reads readings from the text of f. What is not filled in counts as not
// read. The error is a source.Errors.
func Read(f *source.File) (*Readings, error) {
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: mostBytes})
	r := &reader{out: &Readings{File: f, LengthMM: standardMM}, precision: assumed, errs: errs}
	r.top(body)
	for _, b := range body.Of("precision") {
		r.precisions(b)
	}
	for _, b := range body.Blocks {
		r.block(b)
	}
	r.sayCommas()
	r.rising()
	if r.out.Instrument == "" && len(r.errs) == 0 {
		r.fail(&source.Error{File: f, Problem: "the readings do not name the instrument",
			Hint: `write instrument = "88-note", or the path of its file: the one the test roll was made for`})
	}
	if err := blocks.Merge(r.errs).Err(); err != nil {
		return nil, err
	}
	return r.out, nil
}

type reader struct {
	out       *Readings
	precision precision
	errs      source.Errors
	times     []timed         // in the order of the file
	commas    []*source.Error // of readings with a decimal comma
}

// timed is a time with the place where it is written.
type timed struct {
	reading
	at *blocks.Attr
}

// rising refuses times of a run that do not rise along the paper, as a slip of
// the pen or two marks taken for each other leave them.
func (r *reader) rising() {
	slices.SortStableFunc(r.times, func(a, b timed) int {
		return cmp.Or(cmp.Compare(a.kind, b.kind), cmp.Compare(a.run, b.run), cmp.Compare(a.along, b.along))
	})
	for i := 1; i < len(r.times); i++ {
		a, b := &r.times[i-1], &r.times[i]
		if a.kind == b.kind && a.run == b.run && a.along < b.along && a.value >= b.value {
			r.fail(b.at.Error(fmt.Sprintf("run %d does not rise: %s s here, and %s s at %s mm before it", b.run+1,
				plain(b.value), plain(a.value), plain(a.along)),
				"a mark farther on is heard later; write - where a reading is in doubt"))
		}
	}
}

// plain is a number as a person writes it.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func (r *reader) fail(err *source.Error) {
	if err != nil {
		r.errs = append(r.errs, err)
	}
}

func (r *reader) top(body *blocks.Body) {
	r.errs = append(r.errs, body.Unknown([]string{"instrument", "length", "lever", "precision {", "mark {", "turn {",
		"slots {", "repeats {", "chords {", "pairs {"}, "readings")...)
	if a := body.Get("instrument"); a != nil {
		s, err := a.Str()
		r.fail(err)
		r.out.Instrument, r.out.named = s, a
	}
	if a := body.Get("length"); a != nil {
		r.out.LengthMM = r.lengthOf(a)
	}
	if a := body.Get("lever"); a != nil && !r.comma(a) {
		x, err := a.Float()
		if err == nil && !(x >= 5 && x <= 1000) {
			err = a.Error("lever is out of range", "it runs from 5 to 1000")
		}
		r.fail(err)
		r.out.Lever = x
	}
}

func (r *reader) block(b *blocks.Block) {
	switch b.Type {
	case "mark":
		r.mark(b)
	case "turn":
		r.turn(b)
	case "slots":
		r.three(b, &r.out.Slots, tries)
	case "repeats":
		r.three(b, &r.out.Repeats, fastestGroup-slowestGroup+1)
	case "chords":
		r.numbers(b, map[string]*int{"largest": &r.out.Chord}, mostInChord)
		if n := r.out.Chord; n%2 == 1 && len(r.errs) == 0 {
			r.fail(b.Body.Get("largest").Error(fmt.Sprintf("there is no chord of %d notes", n),
				"the chords have 2, 4, 6 ... notes: write how many the largest had that sounded as a whole"))
		}
	case "pairs":
		r.numbers(b, map[string]*int{"one": &r.out.One, "two": &r.out.Two}, pairs)
		if one, two := r.out.One, r.out.Two; one > 0 && two > 0 && one >= two && len(r.errs) == 0 {
			r.fail(b.Body.Get("two").Error(fmt.Sprintf("pair %d was heard as one note, and from pair %d on all as two", one,
				two), "the webs grow from pair to pair, so one is less than two"))
		}
	}
}

// three are the readings of the three keys.
func (r *reader) three(b *blocks.Block, to *[3]int, most int) {
	r.numbers(b, map[string]*int{"bass": &to[0], "middle": &to[1], "treble": &to[2]}, most)
}

// numbers are whole numbers from 1, or nothing.
func (r *reader) numbers(b *blocks.Block, to map[string]*int, most int) {
	names := make([]string, 0, len(to))
	for name := range to {
		names = append(names, name)
	}
	slices.Sort(names)
	r.errs = append(r.errs, b.Body.Unknown(names, "a "+b.Type+" block")...)
	for _, name := range names {
		a := b.Body.Get(name)
		if a == nil || empty(a.Value) {
			continue
		}
		n, err := a.Int()
		if err == nil && (n < 1 || n > most) {
			err = a.Error(fmt.Sprintf("there is no number %d", n), fmt.Sprintf("they run from 1 to %d; leave it empty, \"\", where nothing was read", most))
		}
		r.fail(err)
		*to[name] = n
	}
}

// empty reports whether nothing was filled in.
func empty(v *blocks.Value) bool {
	s, err := v.Str()
	return v.IsText() && err == nil && strings.Trim(s, " -") == ""
}

// lengthOf is a length: millimetres, or text with its unit.
func (r *reader) lengthOf(a *blocks.Attr) float64 {
	if r.comma(a) {
		return 0
	}
	mm, err := fields.MM(a)
	r.fail(err)
	return mm
}

// labelled is the number in a block's label.
func (r *reader) labelled(b *blocks.Block, parse func(string) (float64, bool), hint string) (float64, bool) {
	if r.labelComma(b) {
		return 0, false
	}
	if len(b.Labels) == 1 {
		if x, ok := parse(b.Labels[0]); ok {
			return x, true
		}
	}
	r.fail(b.Error("this "+b.Type+" does not say which", hint))
	return 0, false
}

func (r *reader) mark(b *blocks.Block) {
	along, ok := r.labelled(b, blocks.ParseMM, `write its place on the roll: mark "1000 mm" {`)
	if !ok {
		return
	}
	if along > r.out.LengthMM+beyondMM {
		r.fail(b.Error(fmt.Sprintf("this mark lies beyond the roll, which is %s mm long", plain(r.out.LengthMM)),
			"mind the unit, and length at the top: it is that of the test roll"))
	}
	r.errs = append(r.errs, b.Body.Unknown([]string{"heard", "seen", "turns", "around"}, "a mark")...)
	name := "mark " + b.Labels[0]
	for run, sec := range r.timesOf(b, "heard") {
		one := reading{heard, along, run, sec.value, r.precision.heard, sec.least,
			fmt.Sprintf("%s, heard, run %d", name, run+1)}
		r.add(one)
		r.times = append(r.times, timed{one, b.Body.Get("heard")})
	}
	for run, sec := range r.timesOf(b, "seen") {
		one := reading{seen, along, run, sec.value, r.precision.seen, sec.least, fmt.Sprintf("%s, seen, run %d", name, run+1)}
		r.add(one)
		r.times = append(r.times, timed{one, b.Body.Get("seen")})
	}
	if a := b.Body.Get("turns"); a != nil && !empty(a.Value) && !r.comma(a) {
		x, err := a.Float()
		if err == nil && !(x >= 0 && x <= 10_000) {
			err = a.Error("turns are out of range", "count the spool's turns since mark 0, to a tenth")
		}
		r.fail(err)
		r.add(reading{turned, along, 0, x, r.precision.turns, lastPlace(a.Raw()), name + ", turns"})
	}
	r.around(b, reading{girthMark, along, 0, 0, r.precision.around, 0, name + ", around the spool"})
}

func (r *reader) turn(b *blocks.Block) {
	number := func(s string) (float64, bool) {
		x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		return x, err == nil && x >= 0 && x <= 10_000
	}
	n, ok := r.labelled(b, number, `write how many turns since mark 0: turn "41" {`)
	if !ok {
		return
	}
	r.errs = append(r.errs, b.Body.Unknown([]string{"around"}, "a turn")...)
	r.around(b, reading{girthTurn, n, 0, 0, r.precision.around, 0, "turn " + b.Labels[0] + ", around the spool"})
}

// around is the girth of spool and paper.
func (r *reader) around(b *blocks.Block, what reading) {
	a := b.Body.Get("around")
	if a == nil || empty(a.Value) {
		return
	}
	what.value = r.lengthOf(a)
	what.least = lastPlaceOfLength(a.Raw())
	if len(r.errs) == 0 && len(r.commas) == 0 && !(what.value >= 5 && what.value <= 5000) {
		r.fail(a.Error("around is out of range", "it is the girth of the spool with its paper: 5 to 5000 mm"))
	}
	r.add(what)
}

func (r *reader) add(one reading) { r.out.list = append(r.out.list, one) }

// timesOf yields the times of an attribute with the number of their run, from 0.
// A dash keeps the place of a run in which nothing was read.
func (r *reader) timesOf(b *blocks.Block, name string) func(yield func(int, written) bool) {
	return func(yield func(int, written) bool) {
		a := b.Body.Get(name)
		if a == nil || empty(a.Value) || r.comma(a) {
			return
		}
		text, err := a.Written()
		if err != nil {
			r.fail(err)
			return
		}
		fields := strings.Fields(text.S)
		if len(fields) > mostRuns {
			r.fail(a.Error("too many runs", fmt.Sprintf("at most %d", mostRuns)))
			return
		}
		for run, word := range fields {
			if word == "-" {
				continue
			}
			sec, ok := clock(word)
			if !ok {
				r.fail(a.Error(fmt.Sprintf("%q is no time", source.Printable(word)),
					`write seconds, 24.6, or minutes and seconds, 1:04.2; several runs parted by blanks, - for one that was missed`))
				return
			}
			if sec < 0 {
				r.fail(a.Error(fmt.Sprintf("%s s is before the stopwatch began", plain(sec)),
					"times are 0 or more; each run may begin when it likes"))
				return
			}
			r.out.runs = max(r.out.runs, run+1)
			if !yield(run, written{sec, lastPlace(word)}) {
				return
			}
		}
	}
}

// written is a number with the last place in which it is written.
type written struct{ value, least float64 }

// lastPlace is the last place of a number as it is written: a tenth of "24.6",
// a quarter of "5 1/4".
func lastPlace(text string) float64 {
	text = strings.Trim(text, "\" ")
	if _, parts, ok := strings.Cut(text, "/"); ok {
		if n, err := strconv.Atoi(strings.TrimFunc(parts, func(r rune) bool { return r < '0' || r > '9' })); err == nil &&
			n > 0 {
			return 1 / float64(n)
		}
	}
	_, decimals, _ := strings.Cut(text, ".")
	n := 0
	for n < len(decimals) && decimals[n] >= '0' && decimals[n] <= '9' {
		n++
	}
	return math.Pow10(-n)
}

// lastPlaceOfLength is that of a length, in millimetres.
func lastPlaceOfLength(text string) float64 {
	text = strings.Trim(text, "\" ")
	unit := strings.TrimLeft(text, "0123456789./ *-+")
	if one, ok := blocks.ParseMM("1" + unit); ok && unit != "" {
		return lastPlace(text) * one
	}
	return lastPlace(text)
}

// clock reads seconds, or minutes and seconds.
func clock(word string) (float64, bool) {
	minutes, seconds := 0.0, word
	if m, s, ok := strings.Cut(word, ":"); ok {
		n, err := strconv.Atoi(m)
		if err != nil || n < 0 {
			return 0, false
		}
		minutes, seconds = float64(n), s
	}
	x, err := strconv.ParseFloat(seconds, 64)
	ok := err == nil && !math.IsNaN(x) && math.Abs(x) < 1e6 && (minutes == 0 || x >= 0 && x < 60)
	return 60*minutes + x, ok
}

// precisions takes other precisions than those assumed.
func (r *reader) precisions(b *blocks.Block) {
	r.errs = append(r.errs, b.Body.Unknown([]string{"heard", "seen", "turns", "around"}, "a precision block")...)
	for _, one := range []struct {
		name string
		to   *float64
	}{{"heard", &r.precision.heard}, {"seen", &r.precision.seen}, {"turns", &r.precision.turns},
		{"around", &r.precision.around}} {
		a := b.Body.Get(one.name)
		if a == nil || r.comma(a) {
			continue
		}
		x, err := a.Float()
		if err == nil && !(x > 0 && x <= 100) {
			err = a.Error(one.name+" is out of range", "how far a reading may be off: seconds, turns, millimetres; more than 0")
		}
		r.fail(err)
		if x > 0 {
			*one.to = x
		}
	}
}

// WriteReadings writes the file of readings to fill in, for the test roll of the
// named instrument.
func WriteReadings(w io.Writer, t *Test, instrument string) error {
	var b strings.Builder
	lever := t.Roll.Instrument.Transport.LeverTempo()
	fmt.Fprintf(&b, `# Readings of the test roll for %s.
#
# Fill in what you read; leave "" what you did not. A mark is two keys far apart, struck together. Several runs stand
# side by side, parted by blanks, with a dash for one you missed: heard = "24.6 24.5 - 24.7". Then:
#   rollwright calibrate read FILE --write mine.instrument

instrument = %s
length     = %d
lever      = %s  # what the tempo lever stood at

`, source.Printable(instrument), strconv.Quote(instrument), int(t.MarkMM[len(t.MarkMM)-1]+0.5), strconv.FormatFloat(lever, 'f', -1, 64))
	b.WriteString(`# heard: seconds on a stopwatch when the mark sounds. seen: the same when the beginning of its holes lies on the middle
# of the bar's ports; both of one run from one film, and the delay of the action follows. turns: of the take-up spool since
# mark 0. around: the girth of spool and paper, with a strip of paper around it: "133.4 mm", "5 1/4 in".
`)
	for _, mm := range t.MarkMM {
		fmt.Fprintf(&b, "mark \"%s mm\" {\n  heard  = \"\"\n  seen   = \"\"\n  turns  = \"\"\n  around = \"\"\n}\n",
			strconv.FormatFloat(math.Round(mm*1e4)/1e4, 'f', -1, 64))
	}
	b.WriteString("\n# Single notes, on three keys: the number of the first from which on all sounded.\n")
	for i := range t.Slots[0] {
		fmt.Fprintf(&b, "#   %2d: %5.2f mm\n", i+1, t.Slots[0][i].LengthMM)
	}
	b.WriteString("slots {\n  bass   = \"\"\n  middle = \"\"\n  treble = \"\"\n}\n")
	fmt.Fprintf(&b, "\n# Groups of %d strokes of one key: the number of the last in which you heard all %d, apart.\n",
		strokesInGroup, strokesInGroup)
	for i, g := range t.Repeats[0] {
		fmt.Fprintf(&b, "#   %2d: %5.2f strokes a second\n", i+1, g.PerSec)
	}
	b.WriteString("repeats {\n  bass   = \"\"\n  middle = \"\"\n  treble = \"\"\n}\n")
	b.WriteString("\n# Chords of 2, 4, 6 ... notes: how many notes the largest had that sounded as a whole.\nchords {\n  largest = \"\"\n}\n")
	b.WriteString("\n# Pairs with a growing web of paper between: the last you heard as one note, and the first from which on all were two.\n")
	for i, p := range t.Pairs {
		fmt.Fprintf(&b, "#   %2d: %4.2f mm\n", i+1, p.WebMM)
	}
	b.WriteString("pairs {\n  one = \"\"\n  two = \"\"\n}\n")
	_, err := io.WriteString(w, b.String())
	return err
}
