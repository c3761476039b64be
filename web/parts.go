package web

import (
	"bytes"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"rollwright/text/blocks"
	"rollwright/text/source"
)

// editing is a request for several changes of a text that belong together: they are one
// splice, which undo takes back as one.
type editing struct {
	Text  string `json:"text"`
	Edits []step `json:"edits"`
}

// step is one of them. Its path leads to a block, as /api/set has it.
type step struct {
	Do    string   `json:"do"` // set, add, drop or name
	Path  []string `json:"path"`
	Attr  string   `json:"attr"`  // set
	Value *string  `json:"value"` // set: null takes the attribute away; name: what the block is called from now on
	Block string   `json:"block"` // add: the whole block, not indented, at the end of the block of the path
}

// edit makes changes one after the other, each in the text that the one before has left.
func (s *Server) edit(_ context.Context, in editing) (splice, error) {
	if err := checkLength(in.Text); err != nil {
		return splice{}, err
	}
	text := []byte(in.Text)
	for _, e := range in.Edits {
		var err error
		if text, err = e.made(text); err != nil {
			return unwritable(err), nil
		}
	}
	return spliceOf(in.Text, string(text)), nil
}

func (e *step) made(text []byte) ([]byte, error) {
	switch {
	case e.Do == "set" && e.Value == nil:
		out, err := blocks.Remove(text, e.Path, e.Attr)
		if err != nil {
			return nil, err
		}
		return dropEmpty(out, e.Path), nil
	case e.Do == "set":
		return assign(text, e.Path, e.Attr, strings.TrimSpace(*e.Value))
	case e.Do == "add":
		return addBlock(text, e.Path, e.Block)
	case e.Do == "drop":
		return dropBlock(text, e.Path)
	case e.Do == "name" && e.Value != nil:
		return renamed(text, e.Path, strings.TrimSpace(*e.Value))
	}
	return nil, fmt.Errorf("there is nothing to do like %q", source.Printable(e.Do))
}

// blockIn is the body of a text, and the block at a path; nil for the text itself.
func blockIn(text []byte, path []string) (*blocks.Body, *blocks.Block, error) {
	body, errs := blocks.Parse(&source.File{Text: text}, blocks.Options{})
	if err := errs.Err(); err != nil {
		return nil, nil, err
	}
	if len(path) == 0 {
		return body, nil, nil
	}
	b := blockAt(body, path)
	if b == nil {
		return nil, nil, fmt.Errorf("there is no block %s", source.Printable(path[len(path)-1]))
	}
	return body, b, nil
}

// addBlock writes a block at the end of another one, or of the text.
func addBlock(text []byte, path []string, block string) ([]byte, error) {
	own := strings.TrimSpace(block)
	if _, errs := blocks.Parse(&source.File{Text: []byte(own + "\n")}, blocks.Options{}); len(errs) > 0 {
		return nil, errs.Err()
	}
	_, outer, err := blockIn(text, path)
	if err != nil {
		return nil, err
	}
	if outer == nil {
		head := bytes.TrimRight(text, " \t\r\n")
		gap := "\n\n"
		if len(head) == 0 {
			gap = ""
		}
		return slices.Concat(head, []byte(gap+own+"\n")), nil
	}
	at := outer.End - 1
	start := bytes.LastIndexByte(text[:at], '\n') + 1
	indent := string(text[start:at])
	if strings.TrimSpace(indent) != "" { // the whole block stands on one line
		unfolded, err := unfold(text, path)
		if err != nil {
			return nil, err
		}
		return addBlock(unfolded, path, block)
	}
	lines := strings.Split(own, "\n")
	for i, l := range lines {
		if l != "" {
			lines[i] = indent + "  " + l
		}
	}
	return slices.Concat(text[:start], []byte(strings.Join(lines, "\n")+"\n"), text[start:]), nil
}

// dropBlock takes a block away, with its lines and one of the empty lines around it.
func dropBlock(text []byte, path []string) ([]byte, error) {
	_, b, err := blockIn(text, path)
	if err != nil || b == nil {
		return nil, err
	}
	start, end := bytes.LastIndexByte(text[:b.Start], '\n')+1, len(text)
	if n := bytes.IndexByte(text[b.End:], '\n'); n >= 0 {
		end = b.End + n + 1
	}
	if len(bytes.TrimSpace(text[start:b.Start])) > 0 || len(bytes.TrimSpace(text[b.End:end])) > 0 {
		start, end = b.Start, b.End // something else is on its lines
	}
	empty := bytes.HasSuffix(text[:start], []byte("\n\n"))
	if after, ok := bytes.CutPrefix(text[end:], []byte("\n")); ok && empty {
		end = len(text) - len(after)
	} else if empty && end == len(text) {
		start--
	}
	return slices.Concat(text[:start], text[end:]), nil
}

// referring are the attributes in which a part is named: as a whole, or with a word before
// it and perhaps more behind it.
var (
	referring = []string{"like", "with", "subject", "piano", "start", "lasts", "extent", "between", "without", "voices"}
	around    = `^((?:after|with|as|until)\s+)?%s((?:\s+[-+]\s.*|\s+ends)?)$`
)

// renamed calls a block otherwise, and writes the new name wherever the old one was
// meant. A name that is taken, or that leaves more mistakes than there were, is refused.
func renamed(text []byte, path []string, to string) ([]byte, error) {
	body, b, err := blockIn(text, path)
	if err != nil {
		return nil, err
	}
	switch {
	case b == nil || len(b.Labels) != 1:
		return nil, fmt.Errorf("this has no name")
	case to == "":
		return nil, fmt.Errorf("a name has at least one letter")
	case to == b.Labels[0]:
		return text, nil
	}
	before := mistakes(text)
	from := b.Labels[0]
	type place struct{ start, end int }
	label := bytes.IndexByte(text[b.Start:b.End], '"') + b.Start
	places := []place{{label, label + len(quoted(from))}}
	values := []string{quoted(to)}
	if !bytes.HasPrefix(text[label:], []byte(quoted(from))) {
		return nil, fmt.Errorf("the name is not written in the usual way; change it in the text")
	}
	meant := regexp.MustCompile(fmt.Sprintf(around, regexp.QuoteMeta(from)))
	var walk func(*blocks.Body)
	walk = func(body *blocks.Body) {
		for _, a := range body.Attrs {
			s, err := a.Str()
			if a.Kind() != blocks.Quoted || err != nil || !slices.Contains(referring, a.Name) {
				continue
			}
			if m := meant.FindStringSubmatch(s); m != nil && string(text[a.Value.Start:a.Value.End]) == quoted(s) {
				places, values = append(places, place{a.Value.Start, a.Value.End}), append(values, quoted(m[1]+to+m[2]))
			}
		}
		for _, inner := range body.Blocks {
			walk(inner.Body)
		}
	}
	walk(body)
	order := make([]int, len(places))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int { return places[j].start - places[i].start }) // from the end on
	out := bytes.Clone(text)
	for _, i := range order {
		out = slices.Concat(out[:places[i].start], []byte(values[i]), out[places[i].end:])
	}
	if after := mistakes(out); len(after) > len(before) {
		return nil, added(before, after)
	}
	return out, nil
}
