package instrument

import (
	"embed"
	"slices"
	"strings"

	"rollwright/text/shelf"
)

//go:embed builtin/*.instrument
var builtin embed.FS

// onShelf are the built-in instruments in the order of a list.
var onShelf = &shelf.Shelf{Kind: "instrument", Extension: Extension, Builtin: builtin, MostBytes: 1_000_000,
	Listed: []Listed{
		{Name: "88-note", Title: "88-note roll, constant speed"},
		{Name: "88-note-spool", Title: "88-note roll, take-up spool"},
		{Name: "88-note-45", Title: "88-note roll, 45 rows to the inch"},
		{Name: "65-note", Title: "65-note roll, constant speed"},
		{Name: "65-note-spool", Title: "65-note roll, take-up spool"},
		{Name: "58-note", Title: "58-note roll of reed organs, constant speed"},
		{Name: "30-note-strip", Title: "strip of 30 notes, turned by hand"},
		{Name: "20-note-strip", Title: "strip of 20 notes, turned by hand"},
	}}

// Listed is a built-in instrument as a list shows it.
type Listed = shelf.Listed

// List are the built-in instruments.
func List() []Listed { return onShelf.List() }

// Source is the text of the built-in instrument of that name, to show or to
// copy. With like = "NAME" a file need say only what differs.
func Source(name string) ([]byte, error) { return onShelf.Source(name) }

// isBuiltin reports whether a text of that name is a built-in instrument's.
func isBuiltin(file string) bool {
	name, ok := strings.CutSuffix(file, Extension)
	return ok && slices.Contains(onShelf.Names(), name)
}
