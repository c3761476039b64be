// Package blocks reads HCL text to a tree of blocks and attributes that know
// their bytes, and edits such text byte by byte.
//
// The language is HCL native syntax as far as data needs it: attributes,
// labelled blocks, numbers, quoted text, heredocs, lists, bare words, calls,
// products and quotients, the three kinds of comment. Interpolation,
// conditions, objects and loops are not data; they are refused. Whatever Parse
// accepts, github.com/hashicorp/hcl/v2/hclsyntax accepts too and reads to the
// same tree (the tests hold the two side by side).
//
// The reader is our own for three reasons. It goes on after an error, so that
// all mistakes of a file come together, where the library keeps silent after
// the first. It holds one token at a time and counts depth, so that no input
// exhausts memory or stack. And it says what is wrong in the words of someone
// who writes music rather than programs.
//
// Numbers are kept as their bytes: nothing passes through binary floating
// point, so 0.1 is one tenth. Sizes are bounded: 1 MB of text, 64 levels of
// nesting, 64 characters in a number, 100 errors.
package blocks

import (
	"rollwright/text/source"
)

// The bounds of a text.
const (
	maxBytes     = 1_000_000
	maxDepth     = 64
	maxNumber    = 64
	maxErrors    = 100
	maxNameBytes = 200
)

// Options adjust the bounds of Parse.
type Options struct {
	MaxBytes int // longest text; 0: 1,000,000
	MaxDepth int // deepest nesting of blocks and brackets together; 0: 64
}

// Body is the inside of a block, or a whole file. It is not for several
// goroutines at once: asking for a place remembers it.
type Body struct {
	Attrs  []*Attr  // in the order of the text, each name once
	Blocks []*Block // in the order of the text
	names  map[string]*Attr
	file   *text
	start  int // the first byte of the inside
	end    int // the byte after the inside: the closing brace, or the end of the text
}

// Block is a type, its labels, and a body in braces.
type Block struct {
	Type       string
	Labels     []string
	At         source.Pos   // of the type
	LabelAt    []source.Pos // of each label, its quote included
	Body       *Body
	Start, End int // bytes from the type to the closing brace, that brace included
}

// Attr is a name, an equals sign and a value.
type Attr struct {
	Name       string
	At         source.Pos // of the name
	ValueAt    source.Pos
	Start, End int // bytes from the name to the last byte of the value
	*Value
}

// Get is the attribute of that name, or nil.
func (b *Body) Get(name string) *Attr { return b.names[name] }

// Of are the blocks of that type, in the order of the text.
func (b *Body) Of(kind string) []*Block {
	var out []*Block
	for _, block := range b.Blocks {
		if block.Type == kind {
			out = append(out, block)
		}
	}
	return out
}

// Label is the n-th label, from 0, or empty.
func (b *Block) Label(n int) string {
	if n >= len(b.Labels) {
		return ""
	}
	return b.Labels[n]
}

// Text is the block as written, from its type to its closing brace.
func (b *Block) Text() string { return string(b.Body.file.bytes[b.Start:b.End]) }

// Error is a complaint about the block as a whole; it marks the type and the
// labels.
func (b *Block) Error(problem, hint string) *source.Error {
	return b.Body.file.fail(b.Start, b.headEnd(), problem, hint)
}

// headEnd is the byte after the type and labels.
func (b *Block) headEnd() int {
	end := max(b.Body.start-1, b.Start)
	for end > b.Start && (b.Body.file.bytes[end-1] == ' ' || b.Body.file.bytes[end-1] == '\t') {
		end--
	}
	return end
}

// NameError is a complaint that marks the attribute's name.
func (a *Attr) NameError(problem, hint string) *source.Error {
	return a.file.fail(a.Start, a.Start+len(a.Name), problem, hint)
}

// Parse reads the text of f. The body holds everything that could be read even
// when there are errors: an attribute whose value could not be read is there,
// and every method that asks for its value returns the error that Parse has
// reported (the same pointer, see Merge).
func Parse(f *source.File, o Options) (*Body, source.Errors) {
	if o.MaxBytes == 0 {
		o.MaxBytes = maxBytes
	}
	if o.MaxDepth == 0 {
		o.MaxDepth = maxDepth
	}
	p := newParser(f, o)
	if err := p.checkText(); err != nil {
		return &Body{file: p.file}, source.Errors{err}
	}
	body := p.body(nil)
	return body, p.errs
}

// Merge joins lists of complaints, each complaint once.
func Merge(lists ...source.Errors) source.Errors {
	seen := map[*source.Error]bool{}
	var out source.Errors
	for _, list := range lists {
		for _, e := range list {
			if !seen[e] {
				seen[e] = true
				out = append(out, e)
			}
		}
	}
	return out
}
