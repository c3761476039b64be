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

// kind is what the members of a cycle are, and how one is read and changed.
type kind[T any] struct {
	name      string // the attribute's
	what      string // its members, plural: "durations"
	sample    string // a short cycle, to show how one is written
	one       func(*reader, *cursor) (T, *source.Error)
	move      func(T, *piece.Move) (T, bool)       // moves every key; false when one leaves the keys; nil: no pitches
	even      func(units int) T                    // a duration; nil: none
	longer    func(T, exact.Rat) (T, bool)         // multiplies its duration; nil: it has none
	of        func(*reader, *borrowed) ([]T, bool) // what it takes from a tune: pitches, durations; nil: neither
	ofName    string                               // the function that does
	bareWords func(string) bool                    // words that have to stand in quotes: mf
	numbers   bool                                 // its members are exact numbers
}

func (k *kind[T]) bareHint() bareHint {
	if k.numbers {
		return asNumber
	}
	return asText
}

// Of the mistakes of one cycle so many are reported, and so many counted.
const (
	maxPerSeries = 4
	mostCounted  = 1000
)

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
	return text(r, cursorOf(v, t), v, k)
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
	s.more()
	r.marks.take(s.marks, len(s.out))
	return s.out, s.wrong == 0
}

// textReader reads members, repeats and groups.
type textReader[T any] struct {
	r     *reader
	c     *cursor
	v     *blocks.Value
	k     *kind[T]
	out   []T
	wrong int           // mistakes so far
	last  *source.Error // of those reported
	marks []mark        // of bars
}

// skip goes over blanks, keeps where bars are marked, and reports whether something
// follows.
func (s *textReader[T]) skip() bool {
	from := s.c.i
	more := s.c.skip()
	if s.r.marks == nil {
		return more
	}
	for i := from; i < s.c.i; i++ {
		if s.c.t.S[i] == '|' && (len(s.marks) == 0 || s.marks[len(s.marks)-1].before != len(s.out)) {
			s.marks = append(s.marks, mark{len(s.out), span{s.c, i, i + 1}})
		}
	}
	return more
}

func (s *textReader[T]) fail(e *source.Error) {
	switch s.wrong++; {
	case s.wrong <= maxPerSeries:
		s.r.add(e)
		s.last = e
	case s.wrong > mostCounted:
		s.stop()
	}
	if s.r.full() {
		s.stop()
	}
}

// stop leaves the rest of the text unread.
func (s *textReader[T]) stop() {
	s.wrong = max(s.wrong, 1)
	s.c.i = s.c.end
}

// more adds to the last mistake reported how many follow.
func (s *textReader[T]) more() {
	n := fmt.Sprint(s.wrong - maxPerSeries)
	switch {
	case s.wrong <= maxPerSeries:
		return
	case s.wrong > mostCounted:
		n = "more than " + fmt.Sprint(mostCounted-maxPerSeries)
	}
	s.last.More = s.wrong - maxPerSeries
	s.last.Hint = strings.TrimLeft(fmt.Sprintf("%s\nand %s more mistakes in this %s", s.last.Hint, n, s.k.name), "\n")
	if n == "1" {
		s.last.Hint = strings.Replace(s.last.Hint, "1 more mistakes", "1 more mistake", 1)
	}
}

// group reads up to the closing bracket of a group, or to the end of the text.
func (s *textReader[T]) group(depth int) {
	start := s.c.i
	for s.skip() {
		switch s.c.t.S[s.c.i] {
		case ']':
			closing := s.c.item()
			if depth > 0 {
				return
			}
			s.fail(closing.Error("this ] closes nothing", "a group begins with how often: 4 times [3 1]"))
		case '[':
			s.fail(s.c.item().Error("a group needs how often it comes",
				"a number of times stands before it, as in 4 times [3 1]"))
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
		s.fail(first.Error("a number of times is 1 or more, and not too large", "the least is 1 times"))
		n = 1
	}
	from, marked := len(s.out), len(s.marks)
	switch {
	case !s.c.skip() || s.c.t.S[s.c.i] == ']':
		s.fail(times.Error("after times something to repeat is wanted",
			"what is repeated follows, as in 4 times 3 or 4 times [3 1]"))
	case depth+1 < maxGroups && s.c.t.S[s.c.i] != '[':
		s.member(depth + 1) // 2 times 3 times 1 is 6 times 1
	case depth+1 >= maxGroups:
		s.fail(s.c.item().Error(fmt.Sprintf("groups are nested more than %d deep", maxGroups), ""))
		s.stop()
	default:
		s.c.item()
		s.group(depth + 1)
	}
	s.repeat(from, marked, n)
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
	at := s.c.i
	m, err := s.k.one(s.r, s.c)
	switch {
	case err != nil:
		s.functionInQuotes(at, err)
		s.fail(err)
	case s.r.charge(1, s.v):
		s.out = append(s.out, m)
	default:
		s.stop()
	}
}

// repeat writes the members from index from on n times in all, with the bars marked among
// them.
func (s *textReader[T]) repeat(from, marked, n int) {
	length := len(s.out) - from
	if length == 0 || n == 1 {
		return
	}
	if n > maxMembers || !s.r.charge(length*(n-1), s.v) {
		s.r.charge(maxMembers+1, s.v)
		s.stop()
		return
	}
	s.out = slices.Grow(s.out, length*(n-1))
	marks := s.marks[marked:len(s.marks):len(s.marks)]
	for i := range n - 1 {
		s.out = append(s.out, s.out[from:from+length]...)
		for _, m := range marks {
			s.marks = append(s.marks, mark{m.before + (i+1)*length, m.at})
		}
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
	return r.add(v.Error("too large: the cycles of this file, written out, have more than 500,000 members",
		"repeat less often, or let extent repeat the cycle"))
}
