// Package words turns keys with values into sentences of one language, from
// language files.
//
// A language file is one JSON object of keys and templates, both strings:
//
//	{"wheels.turns": "The {@color} wheel turns {n} {n:time|times}."}
//
// In a template {name} is the value of that name; {name:one|other} is the form
// that the whole number of that name asks for, by the language's rule of
// plurals; {@color} is a term, explained the first time that a Talk uses it,
// {@Color} the same with a capital; {{ is a brace. Keys that begin with # are
// remarks.
//
// English is complete and built in, and so are German, French and Spanish: a file
// each, de.json and so on. What a language of one's own lacks is said in English.
// Nothing depends on the machine's language, clock or order of maps.
package words

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"rollwright/text/infile"
	"rollwright/text/source"
)

//go:embed en/*.json *.json
var builtin embed.FS

// Bounds of a language file.
const (
	maxBytes = 1 << 20
	maxKeys  = 10_000
)

// Book is the words of one language. It is immutable.
type Book struct {
	templates map[string]template
	fallback  *Book // English; nil for English itself
	rule      pluralRule
	plain     bool
	notes     NoteNames
}

// Args are the values of a template's names: whole numbers and texts.
type Args map[string]any

// English is the built-in, complete book.
func English() *Book { return english() }

var english = sync.OnceValue(func() *Book {
	b := &Book{templates: map[string]template{}}
	files, err := builtin.ReadDir("en")
	if err != nil {
		panic("words: embedded files: " + err.Error())
	}
	for _, f := range files {
		data, err := builtin.ReadFile("en/" + f.Name())
		if err == nil {
			err = b.add(data)
		}
		if err != nil {
			panic("words: en/" + f.Name() + ": " + err.Error())
		}
	}
	if err := b.settle(); err != nil {
		panic("words: English: " + err.Error())
	}
	return b
})

// Languages are the tags of those that are built in, English first.
func Languages() []string {
	tags := []string{"en"}
	files, err := builtin.ReadDir(".")
	if err != nil {
		panic("words: embedded files: " + err.Error())
	}
	for _, f := range files {
		if tag, ok := strings.CutSuffix(f.Name(), ".json"); ok {
			tags = append(tags, tag)
		}
	}
	return tags
}

// Open is the book of a language: "" is English, a tag one of Languages, everything
// else is the path of a language file, counted from folder.
func Open(language, folder string) (*Book, error) {
	if language == "" || language == "en" {
		return English(), nil
	}
	if slices.Contains(Languages(), language) {
		data, err := builtin.ReadFile(language + ".json")
		if err != nil {
			return nil, fmt.Errorf("words: %w", err)
		}
		return Parse(data)
	}
	path := language
	if !filepath.IsAbs(path) {
		path = filepath.Join(folder, path)
	}
	data, err := infile.Read(path, maxBytes)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("words: there is no language %q; write %s, or the path of a language file", language,
			strings.Join(Languages(), ", "))
	}
	if err != nil {
		return nil, fmt.Errorf("words: language %q: write %s, or the path of a language file: %w", language,
			strings.Join(Languages(), ", "), err)
	}
	b, err := Parse(data)
	if err != nil {
		return nil, fmt.Errorf("words: %s: %w", language, err)
	}
	return b, nil
}

// Parse reads a language file. All that is wrong comes together: keys that
// English does not have, templates with names that English does not use there,
// an unknown rule of plurals. Keys may be missing.
func Parse(data []byte) (*Book, error) {
	b := &Book{templates: map[string]template{}, fallback: English()}
	if err := b.add(data); err != nil {
		return nil, err
	}
	if err := b.settle(); err != nil {
		return nil, err
	}
	if wrong := b.compare(b.fallback); len(wrong) > 0 {
		return nil, errors.Join(wrong...)
	}
	return b, nil
}

// add reads the keys of one file. A key that is there already is an error.
func (b *Book) add(data []byte) error {
	if len(data) > maxBytes {
		return fmt.Errorf("larger than %d MB", maxBytes>>20)
	}
	d := json.NewDecoder(bytes.NewReader(infile.Text(data)))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return errors.New("want one JSON object of keys and templates")
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return fmt.Errorf("after byte %d: %w", d.InputOffset(), err)
		}
		value, err := d.Token()
		if err != nil {
			return fmt.Errorf("after byte %d: %w", d.InputOffset(), err)
		}
		if err := b.put(key.(string), value); err != nil {
			return err
		}
	}
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("after byte %d: %w", d.InputOffset(), err)
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something follows the JSON object")
	}
	return nil
}

