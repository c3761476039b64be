// Package house holds the shape of the house to what ARCHITECTURE.md says: which
// package may know which.
package house

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// order is every package of the house: each may import only those above it, so
// the imports run one way and never in a circle. A new package goes in where what
// it needs stands above it and what needs it below.
var order = []string{
	"exact",

	"text/source", "text/choice", "text/infile", "text/outfile", "text/shelf", "text/blocks", "text/draft", "text/fields",
	"text/words", "text/say", "text/cell",

	"draw/typeface", "draw", "draw/raster", "draw/pdf", "draw/svg", "draw/dxf", "draw/png",

	"music/pitch", "music/event", "music/tempo", "music/solve", "music/simple", "music/piece", "music/piecefile",
	"music/perform", "music/plan",
	"music/find", "music/ear", "music/notation", "music/midi", "music/musicxml",
	"music/transcribe",

	"sound/loudness", "sound/pcm", "sound/wav", "sound/flac", "sound/take", "sound", "sound/player",
	"sound/internal/benchmain",

	"paper/instrument", "paper/roll", "paper/tear", "paper/lay", "paper/inspect", "paper/strip", "paper/survey", "paper/spools", "paper/edition",
	"paper/sheet", "paper/table",

	"scan/row", "scan/read", "scan/report", "scan/proof", "scan/overhear",

	"making/bench", "making/worksheet", "making/labels", "making/journal", "making/punching", "making/price",
	"making/machine", "making/bed", "making/nc", "making/plot", "making/calibrate",

	"scan/repair", "scan/places", "scan/crop",

	"telling/onpage", "telling/whatif", "telling/whatif/engine", "telling/engrave", "telling/figure", "telling/vtt",
	"telling/film", "telling/show",

	"examples", "notices", "workshop", "web", "cmd/rollwright",

	"internal/judge", "internal/long", "internal/flicker", "internal/pixels", "internal/chromium", "internal/drawcases", "internal/rollcases",
	"internal/soundfigures", "internal/scancase", "internal/hall", "internal/replaced",
}

// only says of the packages that others lean on, and of formats, which others of
// the house they may import: narrower than the order. No format knows another.
var only = map[string][]string{
	"exact":           {},
	"text/source":     {},
	"text/infile":     {},
	"text/cell":       {},
	"text/outfile":    {"text/infile"},
	"text/shelf":      {"text/infile", "text/source"},
	"text/blocks":     {"exact", "text/source"},
	"text/draft":      {"text/source"},
	"text/fields":     {"exact", "text/blocks", "text/source"},
	"draw/typeface":   {},
	"draw":            {"draw/typeface"},
	"draw/pdf":        {"draw", "draw/typeface"},
	"draw/svg":        {"draw", "draw/typeface"},
	"draw/dxf":        {"draw", "draw/typeface"},
	"draw/raster":     {"draw"},
	"draw/png":        {"draw", "draw/raster"},
	"music/pitch":     {},
	"music/event":     {},
	"music/tempo":     {"exact"},
	"music/solve":     {"exact"},
	"music/piece":     {"exact", "music/pitch", "text/source"},
	"music/piecefile": {"exact", "music/piece", "music/pitch", "text/blocks", "text/draft", "text/say", "text/source"},
	"music/perform": {"exact", "music/event", "music/piece", "music/pitch", "music/solve", "music/tempo",
		"text/source"},
	"music/plan":       {"exact", "music/event", "music/perform", "music/piece", "text/say", "text/source"},
	"music/midi":       {"music/event", "music/perform", "music/piece", "text/source"},
	"music/musicxml":   {"exact", "music/notation", "music/piece", "music/pitch"},
	"sound":            {"music/event", "sound/loudness"},
	"sound/loudness":   {},
	"sound/pcm":        {},
	"sound/wav":        {"sound/pcm"},
	"sound/flac":       {"sound/pcm"},
	"sound/take":       {"sound/flac", "sound/wav", "text/infile"},
	"paper/instrument": {"exact", "music/pitch", "text/blocks", "text/fields", "text/shelf", "text/source"},
	"paper/roll":       {"music/event", "paper/instrument"},
	"paper/lay":        {"music/event", "music/perform", "music/piece", "paper/instrument", "paper/roll", "text/source"},
	"paper/table":      {"text/cell", "music/event", "music/pitch", "paper/instrument", "paper/roll", "text/source"},
	"scan/proof":       {"paper/instrument", "paper/roll", "text/cell"},
	"scan/row":         {"text/infile"},
	"scan/read":        {"paper/instrument", "paper/roll", "scan/row", "text/choice", "text/infile", "text/say"},
	"scan/report":      {"scan/read", "scan/row"},
	"making/nc":        {"making/bed", "making/machine"},
}

