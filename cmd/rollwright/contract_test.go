package main

import (
	"bytes"
	"context"
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// asking asks for a speed, has what many voices have, and is heard as a canon.
const asking = `tempo = 120
voice "slow" {
  talea  = "3 2 2 (1) 2 2 1"
  color  = "C2 G2 C3 Bb2 F2 Eb2"
  extent = "80 notes"
}
voice "quick" {
  like  = "slow"
  transpose = 12
  speed = "?"
  meet {
    with   = "slow"
    mine   = "note 6"
    theirs = "note 40"
  }
  meet {
    at   = "20 s"
    mine = "end"
  }
}
`

// contractWords are the words of a promised command, its files made once.
func contractWords(t *testing.T) func(words string) []string {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	do := func(words ...string) []byte {
		t.Helper()
		var out, said bytes.Buffer
		if status := run(context.Background(), words, terminal{strings.NewReader(""), &out, &said}); status != exitDone {
			t.Fatalf("%v: status %d, %s", words, status, said.String())
		}
		return out.Bytes()
	}
	for name, text := range map[string]string{
		"a.piece":      "voice \"a\" {\n  talea = 1\n  color = \"C4 E4 G4 B4 D5\"\n  hold = 0.5\n}\n",
		"asking.piece": asking,
	} {
		if err := os.WriteFile(at(name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(at("found.csv"), do("holes", at("a.piece")), 0o644); err != nil {
		t.Fatal(err)
	}
	do("new", at("canon.piece"), "--example", "four-looms")
	do("write", at("canon.piece"), at("take.wav"), "--roll")
	return func(words string) []string {
		piece := "a.piece"
		switch command, _, _ := strings.Cut(words, " "); command {
		case "plan", "check", "find", "overhear":
			piece = "canon.piece"
		case "solve", "survey":
			piece = "asking.piece"
		}
		var list []string
		for _, w := range strings.Fields(strings.ReplaceAll(words, "x.csv", "- --as csv")) {
			switch w {
			case "FILE":
				w = at(piece)
			case "FOUND":
				w = at("found.csv")
			case "TAKE":
				w = at("take.wav")
			case "VOICE.speed":
				w = "quick.speed"
			case "RANGE":
				w = "2 to 9/4"
			}
			list = append(list, w)
		}
		return list
	}
}

// The columns that docs/contract.md promises are those that the commands print,
// and so are the members of their JSON; -update writes the latter.
func TestContract(t *testing.T) {
	const document = "../../docs/contract.md"
	text, err := os.ReadFile(document)
	if err != nil {
		t.Fatal(err)
	}
	wordsOf := contractWords(t)
	printed := func(promise string) string {
		var out, said bytes.Buffer
		status := run(context.Background(), wordsOf(promise), terminal{strings.NewReader(""), &out, &said})
		if status != exitDone {
			t.Errorf("%s: status %d, %s", promise, status, said.String())
		}
		return out.String()
	}
	promised := regexp.MustCompile("(?m)^`rollwright ([^`]*)`.*\n\n```csv\n(.*)\n```$").FindAllStringSubmatch(string(text), -1)
	if len(promised) != 6 {
		t.Errorf("the document promises %d tables", len(promised))
	}
	for _, p := range promised {
		if first, _, _ := strings.Cut(printed(p[1]), "\n"); first != p[2] {
			t.Errorf("%s prints\n%s\nand not\n%s", p[1], first, p[2])
		}
	}
	members := regexp.MustCompile("(?m)^`rollwright ([^`]*)`\n\n```members\n((?:.*\n)*?)```$")
	if n := len(members.FindAll(text, -1)); n != 6 {
		t.Errorf("the document promises the members of %d commands", n)
	}
	now := members.ReplaceAllStringFunc(string(text), func(block string) string {
		p := members.FindStringSubmatch(block)
		var answer any
		if err := json.Unmarshal([]byte(printed(p[1])), &answer); err != nil {
			t.Errorf("%s: %v", p[1], err)
		}
		found := map[string]bool{}
		membersOf("", answer, found)
		list := inLines(slices.Sorted(maps.Keys(found)))
		if !*update && list != p[2] {
			t.Errorf("%s has the members\n%snot\n%s", p[1], list, p[2])
		}
		return strings.Replace(block, "```members\n"+p[2], "```members\n"+list, 1)
	})
	if *update {
		if err := os.WriteFile(document, []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// membersOf gathers the ways to all values that have no members themselves.
func membersOf(way string, v any, found map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for name, inner := range v {
			membersOf(strings.TrimPrefix(way+"."+name, "."), inner, found)
		}
	case []any:
		if len(v) == 0 {
			found[way+"[]"] = true
		}
		for _, inner := range v {
			membersOf(way+"[]", inner, found)
		}
	default:
		found[way] = true
	}
}

// inLines is words in lines of at most 100 columns.
func inLines(words []string) string {
	var b strings.Builder
	column := 0
	for _, w := range words {
		switch {
		case column > 0 && column+1+len(w) > 100:
			b.WriteString("\n")
			column = 0
		case column > 0:
			b.WriteString(" ")
			column++
		}
		b.WriteString(w)
		column += len(w)
	}
	return b.String() + "\n"
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