func (b *Book) put(key string, value any) error {
	text, ok := value.(string)
	switch {
	case strings.HasPrefix(key, "#") && ok:
		return nil
	case !ok:
		return fmt.Errorf("%s: want a text in quotes", key)
	case len(b.templates) >= maxKeys:
		return fmt.Errorf("more than %d keys", maxKeys)
	}
	if _, twice := b.templates[key]; twice {
		return fmt.Errorf("%s stands there twice", key)
	}
	t, err := parseTemplate(text)
	if err != nil {
		return fmt.Errorf("%s: %w", key, err)
	}
	b.templates[key] = t
	return nil
}

// settle takes from the keys what the book itself needs.
func (b *Book) settle() error {
	name := b.raw("language.plural")
	rule, ok := pluralRules[name]
	if !ok {
		return fmt.Errorf("language.plural: there is no rule %q; write one of %s", name, strings.Join(ruleNames(), ", "))
	}
	b.rule = rule
	return nil
}

// compare is what b has that the complete book does not know.
func (b *Book) compare(complete *Book) (wrong []error) {
	for _, key := range sortedKeys(b.templates) {
		known, ok := complete.templates[key]
		if !ok {
			hint := ""
			if near, ok := source.Nearest(key, complete.Keys()); ok {
				hint = "; did you mean " + near + "?"
			}
			wrong = append(wrong, fmt.Errorf("there is no key %s%s", key, hint))
			continue
		}
		for _, name := range b.templates[key].names() {
			switch {
			case strings.HasPrefix(name, "@"):
				if _, ok := complete.templates["term."+termKey(name)]; !ok {
					wrong = append(wrong, fmt.Errorf("%s: there is no term {%s}", key, name))
				}
			case !slices.Contains(known.names(), name):
				wrong = append(wrong, fmt.Errorf("%s: there is no value {%s} here; there are: %s", key, name,
					strings.Join(known.names(), ", ")))
			}
		}
	}
	return wrong
}

// raw is the template of key as it is written when it has no names in it.
func (b *Book) raw(key string) string { return b.find(key).literal() }

// find is the template of key; one that shows the key where even English lacks
// it.
func (b *Book) find(key string) template {
	for at := b; at != nil; at = at.fallback {
		if t, ok := at.templates[key]; ok {
			return t
		}
	}
	return template{{text: "[" + key + "]"}}
}

// Has reports whether the book, or English, has key.
func (b *Book) Has(key string) bool {
	for at := b; at != nil; at = at.fallback {
		if _, ok := at.templates[key]; ok {
			return true
		}
	}
	return false
}

// Keys are all keys that the book or English has, sorted.
func (b *Book) Keys() []string {
	if b.fallback == nil {
		return sortedKeys(b.templates)
	}
	return b.fallback.Keys()
}

// Lacks are the keys that the book has to say in English, sorted.
func (b *Book) Lacks() []string {
	var lacks []string
	for _, key := range b.Keys() {
		if _, ok := b.templates[key]; !ok {
			lacks = append(lacks, key)
		}
	}
	return lacks
}

// Plain is the book that says pitch series and rhythm series for color and
// talea throughout.
func (b *Book) Plain() *Book {
	plain := *b
	plain.plain = true
	return &plain
}

// Tag is the language as a document names it: "en" (BCP 47).
func (b *Book) Tag() string { return b.raw("language.tag") }

// Name is the name of the language in itself: "English".
func (b *Book) Name() string { return b.raw("language.name") }

// Decimal is a decimal text, such as "0.25", with the language's decimal sign.
func (b *Book) Decimal(text string) string {
	return strings.ReplaceAll(text, ".", b.raw("language.decimal"))
}

// Say is the sentence of key with the values of args, terms without
// explanation. A value that is missing shows as its name in braces, a key that
// is missing as itself in brackets.
func (b *Book) Say(key string, args Args) string {
	return b.find(key).say(b, args, func(string) bool { return false })
}

// Talk says sentences that belong together: the first use of a term explains
// it. It is not for several goroutines.
type Talk struct {
	book *Book
	said map[string]bool
}

// Begin is a talk in which nothing has been explained yet.
func (b *Book) Begin() *Talk { return &Talk{book: b, said: map[string]bool{}} }

// Book is the book from which the talk takes its words.
func (t *Talk) Book() *Book { return t.book }

// Say is the sentence of key as Book.Say gives it, with terms explained at
// their first use.
func (t *Talk) Say(key string, args Args) string {
	return t.book.find(key).say(t.book, args, func(term string) bool {
		first := !t.said[term]
		t.said[term] = true
		return first
	})
}
