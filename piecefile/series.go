package piecefile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/blocks"
	"rollwright/source"
)

// kind is what the members of a cycle are, and how one is read and changed.
type kind[T any] struct {
	name      string // the attribute's
	what      string // its members, plural: "durations"
	one       func(*reader, *cursor) (T, *source.Error)
	move      func(T, func(int) int) (T, bool) // maps every key; false when one leaves the keys; nil: no pitches
	even      func(units int) T                // a duration; nil: none
	bareWords func(string) bool                // words that have to stand in quotes: mf
}

// maxPerSeries is how many mistakes of one cycle are reported.
const maxPerSeries = 4

// series is the members that a value writes down.
func series[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	out, ok := members(r, v, k)
	if ok && len(out) == 0 {
		return nil, r.add(v.Error(fmt.Sprintf("the %s is empty", k.name), "write at least one of its "+k.what))
	}
	return out, ok
}

func members[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	switch v.Kind() {
	case blocks.List:
		return listed(r, v, k)
	case blocks.Word:
		return fromLet(r, v, k)
	case blocks.Call:
		return called(r, v, k)
	}
	t, err := v.Written()
	if err != nil {
		return nil, r.add(err)
	}
	c := newCursor(t)
	c.whole = !v.IsText()
	return text(r, c, v, k)
}

func listed[T any](r *reader, v *blocks.Value, k *kind[T]) (out []T, ok bool) {
	list, err := v.List()
	ok = r.add(err)
	for _, member := range list {
		part, fine := members(r, member, k)
		out, ok = append(out, part...), ok && fine
	}
	return out, ok
}

// text reads all members of a text.
func text[T any](r *reader, c *cursor, v *blocks.Value, k *kind[T]) ([]T, bool) {
	out := make([]T, 0, min(1+(c.end-c.i)/3, maxMembers))
	s := &textReader[T]{r: r, c: c, v: v, k: k, out: out}
	s.group(0)
	return s.out, s.wrong == 0
}

// textReader reads members, repeats and groups.
type textReader[T any] struct {
	r     *reader
	c     *cursor
	v     *blocks.Value
	k     *kind[T]
	out   []T
	wrong int // mistakes so far
}

func (s *textReader[T]) fail(e *source.Error) {
	s.r.add(e)
	if s.wrong++; s.wrong >= maxPerSeries || s.r.full() {
		s.c.i = s.c.end
	}
}

// group reads up to the closing bracket of a group, or to the end of the text.
func (s *textReader[T]) group(depth int) {
	start := s.c.i
	for s.c.skip() {
		switch s.c.t.S[s.c.i] {
		case ']':
			closing := s.c.item()
			if depth > 0 {
				return
			}
			s.fail(closing.Error("this ] closes nothing", "a group begins with how often: 4 times [3 1]"))
		case '[':
			s.fail(s.c.item().Error("a group needs how often it comes", "write: 4 times [3 1]"))
			s.group(min(depth+1, maxGroups))
		default:
			s.member(depth)
		}
	}
	if depth > 0 && s.wrong == 0 {
		s.fail(span{s.c, max(start-1, 0), start}.Error("this group is not closed", "close it with ]"))
	}
}

// member reads one member, or a number of times and what is repeated.
func (s *textReader[T]) member(depth int) {
	times, first := s.times()
	if times == nil {
		s.single()
		return
	}
	n, err := strconv.Atoi(first.String())
	if err != nil || n < 1 {
		s.fail(first.Error("a number of times is 1 or more, and not too large", "write: 4 times 3"))
		n = 1
	}
	from := len(s.out)
	switch {
	case !s.c.skip() || s.c.t.S[s.c.i] == ']':
		s.fail(times.Error("after times something to repeat is wanted", "write: 4 times 3, or 4 times [3 1]"))
	case depth+1 < maxGroups && s.c.t.S[s.c.i] != '[':
		s.member(depth + 1) // 2 times 3 times 1 is 6 times 1
	case depth+1 >= maxGroups:
		s.wrong = maxPerSeries
		s.fail(s.c.item().Error(fmt.Sprintf("groups are nested more than %d deep", maxGroups), ""))
	default:
		s.c.item()
		s.group(depth + 1)
	}
	s.repeat(from, n)
}

