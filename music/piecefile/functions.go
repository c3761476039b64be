package piecefile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// called carries out a function.
func called[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	return unmarked(r, func() ([]T, bool) { return call(r, v, k) })
}

func call[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	name, args, _ := v.Call()
	if numberFunction(name) {
		return oneNumber(r, v, k)
	}
	f, known := functions[name]
	switch {
	case !known:
		return nil, r.add(v.Error("there is no function "+source.Printable(name), functionHint(name, k.sample)))
	case f.pitches && k.move == nil:
		return nil, r.add(v.Error(fmt.Sprintf("%s needs pitches, and a %s has %s", name, k.name, k.what), ""))
	case name == "stretch" && k.longer == nil:
		return nil, r.add(v.Error(fmt.Sprintf("stretch needs durations, and a %s has %s", k.name, k.what), ""))
	case name == "even" && k.even == nil:
		return nil, r.add(v.Error(fmt.Sprintf("even makes durations, and a %s has %s", k.name, k.what), ""))
	case f.args > 0 && len(args) != f.args || len(args) == 0:
		return nil, r.add(v.Error(fmt.Sprintf("%s wants something else in its parentheses", name), "write: "+
			f.with(k.sample)))
	case name == "even":
		return evenly(r, v, args[0], k)
	case name == "join":
		return joined(r, v, args, k)
	case name == "interleave":
		return interleaved(r, v, args, k)
	case name == "pitches" || name == "durations":
		return takenFrom(r, v, name, args[0], k)
	}
	out, ok := members(r, args[0], k)
	if !ok || !r.charge(len(out), v) {
		return nil, false
	}
	switch name {
	case "backward":
		out = slices.Clone(out)
		slices.Reverse(out)
		return out, true
	case "rotate":
		n, ok := r.given(args[1], name, "a whole number of members", -maxTurn, maxTurn)
		return rotated(out, n), ok
	case "times":
		return times(r, v, args[1], out)
	case "first", "last", "members":
		return partOf(r, v, name, args[1:], out)
	case "stretch":
		by, ok := r.factorGiven(args[1])
		if !ok {
			return nil, false
		}
		return stretched(r, v, by, slices.Clone(out), k)
	}
	return moved(r, v, args[1], name, slices.Clone(out), k)
}

// given is the whole number that a function is given, between bounds; what it cannot take
// is named.
func (r *reader) given(arg *blocks.Value, name, wanted string, least, most int) (int, bool) {
	v := r.meantAs(arg, asWhole)
	if v == nil {
		return 0, false
	}
	n, err := r.intOf(v)
	if err != nil || n < least || n > most {
		was := source.Printable(brief(arg.Raw()))
		if v != arg {
			was += ", which is " + source.Printable(brief(v.Raw()))
		}
		hint := ""
		if least > -maxTurn || most < maxTurn {
			hint = fmt.Sprintf("it goes from %d to %d", least, most)
		}
		return 0, r.add(arg.Error(fmt.Sprintf("%s wants %s here, and was given %s", name, wanted, was), hint))
	}
	return n, true
}

// times is a series so many times.
func times[T any](r *reader, v, arg *blocks.Value, s []T) ([]T, bool) {
	n, ok := r.given(arg, "times", "how often", 1, maxMembers)
	if !ok || !r.charge(len(s)*(n-1), v) {
		return nil, false
	}
	return slices.Repeat(s, n), true
}

// partOf carries out first, last and members.
func partOf[T any](r *reader, v *blocks.Value, name string, args []*blocks.Value, s []T) ([]T, bool) {
	if r.late && r.scene == nil {
		return s, true // how many there are is not known yet
	}
	const wanted = "a number of members that are there"
	n, ok := r.given(args[0], name, wanted, 1, len(s))
	switch {
	case !ok:
		return nil, false
	case name == "first":
		return s[:n], true
	case name == "last":
		return s[len(s)-n:], true
	}
	to, ok := r.given(args[1], name, wanted, n, len(s))
	if !ok {
		return nil, false
	}
	return s[n-1 : to], true
}

// interleaved takes a member of each series in turn.
func interleaved[T any](r *reader, v *blocks.Value, args []*blocks.Value, k *kind[T]) ([]T, bool) {
	series := make([][]T, len(args))
	sizes := make([]string, len(args))
	for i, arg := range args {
		part, ok := members(r, arg, k)
		if !ok || !r.charge(len(part), v) {
			return nil, false
		}
		series[i], sizes[i] = part, strconv.Itoa(len(part))
	}
	if r.late && r.scene == nil {
		return slices.Concat(series...), true
	}
	var out []T
	for i := range series[0] {
		for _, s := range series {
			if len(s) != len(series[0]) {
				return nil, r.add(v.Error("interleave wants series of one length, and was given "+strings.Join(sizes, ", "),
					"times and first make them equal"))
			}
			out = append(out, s[i])
		}
	}
	return out, true
}

// factorGiven is the positive fraction by which durations are stretched.
func (r *reader) factorGiven(arg *blocks.Value) (exact.Rat, bool) {
	v := r.meantAs(arg, asNumber)
	if v == nil {
		return exact.Rat{}, false
	}
	x, err := r.ratOf(v)
	if err != nil || x.Sign() <= 0 {
		return x, r.add(arg.Error("stretch wants a fraction of more than 0 here, and was given "+
			source.Printable(brief(arg.Raw())), "durations are fractions of the unit; the attribute stretch takes roots too"))
	}
	return x, true
}

// oneNumber is a call that is a number, as a cycle of one.
func oneNumber[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	t, err := v.Written()
	if !r.add(err) {
		return nil, false
	}
	c := newCursor(t)
	c.whole = true
	return text(r, c, v, k)
}

