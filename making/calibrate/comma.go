package calibrate

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// comma notes a reading whose decimals stand after a comma, and reports whether
// it is one.
func (r *reader) comma(a *blocks.Attr) bool {
	s, err := a.Str()
	if err != nil || !a.IsText() {
		return false
	}
	pointed, changed := fields.Pointed(s)
	if changed {
		r.commas = append(r.commas, a.Error(fields.DecimalPoint+pointed, ""))
	}
	return changed
}

// labelComma is comma for the number in a block's label.
func (r *reader) labelComma(b *blocks.Block) bool {
	pointed, changed := fields.Pointed(b.Label(0))
	if changed {
		r.commas = append(r.commas, b.Error(fields.DecimalPoint+pointed, ""))
	}
	return changed
}

// mostLines is how many lines a complaint names.
const mostLines = 8

// sayCommas complains about commas once, at the first: who writes one writes
// all readings so.
func (r *reader) sayCommas() {
	if len(r.commas) == 0 {
		return
	}
	slices.SortStableFunc(r.commas, func(a, b *source.Error) int {
		return cmp.Or(cmp.Compare(a.At.Line, b.At.Line), cmp.Compare(a.At.Column, b.At.Column))
	})
	first, others := r.commas[0], r.commas[1:]
	r.fail(first)
	if len(others) == 0 {
		return
	}
	var lines []string
	for _, e := range others[:min(len(others), mostLines)] {
		lines = append(lines, strconv.Itoa(e.At.Line))
	}
	where := "line "
	if len(lines) > 1 {
		where = "lines "
	}
	first.Hint = "commas stand also in " + where + strings.Join(lines, ", ")
	if more := len(others) - mostLines; more > 0 {
		first.Hint += fmt.Sprintf(" and %d more", more)
	}
}
