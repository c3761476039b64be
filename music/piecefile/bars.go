package piecefile

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// mark is a | in a text: how many members stand before it.
type mark struct {
	before int
	at     span
}

// markList are the marks of a value that is text, or a list of texts. A nil one keeps
// none.
type markList struct {
	list    []mark
	members int // of the texts so far
}

// take adds the marks of the next text with that many members.
func (l *markList) take(marks []mark, members int) {
	if l == nil {
		return
	}
	for _, m := range marks {
		l.list = append(l.list, mark{l.members + m.before, m.at})
	}
	l.members += members
}

// marked is a series with the bars that are marked in it; in what lets and functions make
// they are blanks.
func marked[T any](r *reader, v *blocks.Value, k *kind[T]) (out []T, marks []mark, ok bool) {
	l := &markList{}
	r.marks = l
	out, ok = series(r, v, k)
	r.marks = nil
	return out, l.list, ok
}

// unmarked makes members without keeping marks, and counts them.
func unmarked[T any](r *reader, make func() ([]T, bool)) ([]T, bool) {
	l := r.marks
	r.marks = nil
	out, ok := make()
	r.marks = l
	l.take(nil, len(out))
	return out, ok
}

var barKind = &kind[exact.Rat]{name: "bar", what: "lengths of bars", sample: "12",
	one: func(r *reader, c *cursor) (exact.Rat, *source.Error) {
		s := c.item()
		x, err := r.units(s)
		if err != nil {
			return x, s.Error(fmt.Sprintf("%q is no length of a bar", source.Printable(s.String())),
				`write its units: 12, or several in turn: "12 12 8"`)
		}
		return x, nil
	}}

func readBar(r *reader, v *blocks.Value) any {
	out, ok := series(r, v, barKind)
	return orNil(out, ok)
}

func readUpbeat(r *reader, v *blocks.Value) any {
	if v = r.meantAs(v, asNumber); v == nil {
		return nil
	}
	x, err := r.ratOf(v)
	if err == nil && (x.Sign() < 0 || x.Cmp(longest) > 0) {
		err = v.Error("an upbeat of "+x.String()+" units", "write how many units come before the first bar: upbeat = 4")
	}
	return orNil(x, r.add(err))
}

// barsOf are the bars that settings give.
func barsOf(all *settings) piece.Bar {
	b := piece.Bar{Units: value[[]exact.Rat](all[aBar], nil)}
	if b.Given() {
		b.Upbeat = value(all[aUpbeat], exact.Rat{})
	}
	return b
}

// mostBarMistakes are reported of one text.
const mostBarMistakes = 4

// checkBars holds the marks in a text of a tune or voice against its bars.
func (r *reader) checkBars(n *node) {
	bars := barsOf(&n.all)
	if !bars.Given() {
		if s := n.own[aUpbeat]; s != nil && n.own[aBar] == nil {
			r.add(s.Error("an upbeat without bars", "write how long a bar is: bar = 16"))
		}
		return
	}
	for _, a := range []attr{aTalea, aLine} {
		if m := value[*material](n.own[a], nil); m != nil {
			r.checkMarks(m, &bars)
		}
	}
}

// checkMarks walks through the marks of a text.
func (r *reader) checkMarks(m *material, bars *piece.Bar) {
	var at, begun exact.Rat // of the items so far; where the bar begins, which ends at end
	ok, item, bar, mistakes := true, 0, 0, 0
	end := bars.Upbeat
	next := func() {
		begun = end
		sum, fits := end.Add(bars.Units[bar%len(bars.Units)])
		end, ok = sum, ok && fits
		bar++
	}
	if end.Sign() == 0 {
		next()
	}
	for _, mark := range m.marks {
		for ; item < mark.before && ok; item++ {
			sum, fits := at.Add(m.talea[item].Units)
			at, ok = sum, fits
		}
		for ok && end.Cmp(at) < 0 {
			next()
		}
		if !ok {
			return
		}
		if at.Cmp(end) == 0 || at.Cmp(begun) == 0 {
			continue
		}
		r.add(barMistake(mark, bar, at, begun, end))
		if mistakes++; mistakes >= mostBarMistakes {
			return
		}
		at = end // what follows is held against the bars from here
		if longer(at, begun, end) {
			at = begun
		}
	}
}

// longer reports whether a place within a bar is nearer to its start.
func longer(at, begun, end exact.Rat) bool {
	past, _ := at.Sub(begun)
	short, _ := end.Sub(at)
	return begun.Sign() > 0 && past.Cmp(short) <= 0
}

// barMistake says which bar is too long or too short, number being that of the one in which
// the mark stands; 0 is the upbeat.
func barMistake(m mark, number int, at, begun, end exact.Rat) *source.Error {
	amount, _ := end.Sub(at)
	what := "short"
	if longer(at, begun, end) {
		amount, _ = at.Sub(begun)
		number, what = number-1, "long"
	}
	name := fmt.Sprintf("bar %d", number)
	if number == 0 {
		name = "the upbeat"
	}
	return m.at.Error(fmt.Sprintf("%s is too %s by %s", name, what, manyUnits(amount)),
		"each | stands at the end of a bar; delete it, or mend the durations before it")
}

func manyUnits(x exact.Rat) string {
	if x.Cmp(exact.Int(1)) == 0 {
		return "1 unit"
	}
	return x.String() + " units"
}
