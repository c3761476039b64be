package piecefile

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// Set is the text of f with one attribute changed or added, every other byte as
// it was; see blocks.Set. The name is that of a voice, tune or canon, wherever
// it stands; an empty name means the piece itself. The value is written as it
// has to stand in the file. The text has to be readable, though it may still
// contain mistakes in its music, and so may the result: Parse tells.
func Set(f *source.File, name, attr, value string) ([]byte, error) {
	path, err := Path(f, name)
	if err != nil {
		return nil, err
	}
	return blocks.Set(f.Text, path, attr, value)
}

// Remove is the text of f without one attribute, every other byte as it was;
// see Set.
func Remove(f *source.File, name, attr string) ([]byte, error) {
	path, err := Path(f, name)
	if err != nil {
		return nil, err
	}
	return blocks.Remove(f.Text, path, attr)
}

// Replace is the text of f with something else in the place of what is written,
// every other byte as it was. It is an error when that does not stand there.
func Replace(f *source.File, old piece.Written, with string) ([]byte, error) {
	at := offset(f.Text, old.At)
	after, ok := bytes.CutPrefix(f.Text[at:], []byte(old.Text))
	if !ok || old.Text == "" {
		return nil, fmt.Errorf("%q does not stand at %v", source.Printable(old.Text), old.At)
	}
	return slices.Concat(f.Text[:at], []byte(with), after), nil
}

// offset is the byte at which a place of the text lies; the end of the text when it
// has no such place.
func offset(text []byte, at source.Pos) int {
	start := 0
	for line := 1; line < at.Line; line++ {
		end := bytes.IndexByte(text[start:], '\n')
		if end < 0 {
			return len(text)
		}
		start += end + 1
	}
	for column := 1; column < at.Column && start < len(text); column++ {
		_, size := utf8.DecodeRune(text[start:])
		start += size
	}
	return start
}

// Path leads to the block of a voice, tune or canon, as blocks.Set wants it, so
// that an inner block can be reached by adding to it: "per_color". The path of a
// piano or section is its type and name. An empty name is the piece itself. A voice that a
// section has copied has no block of its own: its path leads to that which it is copied from,
// so that a change there is one of all copies.
func Path(f *source.File, name string) ([]string, error) {
	if name == "" {
		return nil, nil
	}
	body, errs := blocks.Parse(f, blocks.Options{})
	if err := errs.Err(); err != nil {
		return nil, err
	}
	if path := find(body, name); path != nil {
		return path, nil
	}
	if path := findCopied(body, name); path != nil {
		return path, nil
	}
	return nil, fmt.Errorf("there is no voice, tune or canon %q", source.Printable(name))
}

// findCopied looks for the block from which a section has copied the named one: low of
// section A for "low in A2", where A2 is like A, or like one that is.
func findCopied(body *blocks.Body, name string) []string {
	for _, b := range body.Of("section") {
		like := b.Body.Get("like")
		inner, copied := strings.CutSuffix(name, " in "+b.Label(0))
		if like == nil || !copied {
			continue
		}
		model, err := like.Value.Written()
		for range body.Blocks { // no more steps than there are sections
			var next *blocks.Attr
			for i, other := range body.Of("section") {
				if err != nil || other.Label(0) != strings.TrimSpace(model.S) {
					continue
				}
				if path := find(other.Body, inner); path != nil {
					return append([]string{sectionStep(body, i)}, path...)
				}
				next = other.Body.Get("like")
			}
			if next == nil {
				break
			}
			model, err = next.Value.Written()
		}
	}
	return nil
}

// sectionStep is the step of a path to the section of that number, from 0.
func sectionStep(body *blocks.Body, number int) string {
	all := body.Of("section")
	head := strings.Join(append([]string{"section"}, all[number].Labels...), " ")
	n := 0
	for _, b := range all[:number+1] {
		if strings.Join(append([]string{"section"}, b.Labels...), " ") == head {
			n++
		}
	}
	return fmt.Sprintf("%s[%d]", head, n)
}

// find looks for a named block in a body and in its sections and canons.
func find(body *blocks.Body, name string) []string {
	count := map[string]int{}
	for _, b := range body.Blocks {
		head := strings.Join(append([]string{b.Type}, b.Labels...), " ")
		count[head]++
		step := fmt.Sprintf("%s[%d]", head, count[head])
		switch b.Type {
		case "voice", "tune", "canon":
			if b.Label(0) == name {
				return []string{step}
			}
		case "section":
		default:
			continue
		}
		if rest := find(b.Body, name); rest != nil && b.Type != "voice" && b.Type != "tune" {
			return append([]string{step}, rest...)
		}
	}
	return nil
}
