package piecefile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

// called carries out a function.
func called[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
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
	case name == "even" && k.even == nil:
		return nil, r.add(v.Error(fmt.Sprintf("even makes durations, and a %s has %s", k.name, k.what), ""))
	case f.args > 0 && len(args) != f.args || len(args) == 0:
		return nil, r.add(v.Error(fmt.Sprintf("%s wants something else in its parentheses", name), "write: "+f.with(k.sample)))
	case name == "even":
		return evenly(r, v, args[0], k)
	case name == "join":
		return joined(r, v, args, k)
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
		n, ok := r.integer(args[1], -maxTurn, maxTurn)
		return rotated(out, n), ok
	}
	return moved(r, v, args[1], name, slices.Clone(out), k)
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

// moved carries out transpose and invert.
func moved[T any](r *reader, v, arg *blocks.Value, name string, out []T, k *kind[T]) ([]T, bool) {
	var to func(int) int
	if name == "transpose" {
		n, ok := r.integer(arg, -127, 127)
		if !ok {
			return nil, false
		}
		to = func(key int) int { return key + n }
	} else {
		axis, ok := r.keyOf(arg)
		if !ok {
			return nil, false
		}
		to = func(key int) int { return 2*axis - key }
	}
	for i := range out {
		m, ok := k.move(out[i], to)
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
	"even":      {1, `even("5 of 8")`, false},
	"rotate":    {2, `rotate("%", 1)`, false},
	"backward":  {1, `backward("%")`, false},
	"transpose": {2, `transpose("%", 5)`, true},
	"invert":    {2, `invert("%", "C3")`, true},
	"join":      {0, `join("%", "%")`, false},
}

// with is the example with a cycle in it.
func (f function) with(cycle string) string { return strings.ReplaceAll(f.example, "%", cycle) }

func numberFunction(name string) bool {
	return slices.Contains([]string{"sqrt", "cbrt", "root", "pow", "cents"}, name)
}

func functionHint(name, cycle string) string {
	names := []string{"even", "rotate", "backward", "transpose", "invert", "join"}
	if near, ok := source.Nearest(name, names); ok {
		return "did you mean " + functions[near].with(cycle) + "?"
	}
	return "the functions are " + strings.Join(names, ", ")
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
		return nil, r.add(arg.Error(fmt.Sprintf("%d strokes are more than %d units have room for", strokes, units), `write the smaller number first: "5 of 8"`))
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
