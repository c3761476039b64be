package house

import (
	"go/scanner"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

// columns is the longest line that is read without turning the head; a tab counts
// as one. Tables, addresses and literals may be longer.
const columns = 120

// TestColumns holds Go, Markdown and scripts to the longest line.
func TestColumns(t *testing.T) {
	seen := 0
	err := filepath.WalkDir("../..", func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			switch d.Name() {
			case ".git", "node_modules", "testdata":
				return filepath.SkipDir
			}
			return nil
		}
		over := overlong(path)
		if over == nil {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		seen++
		for _, line := range over(string(text)) {
			t.Errorf("%s:%d has more than %d columns", strings.TrimPrefix(path, "../../"), line, columns)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 300 {
		t.Fatalf("only %d files were looked at", seen)
	}
}

// overlong is what counts the long lines of that kind of file; nil for others.
func overlong(path string) func(string) []int {
	switch dir := filepath.Base(filepath.Dir(path)); {
	case strings.HasSuffix(path, ".go"):
		return longGo
	case strings.HasSuffix(path, ".md"):
		return longMarkdown
	case strings.HasSuffix(path, ".sh"), dir == "scripts", dir == ".ci":
		return longLines
	}
	return nil
}

func long(line string) bool { return utf8.RuneCountInString(line) > columns }

// longLines are the numbers of the long lines without an address.
func longLines(text string) (found []int) {
	for i, line := range strings.Split(text, "\n") {
		if long(line) && !strings.Contains(line, "://") {
			found = append(found, i+1)
		}
	}
	return found
}

// longMarkdown leaves out what is written out in a fence, and tables.
func longMarkdown(text string) (found []int) {
	fence := false
	for i, line := range strings.Split(text, "\n") {
		switch {
		case strings.HasPrefix(strings.TrimSpace(line), "```"):
			fence = !fence
		case fence, strings.HasPrefix(strings.TrimSpace(line), "|"), strings.Contains(line, "]("):
		case long(line):
			found = append(found, i+1)
		}
	}
	return found
}

// longGo leaves out lines that are long by their literals, and rows of a table:
// lines that begin with a brace or, in a map, with a literal.
func longGo(text string) (found []int) {
	lines, output := strings.Split(text, "\n"), strings.Contains(text, "// Output:") // of an example
	width := make([]int, len(lines))                                                 // without the letters of literals
	rows := make([]bool, len(lines))
	for i, line := range lines {
		trimmed := strings.TrimSpace(line)
		if output && strings.HasPrefix(trimmed, "//") {
			continue
		}
		width[i] = utf8.RuneCountInString(line)
		rows[i] = strings.HasPrefix(trimmed, "{") || strings.HasPrefix(trimmed, `"`) || strings.HasPrefix(trimmed, "`")
	}
	var s scanner.Scanner
	file := token.NewFileSet().AddFile("", -1, len(text))
	s.Init(file, []byte(text), nil, 0)
	for {
		pos, kind, literal := s.Scan()
		if kind == token.EOF {
			break
		}
		if kind != token.STRING {
			continue
		}
		first := file.Line(pos) - 1
		for i, part := range strings.Split(literal, "\n") {
			width[first+i] -= utf8.RuneCountInString(part)
		}
	}
	for i, line := range lines {
		if width[i] > columns && !rows[i] && !strings.Contains(line, "://") {
			found = append(found, i+1)
		}
	}
	return found
}

// TestOverlong has a line of every kind, by hand.
func TestOverlong(t *testing.T) {
	filler := strings.Repeat("a", columns)
	for _, test := range []struct {
		name, path, text string
		long             int
	}{
		{"just fits", "x.md", filler, 0},
		{"one more", "x.md", filler + "a", 1},
		{"letters, not bytes", "x.md", strings.Repeat("é", columns), 0},
		{"a table", "x.md", "| " + filler + " |", 0},
		{"a fence", "x.md", "```\n" + filler + "a\n```\n", 0},
		{"after a fence", "x.md", "```\n```\n" + filler + "a", 1},
		{"a script", "scripts/x", "echo " + filler, 1},
		{"an address in a script", "scripts/x", "open https://" + filler, 0},
		{"a literal", "x.go", "package x\nvar a = \"" + filler + "\"", 0},
		{"text in backquotes", "x.go", "package x\nvar a = `\n" + filler + "a\n`", 0},
		{"code", "x.go", "package x\nvar " + filler + " = 1", 1},
		{"a comment", "x.go", "package x\n// " + filler, 1},
		{"a row", "x.go", "package x\nvar a = []int{\n{" + filler + "},\n}", 0},
	} {
		if got := len(overlong(test.path)(test.text)); got != test.long {
			t.Errorf("%s: %d long lines, want %d", test.name, got, test.long)
		}
	}
}
