package piecefile

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

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
			r.add(inner.Error("let holds no blocks", `write: name = "C2 E2 G2"`))
		}
		for _, a := range b.Body.Attrs {
			switch twin := r.lets[a.Name]; {
			case slices.Contains(taken, a.Name):
				r.add(a.NameError(a.Name+" has a meaning already", "choose another name"))
			case twin != nil:
				r.add(a.NameError(fmt.Sprintf("%s is named a second time; line %d has it already", a.Name, twin.At.Line),
					"choose another name"))
			default:
				r.lets[a.Name] = a
			}
		}
	}
}

// taken are the words that no let may have.
var taken = []string{"true", "false", "null", "pi", "e", "phi"}

// bareHint is what a bare word that names nothing was probably meant as, for a
// complaint about it.
type bareHint func(word string) (problem, hint string)

// asText takes the word for text without its quotes.
func asText(word string) (problem, hint string) {
	return "there is nothing called " + word, fmt.Sprintf("text stands in quotes: %q", word)
}

// asNumber takes it for a number by name: pi.
func asNumber(word string) (problem, hint string) {
	return fmt.Sprintf("there is no number called %q", word), exact.NameHint(word)
}

// asWhole takes it for a whole number, which has no name.
func asWhole(word string) (problem, hint string) {
	return "there is nothing called " + word, "write a whole number: 7 or -7"
}

// letNamed is the let that a bare word means, nil, with a complaint, when there is
// none.
func (r *reader) letNamed(v *blocks.Value, bare func(string) bool, meant bareHint) *blocks.Attr {
	word, _ := v.Word()
	if a := r.lets[word]; a != nil {
		return a
	}
	if bare != nil && bare(word) {
		r.add(v.Error(word+" stands without quotes", fmt.Sprintf("write: %q", word)))
		return nil
	}
	problem, hint := meant(source.Printable(word))
	var names []string
	for _, b := range r.body.Of("let") {
		for _, a := range b.Body.Attrs {
			names = append(names, a.Name)
		}
	}
	names = names[:min(len(names), mostNames)]
	switch near, ok := source.Nearest(word, names); {
	case strings.HasPrefix(hint, "did you mean"):
	case ok:
		hint = fmt.Sprintf("did you mean %q?\n%s", near, hint)
	case len(names) > 0 && strings.HasPrefix(hint, "text"):
		hint = nearest(word, names, "") + "\n" + hint
	}
	r.add(v.Error(problem, hint))
	return nil
}

func fromLet[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	return unmarked(r, func() ([]T, bool) { return letMembers(r, v, k) })
}

func letMembers[T any](r *reader, v *blocks.Value, k *kind[T]) ([]T, bool) {
	a := r.letNamed(v, k.bareWords, k.bareHint())
	if a == nil {
		return nil, false
	}
	key := letKey{a.Name, k}
	m := r.made[key]
	if m == nil {
		m = &made{}
		r.made[key] = m
		out, ok, late := r.madeNow(func() (any, bool) { return members(r, a.Value, k) })
		m.members, m.ok, m.done = out, ok, true
		if late { // it is another one for another voice
			delete(r.made, key)
			r.late = true
		}
	}
	if !m.done {
		m.ok = r.add(v.Error(a.Name+" is made of itself", "a let may use other names, but not in a circle"))
		return nil, false
	}
	out, _ := m.members.([]T)
	return out, m.ok
}

// madeNow makes something and reports whether it depends on the voice that plays it.
func (r *reader) madeNow(make func() (any, bool)) (out any, ok, late bool) {
	outer := r.late
	r.late = false
	out, ok = make()
	late = r.late
	r.late = outer
	return out, ok, late
}
