package blocks

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"rollwright/text/source"
)

// block reads labels and a body.
func (p *parser) block(b *Body, name token) {
	block := &Block{Type: p.string(name), At: p.file.pos(name.start), Start: name.start}
	for p.tok.kind == quoted || p.tok.kind == word || p.inOtherQuotes(p.tok) {
		label, err := p.labelOf(p.tok)
		if err != nil {
			if p.inOtherQuotes(p.tok) && strings.HasSuffix(p.line(p.tok.end), "{") {
				err.Hint = fmt.Sprintf("write straight quotes: %s %q {", block.Type, label)
			}
			p.report(err)
		}
		block.Labels = append(block.Labels, label)
		block.LabelAt = append(block.LabelAt, p.file.pos(p.tok.start))
		p.read()
	}
	if p.tok.kind != '{' && !p.findBrace(block, name) {
		p.skipLine()
		return
	}
	p.inner(b, block)
}

// inner reads the body of a block, from its brace on.
func (p *parser) inner(b *Body, block *Block) {
	if !p.deeper(p.tok.start) {
		return
	}
	p.read()
	block.Body = p.body(block)
	p.depth--
	block.End = p.tok.end
	if p.tok.kind == '}' {
		p.read()
	}
	b.Blocks = append(b.Blocks, block)
}

// equalsBlock reads a block whose head has a = in it, before its brace or before
// its label.
func (p *parser) equalsBlock(b *Body, name, equals token, label *token) {
	block := &Block{Type: p.string(name), At: p.file.pos(name.start), Start: name.start}
	head := block.Type
	if label != nil {
		text, _ := p.labelOf(*label)
		block.Labels, block.LabelAt = []string{text}, []source.Pos{p.file.pos(label.start)}
		head += " " + p.string(*label)
	}
	p.report(p.file.fail(equals.start, equals.end, "a block has no =", "write: "+head+" {"))
	p.inner(b, block)
}

// labelOf is the label that a token is.
func (p *parser) labelOf(tok token) (string, *source.Error) {
	if tok.kind == word {
		return p.string(tok), nil
	}
	if p.inOtherQuotes(tok) {
		return withoutQuotes(p.file.bytes[tok.start:tok.end]), tok.err
	}
	if tok.err != nil {
		tok.err.Hint = ""
		return "", tok.err
	}
	v := &Value{file: p.file, kind: Quoted, Start: tok.start, End: tok.end}
	return v.Str()
}

// inOtherQuotes reports whether tok is text in quotes that are none here.
func (p *parser) inOtherQuotes(tok token) bool {
	r, size := utf8.DecodeRune(p.file.bytes[tok.start:])
	return tok.kind == broken && strings.ContainsRune(otherQuotes, r) && tok.end-tok.start > size
}

// findBrace looks past a needless = and past line ends for the brace of a
// block.
func (p *parser) findBrace(block *Block, name token) bool {
	end := p.last
	equals := p.tok.kind == '='
	ahead := p.lex
	for tok := p.tok; ; tok = ahead.next() {
		switch {
		case tok.kind == '{' && equals:
			p.report(p.file.fail(p.tok.start, p.tok.end, "a block has no =",
				fmt.Sprintf("write: %s {", p.file.bytes[name.start:end])))
		case tok.kind == '{':
			p.report(p.file.fail(name.start, end, "the brace { of a block stands on the same line",
				fmt.Sprintf("write: %s {", p.file.bytes[name.start:end])))
		case tok.kind == newline || equals && tok.kind == '=':
			continue
		default:
			p.report(p.noBrace(block, name, end))
			return false
		}
		p.tok, p.lex = tok, ahead
		return true
	}
}

func (p *parser) noBrace(block *Block, name token, end int) *source.Error {
	rest := p.line(name.end)
	if i := bytes.IndexByte([]byte(rest), '='); i >= 0 {
		return p.file.fail(name.start, end, "a name is one word", "write one word before the =")
	}
	if bytes.IndexByte(p.file.bytes[name.end:end], '"') >= 0 {
		return p.file.fail(name.start, end, fmt.Sprintf("after %s a sign = or a brace { is wanted",
			source.Printable(block.Type)),
			fmt.Sprintf("a block begins with %s %q {", block.Type, block.Label(0)))
	}
	return p.file.fail(name.start, end, fmt.Sprintf("after %s a sign = or a brace { is wanted",
		source.Printable(block.Type)),
		fmt.Sprintf("write: %s = %s\nor, for a block: %s {", block.Type, quote(rest), p.file.bytes[name.start:end]))
}

// quote puts text in quotes unless it has them.
func quote(s string) string {
	if bytes.IndexByte([]byte(s), '"') >= 0 {
		return s
	}
	return `"` + s + `"`
}
