package blocks

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"rollwright/text/source"
)

// Set is text with one attribute changed or added, every other byte as it was.
//
// The path leads from the whole text, which is the empty path, to the block:
// each step is a type and its labels ("voice low", "meet"), and a number in
// brackets where several blocks answer to it ("leg[2]", from 1). The value is
// written as it has to stand in the file: "C2 G2" with its quotes, 3/7.
//
// A new attribute comes after the last one of its block, on a line of its own,
// indented and aligned as the lines before it. The result is read again: an
// error, and no text, when anything but the attribute would change its meaning.
func Set(text []byte, path []string, attr, value string) ([]byte, error) {
	body, err := find(text, path)
	if err != nil {
		return nil, err
	}
	var out []byte
	if a := body.Get(attr); a != nil {
		out = splice(text, a.Value.Start, a.Value.End, value)
	} else {
		out = body.insert(text, attr, value)
	}
	return verified(text, out, path, attr, value)
}

// Remove is text without the attribute and its line, every other byte as it
// was. An attribute that is not there is not an error.
func Remove(text []byte, path []string, attr string) ([]byte, error) {
	body, err := find(text, path)
	if err != nil {
		return nil, err
	}
	a := body.Get(attr)
	if a == nil {
		return bytes.Clone(text), nil
	}
	start, end := a.Start, a.End
	lineStart := bytes.LastIndexByte(text[:start], '\n') + 1
	next := nextLine(text, end)
	rest := bytes.TrimSpace(text[end:next])
	if len(bytes.Trim(text[lineStart:start], " \t\ufeff")) == 0 &&
		(len(rest) == 0 || rest[0] == '#' || bytes.HasPrefix(rest, []byte("//"))) {
		if bytes.HasPrefix(text[lineStart:], []byte("\ufeff")) {
			lineStart += len("\ufeff")
		}
		start, end = lineStart, next
	}
	out := splice(text, start, end, "")
	return verified(text, out, path, attr, "")
}

func splice(text []byte, start, end int, value string) []byte {
	out := make([]byte, 0, len(text)+len(value))
	out = append(out, text[:start]...)
	out = append(out, value...)
	return append(out, text[end:]...)
}

// find reads text and follows path.
func find(text []byte, path []string) (*Body, error) {
	body, errs := Parse(&source.File{Text: text}, Options{})
	if err := errs.Err(); err != nil {
		return nil, err
	}
	for _, step := range path {
		next, err := body.step(step)
		if err != nil {
			return nil, err
		}
		body = next
	}
	return body, nil
}

// step is the body of the block that the step of a path names.
func (b *Body) step(step string) (*Body, error) {
	name, nth := step, 1
	if open := strings.LastIndexByte(step, '['); open > 0 && strings.HasSuffix(step, "]") {
		if n, err := strconv.Atoi(step[open+1 : len(step)-1]); err == nil {
			name, nth = step[:open], n
		}
	}
	for _, block := range b.Blocks {
		if strings.Join(append([]string{block.Type}, block.Labels...), " ") != name {
			continue
		}
		if nth--; nth == 0 {
			return block.Body, nil
		}
	}
	return nil, fmt.Errorf("there is no block %s", source.Printable(step))
}

// insert is text with a new attribute in b.
func (b *Body) insert(text []byte, attr, value string) []byte {
	eol := "\n"
	if bytes.Contains(text, []byte("\r\n")) {
		eol = "\r\n"
	}
	if b.end == len(text) && b.start <= len("\ufeff") {
		return b.insertTop(text, attr, value, eol)
	}
	if b.inline(text) {
		return b.unfold(text, attr, value, eol)
	}
	at := nextLine(text, b.start) // the line after the opening brace
	indent := lineIndent(text, b.start) + "  "
	padded := attr
	if n := len(b.Attrs); n > 0 {
		last := b.Attrs[n-1]
		at = nextLine(text, last.End)
		indent = lineIndent(text, last.Start)
		padded = b.padded(text, last, attr)
	} else if len(b.Blocks) > 0 {
		indent = lineIndent(text, b.Blocks[0].Start)
	}
	return splice(text, at, at, indent+padded+" = "+value+eol)
}

