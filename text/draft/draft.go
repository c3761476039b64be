// Package draft lays attributes, blocks and remarks out as text in the syntax of
// HCL: what a program says becomes a file that a person goes on writing.
//
// It is the other half of package blocks: what Bytes writes, blocks.Parse reads to
// the same attributes and blocks. Attributes that stand on successive lines have
// their equals signs below each other, a long series is broken between its members,
// after a bar line where there is one, and blocks are parted by blank lines. A column
// is a character; lines are kept to some 80 of them where what stands there can be
// broken.
package draft

import "strings"

// Draft is a text in the making.
type Draft struct {
	Head    string // remark at the very top: paragraphs parted by empty lines
	Entries []Entry
}

// Entry is an attribute, a block, or text as it stands. Make one with Attr, Block
// or Raw.
type Entry struct {
	Remark string  // above it, after an empty line; paragraphs are parted by empty lines
	Name   string  // of the attribute, or the type of the block
	Label  string  // of the block; empty: none
	Value  Value   // of the attribute
	Aside  string  // remark behind the attribute's value, on its line; empty: none
	Inside []Entry // of the block

	kind kind
}

type kind int8

const (
	attribute kind = iota
	block
	raw
)

// Attr is the attribute name = value.
func Attr(name string, value Value) Entry { return Entry{Name: name, Value: value} }

// Block is a block of that type, with a label unless it is empty.
func Block(name, label string, inside ...Entry) Entry {
	return Entry{Name: name, Label: label, Inside: inside, kind: block}
}

// Raw is text that stands for itself, such as a block kept as it was written. It
// is whole lines, their indentation included.
func Raw(text string) Entry { return Entry{Value: Bare(text), kind: raw} }

// Above is e with a remark above it.
func (e Entry) Above(remark string) Entry {
	e.Remark = remark
	return e
}

// Behind is e with a remark at the end of its line.
func (e Entry) Behind(remark string) Entry {
	e.Aside = remark
	return e
}

// Find is the first block of that type and label in the draft, those inside other
// blocks included, or nil. The pointer is good until entries are added.
func (d *Draft) Find(name, label string) *Entry { return find(d.Entries, name, label) }

func find(entries []Entry, name, label string) *Entry {
	for i := range entries {
		e := &entries[i]
		if e.kind == block && e.Name == name && e.Label == label {
			return e
		}
		if inner := find(e.Inside, name, label); inner != nil {
			return inner
		}
	}
	return nil
}

// Value is what stands behind an equals sign.
type Value struct {
	text  string   // as it stands, when words and args are nil
	words []string // of a series: what no line break may part
	call  string   // function of args
	args  []Value
}

// Bare is a value that stands as it is: 12, 3/7, sqrt(2)/2, true.
func Bare(text string) Value { return Value{text: text} }

// Quoted is text in quotes, with what has a meaning in them escaped, and characters
// that a file may not contain replaced by U+FFFD.
func Quoted(text string) Value { return Value{text: `"` + escaped(text) + `"`} }

// Series is words in quotes, or over several lines as a heredoc where they do not
// fit one. A word may have blanks inside, at which no line is broken; it has no
// quotes, backslashes or line ends. A word | is a bar line.
func Series(words ...string) Value { return Value{words: words} }

// Call is the call of a function: join("C4 D4", transpose("C4 D4", 2)).
func Call(function string, args ...Value) Value { return Value{call: function, args: args} }

// List is several values in brackets on one line: ["first voice", "second"].
func List(values ...Value) Value {
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = v.flat()
	}
	return Bare("[" + strings.Join(texts, ", ") + "]")
}

// flat is the value on one line.
func (v Value) flat() string {
	switch {
	case v.call != "":
		args := make([]string, len(v.args))
		for i, arg := range v.args {
			args[i] = arg.flat()
		}
		return v.call + "(" + strings.Join(args, ", ") + ")"
	case v.words != nil:
		return `"` + strings.Join(v.words, " ") + `"`
	}
	return v.text
}

func escaped(text string) string {
	var b strings.Builder
	for i, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case (r == '$' || r == '%') && strings.HasPrefix(text[i+1:], "{"):
			b.WriteString(string(r) + string(r))
		case r < ' ' || r == 0x7f:
			b.WriteRune('\uFFFD')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