// times looks for a whole number followed by the word times.
func (s *textReader[T]) times() (word *span, number span) {
	at := s.c.i
	if d := s.c.t.S[at]; s.c.whole || d < '0' || d > '9' {
		return nil, span{}
	}
	number = s.c.item()
	for _, d := range []byte(number.String()) {
		if d < '0' || d > '9' {
			s.c.i = at
			return nil, span{}
		}
	}
	if next := s.c.peek(); next.String() == "times" {
		s.c.item()
		return &next, number
	}
	s.c.i = at
	return nil, span{}
}

func (s *textReader[T]) single() {
	m, err := s.k.one(s.r, s.c)
	switch {
	case err != nil:
		s.fail(err)
	case s.r.charge(1, s.v):
		s.out = append(s.out, m)
	default:
		s.wrong = maxPerSeries
		s.c.i = s.c.end
	}
}

// repeat writes the members from index from on n times in all.
func (s *textReader[T]) repeat(from, n int) {
	length := len(s.out) - from
	if length == 0 || n == 1 {
		return
	}
	if n > maxMembers || !s.r.charge(length*(n-1), s.v) {
		s.r.charge(maxMembers+1, s.v)
		s.wrong = maxPerSeries
		s.c.i = s.c.end
		return
	}
	s.out = slices.Grow(s.out, length*(n-1))
	for range n - 1 {
		s.out = append(s.out, s.out[from:from+length]...)
	}
}

// charge counts n more members of cycles. It is false, with a complaint about v,
// when there are too many.
func (r *reader) charge(n int, v *blocks.Value) bool {
	if r.members > maxMembers {
		return false
	}
	if r.members += n; r.members <= maxMembers {
		return true
	}
	return r.add(v.Error("too large: the cycles of this file, written out, have more than 500,000 members", "repeat less often, or let extent repeat the cycle"))
}

// letKey is a let read as a kind of cycle.
type letKey struct {
	name string
	kind any // the *kind[T]
}

// made is what a let comes to; while it is being worked out it is not done.
type made struct {
	members any
	ok      bool
	done    bool
}

// readLets collects what the let blocks name.
func (r *reader) readLets() {
	for _, b := range r.body.Of("let") {
		r.noLabels(b)
		for _, inner := range b.Body.Blocks {
			r.add(inner.Error("let knows no blocks", `write: name = "C2 E2 G2"`))
		}
		for _, a := range b.Body.Attrs {
			switch twin := r.lets[a.Name]; {
			case slices.Contains(taken, a.Name):
				r.add(a.NameError(a.Name+" has a meaning already", "choose another name"))
			case twin != nil:
				r.add(a.NameError(fmt.Sprintf("%s is named a second time; line %d has it already", a.Name, twin.At.Line), "choose another name"))
			default:
				r.lets[a.Name] = a
			}
		}
	}
}

// taken are the words that no let may have.
var taken = []string{"true", "false", "null", "pi", "e", "phi"}

// letNamed is the let that a bare word means. Words that are meant as text get
// a hint.
func (r *reader) letNamed(v *blocks.Value, bare func(string) bool) *blocks.Attr {
	word, _ := v.Word()
	if a := r.lets[word]; a != nil {
		return a
	}
	if bare != nil && bare(word) {
		r.add(v.Error(word+" stands without quotes", fmt.Sprintf("write: %q", word)))
		return nil
	}
	var names []string
	for _, b := range r.body.Of("let") {
		for _, a := range b.Body.Attrs {
			names = append(names, a.Name)
		}
	}
	hint := fmt.Sprintf("text stands in quotes: %q", source.Printable(word))
	if len(names) > 0 {
		hint = nearest(word, names, "") + "\n" + hint
	}
	r.add(v.Error("there is nothing called "+source.Printable(word), hint))
	return nil
}

func fromLet[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	a := r.letNamed(v, k.bareWords)
	if a == nil {
		return nil, false
	}
	key := letKey{a.Name, k}
	m := r.made[key]
	if m == nil {
		m = &made{}
		r.made[key] = m
		out, ok := members(r, a.Value, k)
		m.members, m.ok, m.done = out, ok, true
	}
	if !m.done {
		m.ok = r.add(v.Error(a.Name+" is made of itself", "a let may use other names, but not in a circle"))
		return nil, false
	}
	out, _ := m.members.([]T)
	return out, m.ok
}

