package house

import (
	"go/ast"
	"go/constant"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// limitRow is a row of docs/limits.md whose bound is a number in the code.
var limitRow = regexp.MustCompile("(?m)^\\| .* \\| ([0-9,]+) \\| .* \\| `(\\w+)` in `(\\S+)` \\|$")

// sizes are constants that bound what is read: each has to stand in the table.
var sizes = regexp.MustCompile(`^(?i:max|most)(Bytes|TableBytes|Rows|Notes|Voices|Text|Pixels|Members)$`)

// notRead are constants that look like bounds of what is read, and are none.
var notRead = map[string]bool{
	"scan/crop/crop.go mostPixels":      true, // of a crop that is written
	"telling/show/strike.go mostNotes":  true, // that a sentence names
	"telling/figure/music.go mostNotes": true, // that a figure draws one by one
	"web/voices.go mostMembers":         true, // that the page shows
}

// TestLimits holds the table of limits to the code, and the code to the table.
func TestLimits(t *testing.T) {
	text, err := os.ReadFile("../../docs/limits.md")
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]string{}
	for _, m := range limitRow.FindAllStringSubmatch(string(text), -1) {
		listed[m[3]+" "+m[2]] = strings.ReplaceAll(m[1], ",", "")
	}
	if len(listed) < 40 {
		t.Fatalf("only %d limits are listed", len(listed))
	}
	found := map[string]string{}
	err = filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "node_modules" || d.Name() == "tools" || d.Name() == "internal" || d.Name() == "testdata") {
			return fs.SkipDir
		}
		if filepath.Ext(path) == ".go" && !strings.HasSuffix(path, "_test.go") {
			local, _ := filepath.Rel("../..", path)
			constants(t, path, func(name, value string) { found[filepath.ToSlash(local)+" "+name] = value })
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range listed {
		if got := found[key]; got != want && key != "workshop/bounds.go MostRollMM" {
			t.Errorf("%s is %q in the code and %s in docs/limits.md", key, got, want)
		}
	}
	for key := range found {
		_, name, _ := strings.Cut(key, " ")
		if _, ok := listed[key]; sizes.MatchString(name) && !ok && !notRead[key] {
			t.Errorf("%s stands not in docs/limits.md", key)
		}
	}
}

// constants yields the constants of a file whose values can be told from their
// own text.
func constants(t *testing.T, path string, yield func(name, value string)) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	file, err := parser.ParseFile(token.NewFileSet(), path, text, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range file.Decls {
		g, ok := d.(*ast.GenDecl)
		if !ok || g.Tok != token.CONST {
			continue
		}
		for _, spec := range g.Specs {
			v := spec.(*ast.ValueSpec)
			for i, name := range v.Names {
				if i >= len(v.Values) {
					continue
				}
				from, to := v.Values[i].Pos()-file.FileStart, v.Values[i].End()-file.FileStart
				value, err := types.Eval(token.NewFileSet(), nil, token.NoPos, string(text[from:to]))
				if err != nil || value.Value == nil {
					continue
				}
				yield(name.Name, constant.ToInt(value.Value).ExactString())
			}
		}
	}
}