// joined is one cycle after the other.
func joined[T any](r *reader, v *blocks.Value, args []*blocks.Value, k *kind[T]) ([]T, bool) {
	var out []T
	for _, arg := range args {
		part, ok := members(r, arg, k)
		if !ok || !r.charge(len(part), v) {
			return nil, false
		}
		out = append(out, part...)
	}
	return out, true
}

// maxTurn bounds how far a cycle is rotated.
const maxTurn = 1_000_000_000

// rotated is s, begun with its member number n from 0.
func rotated[T any](s []T, n int) []T {
	if len(s) == 0 {
		return s
	}
	n = ((n % len(s)) + len(s)) % len(s)
	return slices.Concat(s[n:], s[:n])
}

// moved carries out transpose, invert and steps.
func moved[T any](r *reader, v, arg *blocks.Value, name string, out []T, k *kind[T]) ([]T, bool) {
	var move piece.Move
	var ok bool
	switch name {
	case "transpose":
		var n int
		n, ok = r.given(arg, name, "a whole number of semitones", -127, 127)
		move = (&piece.Voice{Transpose: n}).Whole()
	case "invert":
		var axis *piece.Axis
		axis, ok = r.axisOf(arg)
		move = (&piece.Voice{Invert: axis}).Whole()
	default:
		var n int
		if n, ok = r.given(arg, name, "a whole number of steps", -127, 127); ok {
			move, ok = r.inSteps(v.Error("steps of which scale?", `name it where this is played: mode = "D E F G A Bb C"`), n)
		}
	}
	if !ok {
		return nil, false
	}
	for i := range out {
		m, ok := k.move(out[i], &move)
		if !ok {
			return nil, r.add(v.Error(name+" takes a pitch beyond the keys, which run from C-1 to G9", "move it less far"))
		}
		out[i] = m
	}
	return out, true
}

// function is what stands in the parentheses of a function.
type function struct {
	args    int    // 0: one or more
	example string // in which % stands for a cycle
	pitches bool   // it needs them
}

var functions = map[string]function{
	"even":       {1, `even("5 of 8")`, false},
	"rotate":     {2, `rotate("%", 1)`, false},
	"backward":   {1, `backward("%")`, false},
	"transpose":  {2, `transpose("%", 5)`, true},
	"invert":     {2, `invert("%", "C3")`, true},
	"steps":      {2, `steps("%", 2)`, true},
	"join":       {0, `join("%", "%")`, false},
	"interleave": {0, `interleave("%", "%")`, false},
	"times":      {2, `times("%", 3)`, false},
	"first":      {2, `first("%", 2)`, false},
	"last":       {2, `last("%", 2)`, false},
	"members":    {3, `members("%", 2, 3)`, false},
	"stretch":    {2, `stretch("%", "2/3")`, false},
	"pitches":    {1, `pitches("tune")`, false},
	"durations":  {1, `durations("tune")`, false},
}

// functionNames are in the order in which they are told.
var functionNames = []string{"even", "rotate", "backward", "transpose", "invert", "join",
	"times", "first", "last", "members", "stretch", "interleave", "steps", "pitches", "durations"}

// with is the example with a cycle in it.
func (f function) with(cycle string) string { return strings.ReplaceAll(f.example, "%", cycle) }

func numberFunction(name string) bool {
	return slices.Contains([]string{"sqrt", "cbrt", "root", "pow", "cents"}, name)
}

func functionHint(name, cycle string) string {
	if near, ok := source.Nearest(name, functionNames); ok {
		return "did you mean " + functions[near].with(cycle) + "?"
	}
	const first = 6
	return "the functions are " + strings.Join(functionNames[:first], ", ") + ",\n" +
		strings.Join(functionNames[first:], ", ")
}

// evenly carries out even("5 of 8").
func evenly[T any](r *reader, v, arg *blocks.Value, k *kind[T]) ([]T, bool) {
	s, ok := r.written(arg)
	if !ok {
		return nil, false
	}
	var strokes, units int
	fields := strings.Fields(s.String())
	if len(fields) == 3 && fields[1] == "of" {
		strokes, units = count(fields[0]), count(fields[2])
	}
	switch {
	case strokes < 1 || units < 1:
		return nil, r.add(arg.Error("even wants how many strokes, and of how many units", `write: "5 of 8"`))
	case strokes > units:
		return nil, r.add(arg.Error(fmt.Sprintf("%d strokes are more than %d units have room for", strokes, units),
			`write the smaller number first: "5 of 8"`))
	case !r.charge(units, v):
		return nil, false
	}
	gaps := spread(strokes, units)
	out := make([]T, len(gaps))
	for i, gap := range gaps {
		out[i] = k.even(gap)
	}
	return out, true
}

// count is a whole number from 1 to a billion, else 0.
func count(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > maxTurn || s[0] == '+' {
		return 0
	}
	return n
}

// spread is the gaps between strokes set as evenly as can be over units, by the
// procedure of E. Bjorklund (SNS-NOTE-CNTRL-99, 2003): strokes and rests are
// two piles of equal patterns; the smaller pile is dealt out onto the larger
// until at most one pattern is left over.
func spread(strokes, units int) []int {
	a, b := []bool{true}, []bool{false}
	na, nb := strokes, units-strokes
	for nb > 1 {
		joined := append(a, b...) // a stays readable as its beginning
		if na > nb {
			b = a[:len(a):len(a)]
			na, nb = nb, na-nb
		} else {
			nb -= na
		}
		a = joined
	}
	var gaps []int
	for i := range na + nb {
		pattern := a
		if i >= na {
			pattern = b
		}
		for _, stroke := range pattern {
			if stroke {
				gaps = append(gaps, 0)
			}
			gaps[len(gaps)-1]++
		}
	}
	return gaps
}
