package piecefile

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Assign is the text of f with one attribute changed or added, as a command line says
// it: "quick.speed=7/5", "tempo=72" for the piece, "quick.tempo_path.leg.2.to=90" for
// a block inside a voice, a number after the type of block where there are several. The
// name is that of a voice, tune, canon, section or piano, the longest that fits; by type
// too, where a name is not enough: "section A.speed", "let.m".
//
// A value that is a number, a call, a list, the name of a let, or in quotes stands in the
// text as it is; anything else is put in quotes. The error says what there is no place
// for; whether the result is a piece, Parse has to say.
func Assign(f *source.File, assignment string) ([]byte, error) {
	body, errs := blocks.Parse(f, blocks.Options{})
	if err := errs.Err(); err != nil {
		return nil, err
	}
	if !strings.Contains(assignment, "=") {
		return nil, errors.New("what to set is NAME.ATTRIBUTE=VALUE: quick.speed=7/5, or tempo=72 for the piece")
	}
	targets := targetsOf(body, nil)
	var wrong error
	for at, c := range assignment {
		if c != '=' {
			continue
		}
		path, attr, err := targets.find(body, strings.TrimSpace(assignment[:at]))
		if err == nil {
			return blocks.Set(f.Text, path, attr, assigned(body, strings.TrimSpace(assignment[at+1:])))
		}
		if wrong == nil {
			wrong = err // of the first equals sign, which is the likely one
		}
	}
	return nil, wrong
}

// target is a block that has a name.
type target struct {
	kind, name string
	path       []string
	body       *blocks.Body
}

type targets []target

// targetsOf are the named blocks of a body and of its sections and canons.
func targetsOf(body *blocks.Body, above []string) targets {
	var out targets
	count := map[string]int{}
	for _, b := range body.Blocks {
		head := strings.Join(append([]string{b.Type}, b.Labels...), " ")
		count[head]++
		path := append(slices.Clone(above), fmt.Sprintf("%s[%d]", head, count[head]))
		if b.Label(0) != "" {
			out = append(out, target{b.Type, b.Label(0), path, b.Body})
		}
		if b.Type == "section" || b.Type == "canon" {
			out = append(out, targetsOf(b.Body, path)...)
		}
	}
	return out
}

// find is the way to an attribute: to the longest name that fits, or to a block of the
// piece without a name, or to the piece.
func (ts targets) find(body *blocks.Body, left string) (path []string, attr string, err error) {
	var best *target
	rest, length := "", -1
	for i := range ts {
		t := &ts[i]
		for _, called := range []string{t.name, t.kind + " " + t.name} {
			after, ok := strings.CutPrefix(left, called+".")
			if ok && (len(called) > length || len(called) == length && best.kind == "section") {
				best, rest, length = t, after, len(called)
			}
		}
	}
	if best != nil {
		return inside(best.path, best.body, rest, fmt.Sprintf("%s %q", best.kind, best.name))
	}
	if head, _, dotted := strings.Cut(left, "."); dotted && len(body.Of(head)) == 0 {
		var names []string
		for _, t := range ts {
			names = append(names, t.name)
		}
		return nil, "", fmt.Errorf("there is nothing called %q here; %s", source.Printable(head),
			nearest(head, names, "this piece has no names"))
	}
	return inside(nil, body, left, "the piece")
}

// inside goes from a block to the attribute at the end of rest, through the blocks that
// it names: tempo_path.leg.2.to.
func inside(path []string, body *blocks.Body, rest, where string) ([]string, string, error) {
	parts := strings.Split(rest, ".")
	for len(parts) > 1 {
		kind, n := parts[0], 1
		parts = parts[1:]
		if number, err := strconv.Atoi(parts[0]); err == nil && len(parts) > 1 {
			n, parts = number, parts[1:]
		}
		found := body.Of(kind)
		switch {
		case len(found) == 0:
			return nil, "", fmt.Errorf("%s has no block %s; write it first", where, source.Printable(kind))
		case n < 1 || n > len(found):
			return nil, "", fmt.Errorf("%s has no %s number %d", where, source.Printable(kind), n)
		}
		path = append(slices.Clone(path), fmt.Sprintf("%s[%d]", strings.Join(append([]string{kind}, found[n-1].Labels...),
			" "), indexOf(found, n-1)))
		body, where = found[n-1].Body, where+", "+kind
	}
	if !attrName.MatchString(parts[0]) {
		return nil, "", fmt.Errorf("%q is no attribute", source.Printable(parts[0]))
	}
	return path, parts[0], nil
}

// indexOf counts, from 1, the blocks up to i that have the same labels.
func indexOf(all []*blocks.Block, i int) int {
	n := 0
	for _, b := range all[:i+1] {
		if slices.Equal(b.Labels, all[i].Labels) {
			n++
		}
	}
	return n
}

var (
	attrName  = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_-]*$`)
	bareValue = regexp.MustCompile(`^(-?[0-9]+(\.[0-9]+)?(/[0-9]+)?|true|false|[a-z]+\(.*\)([*/][0-9a-z().]+)*|\[.*\]|".*")$`)
)

// assigned is a value as it stands in the text.
func assigned(body *blocks.Body, value string) string {
	if bareValue.MatchString(value) {
		return value
	}
	for _, b := range body.Of("let") {
		if b.Body.Get(value) != nil {
			return value
		}
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(value) + `"`
}