// called carries out a function.
func called[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	name, args, _ := v.Call()
	f, known := functions[name]
	switch {
	case !known && numberFunction(name):
		t, err := v.Written()
		c := newCursor(t)
		c.whole = true
		if !r.add(err) {
			return nil, false
		}
		return text(r, c, v, k)
	case !known:
		return nil, r.add(v.Error("there is no function "+source.Printable(name), functionHint(name)))
	case f.args > 0 && len(args) != f.args || len(args) == 0:
		return nil, r.add(v.Error(fmt.Sprintf("%s wants something else in its parentheses", name), "write: "+f.example))
	}
	switch name {
	case "even":
		return evenly(r, v, args[0], k)
	case "join":
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
	out, ok := members(r, args[0], k)
	if !ok || !r.charge(len(out), v) {
		return nil, false
	}
	out = slices.Clone(out)
	switch name {
	case "backward":
		slices.Reverse(out)
		return out, true
	case "rotate":
		n, ok := r.integer(args[1], -maxTurn, maxTurn)
		return rotated(out, n), ok
	}
	return moved(r, v, args[1], name, out, k)
}

// maxTurn bounds how far a cycle is rotated.
const maxTurn = 1_000_000_000

// rotated is s, begun with its member number n from 0.
func rotated[T any](s []T, n int) []T {
	if len(s) == 0 {
		return s
	}
	n = ((n % len(s)) + len(s)) % len(s)
	return append(s[n:len(s):len(s)], s[:n]...)
}

// moved carries out transpose and invert.
func moved[T any](r *reader, v, arg *blocks.Value, name string, out []T, k *kind[T]) ([]T, bool) {
	if k.move == nil {
		return nil, r.add(v.Error(fmt.Sprintf("%s needs pitches, and a %s has %s", name, k.name, k.what), ""))
	}
	var to func(int) int
	if name == "transpose" {
		n, ok := r.integer(arg, -127, 127)
		if !ok {
			return nil, false
		}
		to = func(key int) int { return key + n }
	} else {
		axis, ok := r.pitch(arg)
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
	args    int // 0: one or more
	example string
}

var functions = map[string]function{
	"even":      {1, `even("5 of 8")`},
	"rotate":    {2, `rotate("3 2 1", 1)`},
	"backward":  {1, `backward("3 2 1")`},
	"transpose": {2, `transpose("C2 E2", 5)`},
	"invert":    {2, `invert("C2 E2", "C3")`},
	"join":      {0, `join("C2 E2", "G2")`},
}

func numberFunction(name string) bool {
	return slices.Contains([]string{"sqrt", "cbrt", "root", "pow", "cents"}, name)
}

func functionHint(name string) string {
	names := []string{"even", "rotate", "backward", "transpose", "invert", "join"}
	if near, ok := source.Nearest(name, names); ok {
		return "did you mean " + functions[near].example + "?"
	}
	return "the functions are " + strings.Join(names, ", ")
}

// evenly carries out even("5 of 8").
func evenly[T any](r *reader, v, arg *blocks.Value, k *kind[T]) ([]T, bool) {
	if k.even == nil {
		return nil, r.add(v.Error(fmt.Sprintf("even makes durations, and a %s has %s", k.name, k.what), ""))
	}
	s, ok := r.words(arg)
	if !ok {
		return nil, false
	}
	var strokes, units int
	fields := strings.Fields(s)
	if len(fields) == 3 && fields[1] == "of" {
		strokes, units = count(fields[0]), count(fields[2])
	}
	switch {
	case strokes < 1 || units < 1:
		return nil, r.add(arg.Error("even wants how many strokes, and of how many units", `write: even("5 of 8")`))
	case strokes > units:
		return nil, r.add(arg.Error(fmt.Sprintf("%d strokes are more than %d units have room for", strokes, units), `write the smaller number first: even("5 of 8")`))
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
	if err != nil || n > maxTurn || s[0] == '+' {
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
