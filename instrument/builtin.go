package instrument

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"rollwright/source"
)

//go:embed builtin/*.instrument
var builtin embed.FS

// Listed is a built-in instrument as a list shows it.
type Listed struct {
	Name, Title string
}

// listed are the built-in instruments in the order of a list; the titles are
// those of their files.
var listed = []Listed{
	{"88-note", "88-note roll, constant speed"},
	{"88-note-spool", "88-note roll, take-up spool"},
	{"88-note-45", "88-note roll, 45 rows to the inch"},
	{"65-note", "65-note roll, constant speed"},
	{"65-note-spool", "65-note roll, take-up spool"},
}

// List are the built-in instruments.
func List() []Listed { return slices.Clone(listed) }

// Source is the text of the built-in instrument of that name, to show or to
// copy. With like = "NAME" a file need say only what differs.
func Source(name string) ([]byte, error) {
	if slices.Contains(names(), name) {
		return builtin.ReadFile("builtin/" + name + Extension)
	}
	hint := "built in are " + strings.Join(names(), ", ")
	if near, ok := source.Nearest(name, names()); ok {
		hint = "did you mean " + near + "?"
	}
	return nil, fmt.Errorf("instrument: there is no %q; %s", name, hint)
}

// isBuiltin reports whether a text of that name is a built-in instrument's.
func isBuiltin(file string) bool {
	name, ok := strings.CutSuffix(file, Extension)
	return ok && slices.Contains(names(), name)
}

func names() []string {
	out := make([]string, len(listed))
	for i, l := range listed {
		out[i] = l.Name
	}
	return out
}
