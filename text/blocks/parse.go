package blocks

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"rollwright/text/source"
)

// parser reads tokens to a tree. After an error it goes on with the next item.
type parser struct {
	file   *text
	lex    lexer
	tok    token // the next one
	last   int   // the byte after the token before it
	fresh  bool  // tok is the first on its line
	inside int   // brackets open around tok, between which line ends are blanks
	depth  int
	limit  Options
	errs   source.Errors
	quiet  int  // the line that has its complaint already
	over   bool // given up: too many complaints, or too deep
}

func newParser(f *source.File, o Options) *parser {
	t := newText(f)
	return &parser{file: t, lex: lexer{t: t}, limit: o, fresh: true}
}

// checkText refuses what is no text of acceptable size.
func (p *parser) checkText() *source.Error {
	src := p.file.bytes
	if len(src) > p.limit.MaxBytes {
		return &source.Error{File: p.file.File, Problem: fmt.Sprintf("the file has %d bytes; %d are the most", len(src),
			p.limit.MaxBytes)}
	}
	for i := 0; i < len(src); {
		r, size := utf8.DecodeRune(src[i:])
		if r == utf8.RuneError && size == 1 {
			return p.file.fail(i, i+1, "this is not UTF-8 text", "save the file in the encoding UTF-8")
		}
		if r == '\r' && (i+1 == len(src) || src[i+1] != '\n') {
			return p.file.fail(i, i+1, "a carriage return without a line feed",
				"save the file with the line ends of Linux or of Windows")
		}
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0x7f {
			return p.file.fail(i, i+1, fmt.Sprintf("a character that cannot be seen (U+%04X)", r), "delete it")
		}
		i += size
	}
	if bytes.HasPrefix(src, []byte("\ufeff")) {
		p.lex.at = len("\ufeff")
		p.last = p.lex.at
	}
	p.tok = p.lex.next()
	return nil
}

// read goes on to the next token.
func (p *parser) read() {
	p.last = p.tok.end
	p.fresh = p.tok.kind == newline
	for p.tok = p.lex.next(); p.inside > 0 && p.tok.kind == newline; {
		p.tok = p.lex.next()
		p.fresh = true
	}
}

// peek is the token after the next one.
func (p *parser) peek() token {
	ahead := p.lex
	return ahead.next()
}

// report keeps one complaint a line, for the second is often an echo of the
// first, and stops the reading when there are too many.
func (p *parser) report(e *source.Error) *source.Error {
	if e.At.Line != p.quiet && len(p.errs) < maxErrors {
		p.errs = append(p.errs, e)
		p.quiet = e.At.Line
	}
	if len(p.errs) >= maxErrors {
		p.stop()
	}
	return e
}

func (p *parser) stop() {
	p.over = true
	p.lex.at = len(p.file.bytes)
	p.tok = token{kind: endOfText, start: p.lex.at, end: p.lex.at}
}

// deeper counts a level of nesting; false when there are too many, which ends
// the reading.
func (p *parser) deeper(at int) bool {
	p.depth++
	if p.depth <= p.limit.MaxDepth {
		return true
	}
	p.report(p.file.fail(at, at+1, fmt.Sprintf("brackets and blocks are nested more than %d deep", p.limit.MaxDepth), ""))
	p.stop()
	return false
}

// body reads items up to the closing brace of block, or for a nil block to the
// end of the text.
func (p *parser) body(block *Block) *Body {
	b := &Body{names: map[string]*Attr{}, file: p.file, start: p.last}
	layout := layout{crowded: -1, comma: -1}
	for {
		switch p.tok.kind {
		case newline:
			p.read()
		case ',', ';':
			layout.mark(p.tok.start)
			p.read()
		case endOfText:
			b.end = p.tok.start
			p.checkLayout(nil, b, layout)
			if block != nil && !p.over {
				p.quiet = 0
				p.report(p.file.fail(block.Start, p.headEnd(b), "this block is not closed", "close it with } on a line of its own"))
			}
			return b
		case '}':
			if block != nil {
				b.end = p.tok.start
				layout.close(p.fresh)
				p.checkLayout(block, b, layout)
				return b
			}
			p.report(p.file.fail(p.tok.start, p.tok.end, "this } closes nothing",
				"delete it, or look above for a { that is missing"))
			p.read()
		default:
			layout.item(p.tok.start, p.fresh)
			p.item(b)
		}
	}
}

