// Package fields reads a tree of blocks into a struct, by a table that says of
// each attribute where it stands, how its value is written, and in which range
// it can be meant.
//
// Lengths become millimetres, times seconds; both are float64, rounded once from
// the exact number that the text states. Whatever is wrong is told at its place.
package fields

import (
	"slices"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Field is one attribute: where it stands and how its value is taken.
type Field[T any] struct {
	block, name string
	take        Take[T]
}

// At is the attribute of that name in a block, or at the top of the file when
// block is empty.
func At[T any](block, name string, take Take[T]) Field[T] { return Field[T]{block, name, take} }

// Take takes an attribute's value into the struct, or says what is wrong with
// it.
type Take[T any] func(into *T, a *blocks.Attr) *source.Error

// Table says what may stand in a file.
type Table[T any] struct {
	What   string // the file, in a complaint: "a bench"
	Fields []Field[T]
	// Others are the names in each block that are no field, those at the top
	// by "". A name that ends in " {" is a block, any other an attribute that
	// the owner of the table reads.
	Others map[string][]string
	// Several is the type of block that may stand several times, told apart by
	// labels. Every other stands once.
	Several string
}

// Given are the attributes that a file gives, by "block.name", and by ".name" at
// its top. Those of blocks that may stand several times are not among them.
type Given map[string]*blocks.Attr

// known are the names that may stand in a block of the given type.
func (t *Table[T]) known(block string) []string {
	names := slices.Clone(t.Others[block])
	for _, f := range t.Fields {
		if f.block == block {
			names = append(names, f.name)
		}
	}
	return names
}

// Read reads body into the struct and notes in given what is there. It hands
// every block that may stand in the file to other, after the block's fields,
// unless other is nil.
func (t *Table[T]) Read(body *blocks.Body, into *T, given Given, other func(*blocks.Block)) source.Errors {
	errs := t.block("", t.What, body, into, given)
	seen := map[string]bool{}
	for _, b := range body.Blocks {
		id := b.Type
		if b.Type == t.Several {
			id = strings.Join(append([]string{b.Type}, b.Labels...), " ")
		}
		if seen[id] {
			errs = append(errs, b.Error("a second "+source.Printable(id), "write one, with all its attributes"))
		}
		seen[id] = true
		if !slices.Contains(t.Others[""], b.Type+" {") {
			continue // Unknown has complained
		}
		errs = append(errs, t.block(b.Type, "a "+b.Type+" block", b.Body, into, given)...)
		if other != nil {
			other(b)
		}
	}
	return errs
}

func (t *Table[T]) block(kind, what string, body *blocks.Body, into *T, given Given) source.Errors {
	errs := body.Unknown(t.known(kind), what)
	for _, a := range body.Attrs {
		if kind == "" || kind != t.Several {
			given[kind+"."+a.Name] = a
		}
	}
	for _, f := range t.Fields {
		if a := body.Get(f.name); a != nil && f.block == kind {
			if err := f.take(into, a); err != nil {
				errs = append(errs, err)
			}
		}
	}
	return errs
}
