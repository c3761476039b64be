package instrument

import (
	"embed"
	"slices"
)

//go:embed builtin/*.instrument
var builtin embed.FS

// names are the built-in instruments in the order of a list.
var names = []string{"88-note", "88-note-spool", "88-note-45", "65-note", "65-note-spool"}

// List are the names of the built-in instruments.
func List() []string { return slices.Clone(names) }

// Source is the text of a built-in instrument, and false when there is none of
// that name. With like = "NAME" a file need say only what differs.
func Source(name string) ([]byte, bool) {
	if !slices.Contains(names, name) {
		return nil, false
	}
	text, err := builtin.ReadFile("builtin/" + name + Extension)
	return text, err == nil
}
