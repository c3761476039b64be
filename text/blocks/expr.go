package blocks

import (
	"bytes"
	"fmt"

	"rollwright/text/source"
)

// Kind is what a value is by its form.
type Kind int8

// The kinds of value.
const (
	Bad      Kind = iota // could not be read; Parse has reported why
	Number               // 7 0.35
	Quoted               // "text"
	Heredoc              // <<END ... END
	List                 // [1, 2]
	Call                 // even("5 of 8")
	Word                 // true, riff, pi
	Product              // numbers, words and calls joined by * / and a leading -
	Sum                  // the same joined by + or - or %, which no value can be
	Negative             // a leading minus
)

// Value is a value as written, with its place.
type Value struct {
	Start, End int      // bytes
	items      []*Value // members of a list, arguments of a call, operands
	file       *text
	err        *source.Error // of a Bad one
	kind       Kind
	nameEnd    int    // of a call: the byte after its name
	several    string // of a Bad one: the words that stand there without quotes
	pointed    string // of a Bad one with a comma in a number: the same with a point
}

func (p *parser) bad(start, end int, err *source.Error) *Value {
	return &Value{file: p.file, kind: Bad, Start: start, End: end, err: err}
}

func (p *parser) value(kind Kind, start int, items ...*Value) *Value {
	return &Value{file: p.file, kind: kind, Start: start, End: p.last, items: items}
}

// sum reads operands joined by + and -, which are kept for the message that
// refuses them.
func (p *parser) sum() *Value {
	start := p.tok.start
	left := p.product()
	for left.kind != Bad && (p.tok.kind == '+' || p.tok.kind == '-' || p.tok.kind == '%') {
		p.read()
		right := p.product()
		if right.kind == Bad {
			return right
		}
		left = p.value(Sum, start)
	}
	return left
}

func (p *parser) product() *Value {
	start := p.tok.start
	left := p.operand()
	kind := Product
	for left.kind != Bad && (p.tok.kind == '*' || p.tok.kind == '/') {
		p.read()
		right := p.operand()
		if right.kind == Bad {
			return right
		}
		if left.kind == Sum || right.kind == Sum {
			kind = Sum
		}
		left = p.value(kind, start)
	}
	return left
}

func (p *parser) operand() *Value {
	start := p.tok
	switch start.kind {
	case number, quoted, heredoc:
		p.read()
		if start.err != nil {
			if p.over = p.over || start.end == len(p.file.bytes) && start.kind == heredoc; p.over {
				p.quiet = 0
			}
			return p.bad(start.start, start.end, p.report(p.quoteHint(start)))
		}
		kind := Number
		if start.kind == quoted {
			return p.quoted(start)
		} else if start.kind == heredoc {
			kind = Heredoc
		}
		return p.value(kind, start.start)
	case word:
		return p.wordOrCall()
	case '[':
		return p.bracketed(List, start.start, start.start, ']')
	case '(':
		v := p.bracketed(List, start.start, start.start, ')')
		if v.kind == List && len(v.items) == 1 {
			inner := v.items[0]
			return &Value{file: p.file, kind: inner.kind, Start: v.Start, End: v.End, items: inner.items, nameEnd: inner.nameEnd}
		}
		return p.wanted(v, start)
	case '-':
		return p.negative()
	case broken:
		p.over = p.over || start.end == len(p.file.bytes) && start.end-start.start > 1 && !p.inOtherQuotes(start)
		p.read()
		return p.bad(start.start, start.end, p.report(start.err))
	}
	return p.wanted(nil, start)
}

// quoted is quoted text whose escapes have a meaning.
func (p *parser) quoted(tok token) *Value {
	v := p.value(Quoted, tok.start)
	if bytes.IndexByte(p.file.bytes[tok.start:tok.end], '\\') < 0 {
		return v
	}
	if _, err := v.unquote(); err != nil {
		return p.bad(tok.start, tok.end, p.report(err))
	}
	return v
}

