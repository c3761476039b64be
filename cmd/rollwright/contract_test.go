package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The columns that docs/contract.md promises are those that the commands print.
func TestContractColumns(t *testing.T) {
	text, err := os.ReadFile("../../docs/contract.md")
	if err != nil {
		t.Fatal(err)
	}
	piece := filepath.Join(t.TempDir(), "a.piece")
	if err := os.WriteFile(piece, []byte("voice \"a\" {\n  talea = 1\n  color = \"C4\"\n}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	promised := regexp.MustCompile("(?m)^`rollwright ([^`]*)`.*\n\n```csv\n(.*)\n```$").FindAllStringSubmatch(string(text),
		-1)
	if len(promised) < 4 {
		t.Fatalf("the document promises %d tables", len(promised))
	}
	for _, p := range promised {
		words := strings.ReplaceAll(strings.ReplaceAll(p[1], "FILE", piece), "x.csv", "- --as csv")
		var out, said bytes.Buffer
		if status := run(context.Background(), strings.Fields(words),
			terminal{strings.NewReader(""), &out, &said}); status != exitDone {
			t.Errorf("%s: status %d, %s", p[1], status, said.String())
		}
		if first, _, _ := strings.Cut(out.String(), "\n"); first != p[2] {
			t.Errorf("%s prints\n%s\nand not\n%s", p[1], first, p[2])
		}
	}
}

// A usage error is two lines: what is wrong, and where the words are explained.
func TestUsageErrorsAreShort(t *testing.T) {
	for _, words := range []string{"wrte", "write x.piece y.pdf --nmes", "calibrate roll", "plan"} {
		var out, said bytes.Buffer
		status := run(context.Background(), strings.Fields(words), terminal{strings.NewReader(""), &out, &said})
		if lines := strings.Count(said.String(), "\n"); status != exitUsage || lines != 2 || out.Len() > 0 {
			t.Errorf("%s: status %d, %d lines\n%s", words, status, lines, said.String())
		}
	}
}

// Standard output holds one file, and says so where there would be several.
func TestStandardOutput(t *testing.T) {
	piece := filepath.Join(t.TempDir(), "a.piece")
	text := "piano \"left\" {}\npiano \"right\" {}\nvoice \"a\" {\n  talea = 1\n  color = \"C4\"\n}\n"
	if err := os.WriteFile(piece, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		words  string
		status int
		out    string // it begins with
		said   string
	}{
		{"write FILE - --as pdf --piano left", exitDone, "%PDF-", ""},
		{"write FILE - --as .mid", exitDone, "MThd", ""},
		{"write FILE - --as pdf", exitFailed, "", "the output is 2 files and standard output holds one"},
		{"write FILE -", exitUsage, "", "say the format with --as"},
		{"write FILE x.pdf --as pdf", exitUsage, "", "--as is for standard output"},
		{"write FILE - x.pdf --as pdf", exitUsage, "", "name - alone"},
	} {
		var out, said bytes.Buffer
		words := strings.Fields(strings.ReplaceAll(c.words, "FILE", piece))
		status := run(context.Background(), words, terminal{strings.NewReader(""), &out, &said})
		if status != c.status || !strings.HasPrefix(out.String(), c.out) || c.out == "" && out.Len() > 0 ||
			!strings.Contains(said.String(), c.said) {
			t.Errorf("%s: status %d, %.20q, %s", c.words, status, out.String(), said.String())
		}
	}
}