// headEnd is the end of the last label before the brace that opens b.
func (p *parser) headEnd(b *Body) int {
	return len(bytes.TrimRight(p.file.bytes[:max(b.start-1, 0)], " \t\r\n"))
}

// item reads one attribute or block, or complains and goes to the next line.
func (p *parser) item(b *Body) {
	name := p.tok
	if name.kind != word {
		p.report(p.noItem(name))
		p.read()
		p.skipLine()
		return
	}
	p.read()
	switch kind := p.tok.kind; {
	case kind == '=':
		p.attr(b, name)
	case kind == '{' || kind == quoted || kind == word || p.inOtherQuotes(p.tok):
		p.block(b, name)
	default:
		p.report(p.noEquals(name))
		p.skipLine()
	}
}

func (p *parser) noItem(tok token) *source.Error {
	switch {
	case tok.err != nil:
		return tok.err
	case tok.kind == quoted:
		name := bytes.Trim(p.file.bytes[tok.start:tok.end], `"`)
		return p.file.fail(tok.start, tok.end, "a line cannot begin with text in quotes",
			fmt.Sprintf("names stand without quotes: %s%s", name, p.file.bytes[tok.end:p.file.lineEnd(tok.end)]))
	}
	return p.file.fail(tok.start, tok.end, "a line begins with a name, and this is none",
		`write a name, = and a value: tempo = 120`)
}

// noEquals is for a name that neither = nor { follows.
func (p *parser) noEquals(name token) *source.Error {
	word := p.string(name)
	rest := p.line(p.tok.start)
	if p.tok.kind == ':' {
		rest = p.line(p.tok.end)
	}
	if p.tok.kind == newline || p.tok.kind == endOfText || rest == "" {
		return p.file.fail(name.start, name.end, fmt.Sprintf("%s has no value", source.Printable(word)),
			fmt.Sprintf("write it after a sign =: %s = ...", word))
	}
	if p.tok.kind == '(' || p.tok.kind == ')' {
		return p.file.fail(name.start, name.end, fmt.Sprintf("after %s a sign = is wanted", source.Printable(word)),
			"what belongs to the line before is joined there: join(a, b)")
	}
	return p.file.fail(name.start, name.end, fmt.Sprintf("after %s a sign = is wanted", source.Printable(word)),
		fmt.Sprintf("write: %s = %s", word, rest))
}

// attr reads = and a value.
func (p *parser) attr(b *Body, name token) {
	equals := p.tok
	p.read()
	if p.tok.kind == '{' {
		p.equalsBlock(b, name, equals, nil)
		return
	}
	a := &Attr{Name: p.string(name), At: p.file.pos(name.start), Start: name.start}
	from := p.tok.start
	a.ValueAt = p.file.pos(from)
	if p.tok.kind == newline || p.tok.kind == endOfText || p.tok.kind == '}' {
		e := p.report(p.file.fail(name.start, p.last, fmt.Sprintf("%s has no value", source.Printable(a.Name)),
			fmt.Sprintf("write it after the =, or delete the line: %s = ...", a.Name)))
		a.Value = p.bad(from, from, e)
	} else {
		label := p.tok
		a.Value = p.sum()
		p.inside = 0
		if p.tok.kind == '{' && (a.Value.kind == Quoted || a.Value.kind == Word) {
			p.equalsBlock(b, name, equals, &label)
			return
		}
		if p.commaAhead(a.Value) {
			a.Value = p.noComma(a, from)
		}
		if a.Value.kind != Bad && !p.ended() {
			words := p.unquoted(a.Value.Start)
			a.Value = p.bad(from, p.file.lineEnd(from), p.report(p.noQuotes(a, words)))
			a.Value.several = words
		}
		if a.Value.kind == Bad && !p.fresh {
			p.skipLine()
		}
	}
	a.End = a.Value.End
	if twin := b.names[a.Name]; twin != nil {
		p.report(p.file.fail(name.start, name.end, fmt.Sprintf("%s is given a second time; line %d has it already",
			source.Printable(a.Name), twin.At.Line), "keep one of the two"))
		return
	}
	b.names[a.Name] = a
	b.Attrs = append(b.Attrs, a)
}

