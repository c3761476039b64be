// Package house holds the shape of the house to what ARCHITECTURE.md says: which
// package may know which.
package house

import (
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// only says of a package which others of the house it may import.
var only = map[string][]string{
	"exact":            {},
	"text/source":      {},
	"text/outfile":     {},
	"sound/pcm":        {},
	"sound/loudness":   {},
	"draw/typeface":    {},
	"music/tempo":      {"exact"},
	"music/piece":      {"exact", "text/source"},
	"text/blocks":      {"exact", "text/source"},
	"text/fields":      {"text/blocks", "exact", "text/source"},
	"text/shelf":       {"text/source"},
	"music/piecefile":  {"text/blocks", "exact", "music/piece", "text/source"},
	"music/perform":    {"exact", "music/piece", "text/source", "music/tempo"},
	"music/plan":       {"exact", "music/perform", "music/piece", "text/source"},
	"paper/instrument": {"text/blocks", "exact", "text/fields", "music/piece", "text/shelf", "text/source"},
	"paper/roll":       {"paper/instrument", "music/perform", "music/piece", "text/source"},
	"paper/inspect":    {"exact", "paper/instrument", "music/piece", "paper/roll", "text/source"},
	"sound":            {"sound/loudness", "music/perform"},
	"draw":             {"draw/typeface"},
}

// formats write or read files. None knows another, and of the house they know
// only what they write.
var formats = map[string][]string{
	"draw/pdf": {"draw", "draw/typeface"}, "draw/svg": {"draw", "draw/typeface"}, "draw/dxf": {"draw", "draw/typeface"}, "draw/png": {"draw"},
	"sound/wav": {"sound/pcm"}, "sound/flac": {"sound/pcm"},
	"music/midi":     {"music/perform", "music/piece", "text/source"},
	"paper/table":    {"paper/instrument", "music/perform", "music/piece", "paper/roll"},
	"music/musicxml": {"exact", "music/notation", "music/piece"},
	"making/nc":      {"making/bed", "making/machine"},
}

// knowing are the packages that may know everything.
var knowing = []string{"workshop", "web", "cmd/rollwright"}

// TestWhoKnowsWhom reads the import lines of every file that is not a test.
func TestWhoKnowsWhom(t *testing.T) {
	packages := imports(t, "../..")
	for name := range only {
		if _, ok := packages[name]; !ok {
			t.Errorf("there is no package %s", name)
		}
	}
	for name, known := range packages {
		allowed, bound := only[name]
		if format, ok := formats[name]; ok {
			allowed, bound = format, true
		}
		for _, other := range known {
			switch {
			case bound && !slices.Contains(allowed, other):
				t.Errorf("%s imports %s; it may import only %v", name, other, allowed)
			case strings.HasPrefix(other, "internal/") && !strings.HasPrefix(name, "internal/"):
				t.Errorf("%s imports %s, which is for tests alone", name, other)
			case slices.Contains(knowing, other) && !slices.Contains(knowing, name):
				t.Errorf("%s imports %s, which only the command and the page may", name, other)
			}
		}
	}
}

// imports are the packages of the house below root, each with those it imports.
func imports(t *testing.T, root string) map[string][]string {
	t.Helper()
	found := map[string][]string{}
	err := filepath.WalkDir(root, func(path string, entry os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if name := entry.Name(); name == "node_modules" || name == "tools" || name == ".git" {
				return filepath.SkipDir
			}
			return nil
		}
		if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		folder, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		return collect(found, filepath.ToSlash(folder), path)
	})
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func collect(found map[string][]string, name, path string) error {
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
	if err != nil {
		return err
	}
	list := found[name]
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			return err
		}
		if other, ok := strings.CutPrefix(imported, "rollwright/"); ok && !slices.Contains(list, other) {
			list = append(list, other)
		}
	}
	found[name] = list
	return nil
}