// wanted complains that no value begins at tok.
func (p *parser) wanted(v *Value, tok token) *Value {
	if v != nil && v.kind == Bad {
		return v
	}
	e := p.file.fail(tok.start, max(tok.end, tok.start+1), "a value is wanted here",
		`write a number (3/7), text in quotes ("C2 G2") or a list (["C2", "G2"])`)
	if tok.kind == newline || tok.kind == endOfText {
		e = p.file.fail(p.last-1, p.last, "the line ends where a value is wanted", "go on after this sign, or delete it")
	}
	if tok.kind == '{' {
		e = p.file.fail(tok.start, tok.end, "a value cannot be in braces",
			`write a number (3/7), text in quotes ("C2 G2") or a list (["C2", "G2"])`)
	}
	return p.bad(tok.start, tok.end, p.report(e))
}

// quoteHint completes the complaint about quotes that are not closed.
func (p *parser) quoteHint(tok token) *source.Error {
	if tok.kind == quoted && tok.err.Hint == "" {
		tok.err.Hint = fmt.Sprintf("write: %s\"\ntext over several lines is a list or goes from <<END to END",
			p.line(tok.start))
	}
	return tok.err
}

func (p *parser) negative() *Value {
	start := p.tok.start
	if !p.deeper(start) {
		return p.bad(start, start, p.errs[len(p.errs)-1])
	}
	p.read()
	v := p.operand()
	p.depth--
	if v.kind == Bad {
		return v
	}
	return p.value(Negative, start, v)
}

func (p *parser) wordOrCall() *Value {
	name := p.tok
	if p.sharp(name) {
		e := p.report(p.sharpError(name))
		p.read()
		return p.bad(name.start, name.end, e)
	}
	p.read()
	if p.tok.kind != '(' {
		return p.value(Word, name.start)
	}
	v := p.bracketed(Call, name.start, p.tok.start, ')')
	v.nameEnd = name.end
	return v
}

// sharpError is for a sharp outside quotes, at the letter before it.
func (p *parser) sharpError(name token) *source.Error {
	pitch := string(p.file.bytes[name.start:p.file.lineEnd(name.start)])
	for i, r := range pitch {
		if i > 0 && r != '#' && (r < '0' || r > '9') {
			pitch = pitch[:i]
			break
		}
	}
	return p.file.fail(name.start, name.start+len(pitch), "outside quotes # begins a remark, so this sharp is lost",
		fmt.Sprintf("write pitches in quotes: %q", pitch))
}

// bracketed reads members parted by commas up to the closing bracket.
func (p *parser) bracketed(kind Kind, start, open int, closing tokenKind) *Value {
	if !p.deeper(open) {
		return p.bad(start, start, p.errs[len(p.errs)-1])
	}
	defer func() { p.depth-- }()
	outer := p.inside
	p.inside++
	p.read()
	v := &Value{file: p.file, kind: kind, Start: start}
	for p.tok.kind != closing {
		if p.attrAhead() || p.tok.kind == endOfText || p.tok.kind == '}' {
			p.inside = 0
			if v.kind == Bad {
				return p.bad(start, p.last, v.err)
			}
			return p.bad(start, p.last, p.report(p.file.fail(open, open+1,
				fmt.Sprintf("this %c is not closed", p.file.bytes[open]), fmt.Sprintf("close it with %c", closing))))
		}
		member := p.sum()
		if member.kind == Bad {
			v.kind, v.err = Bad, member.err
			p.skipMember(closing)
		}
		v.items = append(v.items, member)
		switch {
		case p.tok.kind == ',':
			p.read()
		case p.tok.kind != closing && v.kind != Bad && !p.attrAhead() && p.tok.kind != endOfText:
			v.kind, v.err = Bad, p.report(p.file.fail(p.tok.start, p.tok.end, "a comma is wanted here, or the closing "+
				string(rune(closing)), "members are parted by commas; several words stand in quotes"))
			p.skipMember(closing)
			if p.tok.kind == ',' {
				p.read()
			}
		}
	}
	p.inside = outer
	p.read()
	v.End = p.last
	return v
}

// attrAhead reports whether an attribute seems to begin at the next token: the
// bracket before it was not closed.
func (p *parser) attrAhead() bool { return p.tok.kind == word && p.peek().kind == '=' }

// skipMember goes to the comma or bracket after a member that could not be
// read.
func (p *parser) skipMember(closing tokenKind) {
	for p.tok.kind != ',' && p.tok.kind != closing && p.tok.kind != endOfText && p.tok.kind != '}' && !p.attrAhead() {
		p.read()
	}
}