// ended reports whether an item may end before the next token: at a line end,
// a brace, or (which the layout complains about) where another item begins.
func (p *parser) ended() bool {
	switch p.tok.kind {
	case newline, endOfText, '}', ',', ';':
		return true
	case word:
		next := p.peek().kind
		return (next == '=' || next == '{') && !p.sharp(p.tok)
	}
	return false
}

// sharp reports whether tok is the letter of a pitch whose sharp begins a
// remark.
func (p *parser) sharp(tok token) bool {
	src := p.file.bytes
	if tok.kind != word || tok.end >= len(src) || src[tok.end] != '#' {
		return false
	}
	letter := src[tok.end-1] | 0x20
	return tok.end-tok.start == 1 && 'a' <= letter && letter <= 'g'
}

// unquoted is the words from offset on that stand where a value is wanted.
func (p *parser) unquoted(offset int) string {
	rest := p.line(offset)
	if n := len(rest); n > 0 && rest[n-1] == '}' {
		rest = string(bytes.TrimRight([]byte(rest[:n-1]), " \t"))
	}
	return rest
}

// noQuotes is for a value of several words without quotes around them.
func (p *parser) noQuotes(a *Attr, rest string) *source.Error {
	from := a.Value.Start
	hint := fmt.Sprintf("write: %s = %q", a.Name, bytes.ReplaceAll([]byte(rest), []byte(`"`), nil))
	if bytes.Contains([]byte(rest), []byte("#")) {
		hint += "\noutside quotes # begins a remark, so a sharp has to stand in quotes"
	}
	problem := "a value of several words stands in quotes"
	if bytes.IndexByte([]byte(rest), ' ') < 0 {
		problem = source.Printable(rest) + " is neither a number nor text in quotes"
	}
	return p.file.fail(from, from+len(rest), problem, hint)
}

// line is the text from offset to the end of the line, without a remark that
// follows blanks. The sharp of a pitch is no remark.
func (p *parser) line(offset int) string {
	rest := p.file.bytes[offset:p.file.lineEnd(offset)]
	for i := 1; i < len(rest); i++ {
		if (rest[i] == '#' || rest[i] == '/' && i+1 < len(rest) && rest[i+1] == '/') &&
			(rest[i-1] == ' ' || rest[i-1] == '\t') {
			rest = rest[:i]
		}
	}
	const longest = 120
	rest = bytes.TrimSpace(rest)
	if len(rest) > longest {
		rest = append(bytes.ToValidUTF8(rest[:longest:longest], nil), "..."...)
	}
	return string(rest)
}

// skipLine goes to the end of the item that could not be read: the line end
// after it, with every brace opened on the way closed again.
func (p *parser) skipLine() {
	p.inside = 0
	for open := 0; p.tok.kind != endOfText; p.read() {
		switch {
		case p.tok.kind == '{':
			open++
		case p.tok.kind == '}' && open == 0, p.tok.kind == newline && open == 0:
			return
		case p.tok.kind == '}':
			open--
		}
	}
}

func (p *parser) string(tok token) string { return string(p.file.bytes[tok.start:tok.end]) }