// groups says of each group which others it may import, as its README does; what
// belongs to none may import all that stands above it.
var groups = map[string][]string{
	"text":    {"exact"},
	"draw":    {},
	"music":   {"exact", "text"},
	"sound":   {"music", "text"},
	"paper":   {"exact", "text", "draw", "music"},
	"making":  {"exact", "text", "draw", "music", "paper"},
	"scan":    {"exact", "text", "draw", "music", "sound", "paper", "making"},
	"telling": {"exact", "text", "draw", "music", "sound", "paper"},
}

// groupOf is the first part of a package's path.
func groupOf(name string) string {
	group, _, _ := strings.Cut(name, "/")
	return group
}

// TestGroups: every group says in a README what belongs in it, and imports no
// other than it may.
func TestGroups(t *testing.T) {
	for group := range groups {
		if _, err := os.Stat(filepath.Join("../..", group, "README.md")); err != nil {
			t.Errorf("group %s: %v", group, err)
		}
	}
	for name, known := range imports(t, "../..") {
		may, ok := groups[groupOf(name)]
		for _, other := range known {
			if to := groupOf(other); ok && to != groupOf(name) && !slices.Contains(may, to) {
				t.Errorf("%s imports %s; the group %s may import only %v", name, other, groupOf(name), may)
			}
		}
	}
}

// TestWhoKnowsWhom reads the import lines of every file that is not a test.
func TestWhoKnowsWhom(t *testing.T) {
	packages := imports(t, "../..")
	for _, name := range append(order, slices.Collect(maps.Keys(only))...) {
		if _, ok := packages[name]; !ok {
			t.Errorf("there is no package %s", name)
		}
	}
	for name, known := range packages {
		at := slices.Index(order, name)
		if at < 0 {
			t.Errorf("package %s has no place in the order", name)
			continue
		}
		allowed, bound := only[name]
		for _, other := range known {
			switch {
			case bound && !slices.Contains(allowed, other):
				t.Errorf("%s imports %s; it may import only %v", name, other, allowed)
			case !slices.Contains(order[:at], other):
				t.Errorf("%s imports %s, which does not stand above it", name, other)
			case strings.HasPrefix(other, "internal/") && !strings.HasPrefix(name, "internal/"):
				t.Errorf("%s imports %s, which is for tests alone", name, other)
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

// flag is an option as the command calls it.
var flag = regexp.MustCompile(`(^|[ (])--[a-z]`)

// forCommand is the one text below the command that is for its user alone: the head of
// a file of readings, which says what to type when it is filled in.
const forCommand = "# Readings of the test roll"

// TestNoFlagsBelowTheCommand: what lies below the command has no words of its
// command line in any text; it names options in braces (package choice).
func TestNoFlagsBelowTheCommand(t *testing.T) {
	err := filepath.WalkDir("../..", func(path string, entry os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() && slices.Contains([]string{"cmd", "tools", "internal", "node_modules", ".git", "testdata"},
			entry.Name()) {
			return filepath.SkipDir
		}
		if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, 0)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if text, ok := n.(*ast.BasicLit); ok && text.Kind == token.STRING && flag.MatchString(text.Value) &&
				!strings.Contains(text.Value, forCommand) {
				t.Errorf("%s: %s", set.Position(text.Pos()), text.Value)
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
