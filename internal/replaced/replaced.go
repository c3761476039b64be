// Package replaced puts something else in the place of an open journal, as other
// programs do, and finds where the work is kept then. It is for tests alone.
package replaced

import (
	"os"
	"regexp"

	"rollwright/making/journal"
)

// Ways are all ways in which another program can put something else in the place
// of the file at path: older is a text that lay there before. Deleted and Older are
// two of them.
var Ways = map[string]func(path string, older []byte) error{
	"moved away":            func(path string, _ []byte) error { return os.Rename(path, path+".away") },
	"deleted":               Deleted,
	"an older copy over it": Older,
	"older text in it":      func(path string, older []byte) error { return os.WriteFile(path, older, 0o644) },
	"an exact copy over it": func(path string, _ []byte) error {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		return Older(path, text)
	},
	"a letter changed": func(path string, _ []byte) error {
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		text[len(text)/2] ^= 1
		return os.WriteFile(path, text, 0o644)
	},
	"a folder in its place": func(path string, _ []byte) error {
		if err := os.Remove(path); err != nil {
			return err
		}
		return os.Mkdir(path, 0o755)
	},
	"a link to another": func(path string, older []byte) error {
		if err := os.WriteFile(path+".other", older, 0o644); err != nil {
			return err
		}
		if err := os.Remove(path); err != nil {
			return err
		}
		return os.Symlink(path+".other", path)
	},
}

// Deleted deletes the file.
func Deleted(path string, _ []byte) error { return os.Remove(path) }

// Older moves an older copy over the file.
func Older(path string, older []byte) error {
	if err := os.WriteFile(path+".new", older, 0o644); err != nil {
		return err
	}
	return os.Rename(path+".new", path)
}

var keptIn = regexp.MustCompile(`is kept in (\S+\.journal):`)

// KeptIn is the file that a message names as the one where all work is kept; empty
// where it names none.
func KeptIn(message string) string {
	if m := keptIn.FindStringSubmatch(message); m != nil {
		return m[1]
	}
	return ""
}

// Rows is how many rows a journal has.
func Rows(path string) (int, error) {
	state, err := journal.Read(path)
	if err != nil {
		return 0, err
	}
	along := map[float64]bool{}
	for _, h := range state.Holes() {
		along[h.AlongMM] = true
	}
	return len(along), nil
}
