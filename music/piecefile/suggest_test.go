package piecefile

import (
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"rollwright/text/source"
)

// A hint that says "write: X" is followed to the letter, and then the complaint
// must be gone, without a new one about the same lines. X is put where a person
// would put it: in place of what is marked, of the quoted text around that, of the
// attribute, of the whole line, or of the head of a block.
func TestSuggestionsAreAccepted(t *testing.T) {
	tried := 0
	for _, path := range corpus(t, "testdata/invalid/*.piece") {
		f := load(t, path)
		_, err := Parse(f)
		errs, _ := err.(source.Errors)
		for _, e := range errs {
			for _, x := range suggested(e) {
				tried++
				if why := followed(f, e, errs, x); why != "" {
					t.Errorf("%s: %s\n  following %q gives: %s", filepath.Base(path), e.First(), x, why)
				}
			}
		}
	}
	if tried < 60 {
		t.Errorf("only %d suggestions", tried)
	}
}

// suggested are the texts that a hint says to write.
func suggested(e *source.Error) []string {
	var out []string
	for line := range strings.Lines(e.Hint) {
		if x, ok := strings.CutPrefix(strings.TrimSpace(line), "write: "); ok {
			out = append(out, x)
		}
	}
	return out
}

// followed is empty when x, put in one of the places where it may be meant,
// leaves no complaint about its line but those that were there before.
func followed(f *source.File, e *source.Error, before source.Errors, x string) string {
	why := "no place to put it"
	for _, text := range edits(f, e, x) {
		if why = stillWrong(&source.File{Name: f.Name, Text: []byte(text)}, e, before); why == "" {
			return ""
		}
	}
	return why
}

func stillWrong(f *source.File, e *source.Error, before source.Errors) string {
	_, err := Parse(f)
	errs, _ := err.(source.Errors)
	for _, after := range errs {
		known := slices.ContainsFunc(before, func(b *source.Error) bool {
			return b != e && b.Problem == after.Problem && b.At.Line == after.At.Line
		})
		if after.At.Line == e.At.Line && !known {
			return after.Error()
		}
	}
	return ""
}

var attribute = regexp.MustCompile(`^[a-z_A-Z0-9]+ += `)

// edits are the texts in which x stands where it may be meant.
func edits(f *source.File, e *source.Error, x string) []string {
	lines := strings.SplitAfter(string(f.Text), "\n")
	n := e.At.Line - 1
	line := strings.TrimRight(lines[n], "\r\n")
	end := lines[n][len(line):]
	from := byteAt(line, e.At.Column-1)
	to := byteAt(line, e.At.Column-1+max(e.Width, 1))
	with := func(line string) string {
		return strings.Join(lines[:n], "") + line + end + strings.Join(lines[n+1:], "")
	}
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	var out []string
	switch {
	case strings.HasSuffix(x, "{"):
		return []string{with(indent + x + line[strings.LastIndex(line, "{")+1:]), with(line[:from] + x + line[to:])}
	case strings.HasSuffix(x, "}"):
		return []string{with(indent + x)}
	case attribute.MatchString(x):
		if strings.HasSuffix(strings.TrimRight(line, " "), "{") {
			out = append(out, with(line+"\n"+indent+"  "+x)) // what a block lacks
		}
		return append(out, with(indent+x))
	}
	out = append(out, with(line[:from]+x+line[to:]))
	if open, close := strings.LastIndexByte(line[:from], '"'), strings.IndexByte(line[to:], '"'); open >= 0 && close >= 0 {
		out = append(out, with(line[:open]+x+line[to+close+1:]), with(line[:open+1]+x+line[to+close:]))
	}
	return out
}

// byteAt is the byte at which character n of line begins.
func byteAt(line string, n int) int {
	at := 0
	for range n {
		_, size := utf8.DecodeRuneInString(line[at:])
		at += size
	}
	return min(at, len(line))
}
