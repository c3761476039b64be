// Package shelf finds the text of a data file: one that comes with the program,
// by its name, or one of the user's, by its path.
package shelf

import (
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/text/infile"
	"rollwright/text/source"
)

// Shelf holds the files of one kind that come with the program.
type Shelf struct {
	Kind      string // before each error: "bench"
	Extension string // ends the name of every such file: ".bench"
	Builtin   fs.FS  // has each as builtin/NAME.bench
	Listed    []Listed
	MostBytes int // the longest file of a user that is read
}

// Listed is a built-in file as a list shows it; the title is that of the file.
type Listed struct{ Name, Title string }

// List are the built-in files in the order of a list.
func (s *Shelf) List() []Listed { return slices.Clone(s.Listed) }

// Names are the names of the built-in files in the order of a list.
func (s *Shelf) Names() []string {
	names := make([]string, len(s.Listed))
	for i, l := range s.Listed {
		names[i] = l.Name
	}
	return names
}

// Source is the text of the built-in file of that name. The error names the
// nearest, or all.
func (s *Shelf) Source(name string) ([]byte, error) {
	names := s.Names()
	if slices.Contains(names, name) {
		return fs.ReadFile(s.Builtin, "builtin/"+name+s.Extension)
	}
	hint := "built in are " + strings.Join(names, ", ")
	if near, ok := source.Nearest(name, names); ok {
		hint = "did you mean " + near + "?"
	}
	return nil, fmt.Errorf("%s: there is no %q; %s", s.Kind, source.Printable(name), hint)
}

// Open gives the bytes of the file at a path.
type Open func(path string) ([]byte, error)

// Find is the built-in file of that name, or the one at that path, which counts
// from dir when it is relative. Only what has the extension or a slash in it is
// a path. Further is the folder from which paths in the file itself count, empty
// for a built-in one. A nil open is ReadFile.
func (s *Shelf) Find(name, dir string, open Open) (f *source.File, further string, err error) {
	if !strings.HasSuffix(name, s.Extension) && !strings.ContainsAny(name, `/\`) {
		text, err := s.Source(name)
		return &source.File{Name: name + s.Extension, Text: text}, "", err
	}
	path := name
	if !filepath.IsAbs(path) {
		path = filepath.Join(dir, path)
	}
	if open == nil {
		open = s.ReadFile
	}
	text, err := open(path)
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", s.Kind, err)
	}
	return &source.File{Name: path, Text: text}, filepath.Dir(path), nil
}

// ReadFile is the bytes of the file at a path, at most MostBytes of them; more
// are an error.
func (s *Shelf) ReadFile(path string) ([]byte, error) {
	return infile.Read(path, s.MostBytes)
}
