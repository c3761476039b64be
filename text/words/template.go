package words

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// part is a piece of a template: text as it is, or the value of a name, or one
// of its forms, or a term.
type part struct {
	text  string
	name  string   // with its @ for a term
	forms []string // of a plural
}

// template is a sentence with gaps.
type template []part

// parseTemplate cuts a text at its braces.
func parseTemplate(text string) (template, error) {
	var t template
	for text != "" {
		open := strings.IndexAny(text, "{}")
		switch {
		case open < 0:
			return append(t, part{text: text}), nil
		case strings.HasPrefix(text[open:], "{{"), strings.HasPrefix(text[open:], "}}"):
			t = append(t, part{text: text[:open+1]})
			text = text[open+2:]
			continue
		case text[open] == '}':
			return nil, fmt.Errorf("a } without its {; write }} for the sign itself")
		}
		if open > 0 {
			t = append(t, part{text: text[:open]})
		}
		end := strings.IndexByte(text[open:], '}')
		if end < 0 {
			return nil, fmt.Errorf("a { without its }; write {{ for the sign itself")
		}
		gap, err := parseGap(text[open+1 : open+end])
		if err != nil {
			return nil, err
		}
		t = append(t, gap)
		text = text[open+end+1:]
	}
	return t, nil
}

func parseGap(inside string) (part, error) {
	name, forms, plural := strings.Cut(inside, ":")
	p := part{name: name}
	if plural {
		p.forms = strings.Split(forms, "|")
	}
	bare := strings.TrimPrefix(name, "@")
	if bare == "" || strings.ContainsFunc(bare, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		return part{}, fmt.Errorf("{%s}: want a name of letters", inside)
	}
	if plural && bare != name {
		return part{}, fmt.Errorf("{%s}: a term has no plural forms; it is a term of its own", inside)
	}
	return p, nil
}

// names are the names in the template, each once, in order.
func (t template) names() []string {
	var names []string
	for _, p := range t {
		if p.name != "" && !slices.Contains(names, p.name) {
			names = append(names, p.name)
		}
	}
	return names
}

// literal is the text of the template without its gaps.
func (t template) literal() string {
	var b strings.Builder
	for _, p := range t {
		b.WriteString(p.text)
	}
	return b.String()
}

// say fills the gaps. First is asked whether a term is used for the first time.
func (t template) say(b *Book, args Args, first func(term string) bool) string {
	var out strings.Builder
	for _, p := range t {
		switch {
		case p.name == "":
			out.WriteString(p.text)
		case p.name[0] == '@':
			out.WriteString(b.term(p.name, first))
		case p.forms != nil:
			out.WriteString(b.form(p, args))
		default:
			out.WriteString(value(p.name, args))
		}
	}
	return out.String()
}

func value(name string, args Args) string {
	if v, ok := args[name]; ok {
		return fmt.Sprint(v)
	}
	return "{" + name + "}"
}

// form is the form that a whole number asks for; anything else takes the last.
func (b *Book) form(p part, args Args) string {
	n := len(p.forms) - 1
	switch v := args[p.name].(type) {
	case int:
		n = min(n, b.rule(uint64(max(v, -v))))
	case int64:
		n = min(n, b.rule(uint64(max(v, -v))))
	}
	return p.forms[n]
}

// termKey is the key of a term as a template writes it: @Color is color.
func termKey(name string) string { return strings.ToLower(strings.TrimPrefix(name, "@")) }

// term is a word of the trade, or the plain one in its place. Several terms may
// be forms of one word: "of.taleae" says that it is explained with the talea.
func (b *Book) term(name string, first func(term string) bool) string {
	key := termKey(name)
	root := key
	if b.Has("of." + key) {
		root = b.raw("of." + key)
	}
	text := ""
	switch {
	case b.plain && b.Has("plain."+key):
		text = b.raw("plain." + key)
	case first(root) && b.Has("first."+key):
		text = b.raw("first." + key)
	default:
		text = b.raw("term." + key)
	}
	if r, _ := utf8.DecodeRuneInString(name[1:]); unicode.IsUpper(r) {
		r, size := utf8.DecodeRuneInString(text)
		return string(unicode.ToUpper(r)) + text[size:]
	}
	return text
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
