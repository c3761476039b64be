package web

import (
	"errors"
	"regexp"
	"strings"

	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// The bounds of what is tried while somebody types: each try reads the text once more.
const (
	mostMended     = 8       // mistakes
	mostMendedText = 1 << 16 // bytes
)

// mends gives those complaints that say what to write the change that writes it:
// the first place in which it may be meant that leaves the text with fewer mistakes
// and without this one.
func mends(text string, o *offsets, all []complaint) {
	if len(text) > mostMendedText {
		return
	}
	for i := range all[:min(len(all), mostMended)] {
		c := &all[i]
		if c.File != "" || c.Line == 0 {
			continue
		}
		before := mistakes([]byte(text))
		for line := range strings.Lines(c.Hint) {
			x, ok := strings.CutPrefix(strings.TrimSpace(line), "write: ")
			if !ok || c.Mend != nil {
				continue
			}
			for _, out := range meant(text, c, o, x) {
				after := mistakes([]byte(out))
				if len(after) < len(before) && !has(after, c) {
					mend := spliceOf(text, out)
					mend.Label, mend.Text = x, ""
					c.Mend = &mend
					break
				}
			}
		}
	}
}

func has(errs source.Errors, c *complaint) bool {
	for _, e := range errs {
		if e.Problem == c.Problem && e.At.Line == c.Line {
			return true
		}
	}
	return false
}

var assignment = regexp.MustCompile(`^[a-z_A-Z0-9]+ += `)

// meant are the texts with x where a hint may mean it: in place of what is marked, of
// the quoted text around that, of the attribute, or of the head of a block.
func meant(text string, c *complaint, o *offsets, x string) []string {
	from := o.byteOf(source.Pos{Line: c.Line, Column: c.Column})
	to := o.byteOf(source.Pos{Line: c.Line, Column: c.Column + c.Width})
	start := strings.LastIndexByte(text[:from], '\n') + 1
	end := len(text)
	if n := strings.IndexByte(text[from:], '\n'); n >= 0 {
		end = from + n
	}
	line := text[start:end]
	indent := line[:len(line)-len(strings.TrimLeft(line, " \t"))]
	with := func(a int, in string, b int) string { return text[:a] + in + text[b:] }
	switch {
	case strings.HasSuffix(x, "{"):
		return []string{with(start, indent+x+line[strings.LastIndex(line, "{")+1:], end), with(from, x, to)}
	case strings.HasSuffix(x, "}"):
		return []string{with(start, indent+x, end)}
	case assignment.MatchString(x):
		var out []string
		if strings.HasSuffix(strings.TrimRight(line, " \r"), "{") {
			out = append(out, with(end, "\n"+indent+"  "+x, end)) // what a block lacks
		}
		return append(out, with(start, indent+x, end))
	}
	out := []string{with(from, x, to)}
	open, shut := strings.LastIndexByte(text[start:from], '"'), strings.IndexByte(text[to:end], '"')
	if open >= 0 && shut >= 0 {
		out = append(out, with(start+open, x, to+shut+1), with(start+open+1, x, to+shut))
	}
	return out
}

// empty reports whether nothing is wrong with a text but that no voice is in it yet.
func empty(text string, err error) bool {
	var all source.Errors
	if !errors.As(err, &all) || len(all) != 1 || all[0].At.Known() || len(mistakes([]byte(text))) != 1 {
		return false // of a text that can be read, it is something else
	}
	_, err = piecefile.Parse(&source.File{Text: []byte(text + "\nvoice \"a\" {\n  talea = \"1\"\n  color = \"C4\"\n}\n")})
	return err == nil
}