// insertTop adds a line to the top of a file: after its last attribute, else
// before the first block and the remarks that stand directly above it.
func (b *Body) insertTop(text []byte, attr, value, eol string) []byte {
	if n := len(b.Attrs); n > 0 {
		last := b.Attrs[n-1]
		at := nextLine(text, last.End)
		line := b.padded(text, last, attr) + " = " + value
		if at == len(text) && !bytes.HasSuffix(text, []byte("\n")) {
			return splice(text, at, at, eol+line)
		}
		return splice(text, at, at, line+eol)
	}
	at, line := b.start, attr+" = "+value+eol
	if len(b.Blocks) > 0 {
		at = b.aboveRemarks(text, b.Blocks[0].Start)
		line += eol
	}
	return splice(text, at, at, line)
}

// aboveRemarks is the start of the line of offset, or of the remarks directly
// above that line.
func (b *Body) aboveRemarks(text []byte, offset int) int {
	at := bytes.LastIndexByte(text[:offset], '\n') + 1
	for at > b.start {
		above := bytes.LastIndexByte(text[:at-1], '\n') + 1
		line := bytes.TrimLeft(text[above:at], " \t")
		if !bytes.HasPrefix(line, []byte("#")) && !bytes.HasPrefix(line, []byte("//")) {
			break
		}
		at = above
	}
	return max(at, b.start)
}

// inline reports whether the body has no line of its own.
func (b *Body) inline(text []byte) bool {
	return bytes.IndexByte(text[b.start:b.end], '\n') < 0
}

// unfold writes a block that stands on one line over several.
func (b *Body) unfold(text []byte, attr, value, eol string) []byte {
	outer := lineIndent(text, b.start)
	inner := outer + "  "
	inside := ""
	if written := strings.TrimSpace(string(text[b.start:b.end])); written != "" {
		inside = inner + written + eol
	}
	return splice(text, b.start, b.end, eol+inside+inner+attr+" = "+value+eol+outer)
}

// padded is the name with blanks after it, where the line of the last
// attribute has its = further right.
func (b *Body) padded(text []byte, last *Attr, attr string) string {
	gap := bytes.IndexByte(text[last.Start:last.Value.Start], '=')
	return attr + strings.Repeat(" ", max(gap-1-len(attr), 0))
}

// lineIndent is the blanks at the start of the line of offset.
func lineIndent(text []byte, offset int) string {
	line := bytes.TrimPrefix(text[bytes.LastIndexByte(text[:offset], '\n')+1:offset], []byte("\ufeff"))
	return string(line[:len(line)-len(bytes.TrimLeft(line, " \t"))])
}

// errChanges is for a value that would change more than its attribute.
var errChanges = errors.New("this value would change more than its attribute; text needs quotes, and a list its brackets")

// verified is the edited text, or nothing when it means anything else.
func verified(before, after []byte, path []string, attr, value string) ([]byte, error) {
	if err := verify(before, after, path, attr, value); err != nil {
		return nil, err
	}
	return after, nil
}

// verify reads the edited text and holds it against the old one: all
// attributes the same but for the one that was set, or for an empty value
// removed.
func verify(before, after []byte, path []string, attr, value string) error {
	target := strings.Join(canonical(path), "/") + "/" + attr
	old, _ := Parse(&source.File{Text: before}, Options{})
	now, errs := Parse(&source.File{Text: after}, Options{})
	if err := errs.Err(); err != nil {
		return err
	}
	was, is := map[string]string{}, map[string]string{}
	old.flatten("", was)
	now.flatten("", is)
	if value == "" {
		delete(was, target)
	} else {
		was[target] = value
	}
	if len(was) != len(is) {
		return errChanges
	}
	for name, v := range was {
		if got, ok := is[name]; !ok || got != v {
			return errChanges
		}
	}
	return nil
}

// canonical writes out the number of every step.
func canonical(path []string) []string {
	out := make([]string, len(path))
	for i, step := range path {
		out[i] = step
		if !strings.HasSuffix(step, "]") {
			out[i] = step + "[1]"
		}
	}
	return out
}

// flatten adds every attribute under its path, and every block, to into.
func (b *Body) flatten(path string, into map[string]string) {
	for _, a := range b.Attrs {
		into[path+"/"+a.Name] = a.Raw()
	}
	count := map[string]int{}
	for _, block := range b.Blocks {
		name := strings.Join(append([]string{block.Type}, block.Labels...), " ")
		count[name]++
		inner := fmt.Sprintf("%s[%d]", name, count[name])
		if path != "" {
			inner = path + "/" + inner
		}
		into[inner] = ""
		block.Body.flatten(inner, into)
	}
}
