package web

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"strings"
	"unicode/utf8"

	"rollwright/music/piecefile"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// setting is a request for one changed attribute.
type setting struct {
	Text  string   `json:"text"`
	Path  []string `json:"path"` // from outermost to innermost block: "canon four", "voice I", "meet"
	Attr  string   `json:"attr"`
	Value *string  `json:"value"` // with or without the quotes that it needs; null removes the attribute
}

// splice is a changed text and where it has changed.
type splice struct {
	Text   string `json:"text"`
	From   int    `json:"from"` // UTF-16 offsets into the old text
	To     int    `json:"to"`
	Insert string `json:"insert"`
	Label  string `json:"label,omitempty"`
	// why nothing was changed, in words: a field that somebody is typing in is often wrong for a while
	Problem string `json:"problem,omitempty"`
}

// set changes one attribute's bytes in a text and no others.
func (s *Server) set(_ context.Context, in setting) (splice, error) {
	if err := checkLength(in.Text); err != nil {
		return splice{}, err
	}
	old := []byte(in.Text)
	if in.Value == nil {
		out, err := blocks.Remove(old, in.Path, in.Attr)
		if err != nil {
			return unwritable(err), nil
		}
		return spliceOf(in.Text, string(dropEmpty(out, in.Path))), nil
	}
	out, err := assign(old, in.Path, in.Attr, strings.TrimSpace(*in.Value))
	if err != nil {
		return unwritable(err), nil
	}
	return spliceOf(in.Text, string(out)), nil
}

// unwritable is why a value cannot stand where it is wanted.
func unwritable(err error) splice {
	var complaints source.Errors
	if errors.As(err, &complaints) && len(complaints) > 0 {
		text := complaints[0].Problem
		if hint := complaints[0].Hint; hint != "" {
			text += "; " + hint
		}
		return splice{Problem: text}
	}
	return splice{Problem: err.Error()}
}

// assign sets an attribute to a value that a person has typed, as it stands or in
// quotes: whichever leaves the text with fewer mistakes. A value that would add
// one is an error that tells of it.
func assign(text []byte, path []string, attr, value string) ([]byte, error) {
	if value == "" {
		return nil, errors.New("there is no value; to go back to what holds without it, remove the attribute")
	}
	text, err := withBlock(text, path)
	if err != nil {
		return nil, err
	}
	forms := []string{value, quoted(value)}
	if strings.HasPrefix(value, `"`) {
		forms = forms[:1]
	}
	before := mistakes(text)
	var best []byte
	fewest := len(before) + 1
	for _, form := range forms {
		out, setErr := blocks.Set(text, path, attr, form)
		if setErr != nil {
			err = setErr
			continue
		}
		after := mistakes(out)
		if len(after) < fewest {
			best, fewest = out, len(after)
		}
		err = added(before, after) // the last, quoted form was read as music, so its mistake tells more
	}
	if best == nil {
		return nil, err
	}
	return best, nil
}

// mistakes are the complaints about a text.
func mistakes(text []byte) source.Errors {
	_, err := piecefile.Parse(&source.File{Text: text})
	var complaints source.Errors
	errors.As(err, &complaints)
	return complaints
}

// added are the complaints that were not there before.
func added(before, after source.Errors) error {
	var out source.Errors
	for _, e := range after {
		if !slices.ContainsFunc(before, func(b *source.Error) bool { return b.Problem == e.Problem }) {
			out = append(out, e)
		}
	}
	if len(out) == 0 {
		out = after
	}
	return out
}

// quoted is a value as quoted text of the language.
func quoted(value string) string {
	r := strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", " ", "\r", "", "${", "$${", "%{", "%%{")
	return `"` + r.Replace(value) + `"`
}

// withBlock is text with the innermost block of path, which is added to its
// parent when it is not there and has no name: meet, per_color, tempo_path.
func withBlock(text []byte, path []string) ([]byte, error) {
	if len(path) == 0 {
		return text, nil
	}
	last := path[len(path)-1]
	name := strings.TrimSuffix(last, "[1]")
	body, errs := blocks.Parse(&source.File{Text: text}, blocks.Options{})
	if err := errs.Err(); err != nil {
		return nil, err
	}
	parent := blockAt(body, path[:len(path)-1])
	if parent == nil || strings.ContainsAny(name, " [") || len(parent.Body.Of(name)) > 0 {
		return text, nil // it is there, or Set will say that it is not
	}
	at := parent.End - 1
	lineStart := bytes.LastIndexByte(text[:at], '\n') + 1
	outer := string(text[lineStart:at])
	if strings.TrimSpace(outer) != "" {
		unfolded, err := unfold(text, path[:len(path)-1])
		if err != nil {
			return nil, err
		}
		return withBlock(unfolded, path)
	}
	inner := outer + "  "
	block := inner + name + " {\n" + inner + "}\n"
	return slices.Concat(text[:lineStart], []byte(block), text[lineStart:]), nil
}

// unfold writes a block that stands on one line over several: as blocks.Set does
// for a new attribute, which is then taken away again.
func unfold(text []byte, path []string) ([]byte, error) {
	const passing = "passing"
	out, err := blocks.Set(text, path, passing, "0")
	if err != nil {
		return nil, err
	}
	return blocks.Remove(out, path, passing)
}

// blockAt is the block at the end of a path; nil when there is none.
func blockAt(body *blocks.Body, path []string) *blocks.Block {
	var found *blocks.Block
	for _, step := range path {
		found = nil
		count := map[string]int{}
		for _, b := range body.Blocks {
			head := strings.Join(append([]string{b.Type}, b.Labels...), " ")
			count[head]++
			if head == step && count[head] == 1 || step == stepOf(head, count[head]) {
				found = b
				break
			}
		}
		if found == nil {
			return nil
		}
		body = found.Body
	}
	return found
}

// dropEmpty is text without the innermost block of path, when nothing is left
// in it and it has no name.
func dropEmpty(text []byte, path []string) []byte {
	if len(path) == 0 || strings.Contains(path[len(path)-1], " ") {
		return text
	}
	body, errs := blocks.Parse(&source.File{Text: text}, blocks.Options{})
	b := blockAt(body, path)
	if len(errs) > 0 || b == nil || len(b.Body.Attrs)+len(b.Body.Blocks) > 0 || strings.ContainsAny(b.Text(), "#/") {
		return text
	}
	start := bytes.LastIndexByte(text[:b.Start], '\n') + 1
	rest := bytes.IndexByte(text[b.End:], '\n')
	alone := rest >= 0 && len(bytes.TrimSpace(text[b.End:b.End+rest])) == 0 &&
		len(bytes.TrimSpace(text[start:b.Start])) == 0
	if !alone {
		return text
	}
	return slices.Concat(text[:start], text[b.End+rest+1:])
}

// spliceOf is what lies between the common ends of two texts, whole characters.
func spliceOf(from, to string) splice {
	head := 0
	for head < len(from) && head < len(to) && from[head] == to[head] {
		head++
	}
	for head > 0 && (head < len(from) && !utf8.RuneStart(from[head]) || head < len(to) && !utf8.RuneStart(to[head])) {
		head--
	}
	tail := 0
	for tail < len(from)-head && tail < len(to)-head && from[len(from)-1-tail] == to[len(to)-1-tail] {
		tail++
	}
	for tail > 0 && !utf8.RuneStart(from[len(from)-tail]) {
		tail--
	}
	o := newOffsets(from)
	return splice{Text: to, From: o.at(head), To: o.at(len(from) - tail), Insert: to[head : len(to)-tail]}
}
