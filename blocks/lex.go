package blocks

import (
	"bytes"
	"unicode"
	"unicode/utf8"

	"rollwright/source"
)

// tokenKind is the kind of a token; a single character stands for itself.
type tokenKind rune

const (
	endOfText tokenKind = 0
	newline   tokenKind = '\n'
	word      tokenKind = 'w' // a name
	number    tokenKind = 'n'
	quoted    tokenKind = '"' // with both quotes
	heredoc   tokenKind = 'h' // from << to the closing marker
	comment   tokenKind = '#' // only inside the lexer
	broken    tokenKind = '?' // what no token begins with, or a token with an error
)

// token is a piece of the text, from its first byte to the byte after it.
type token struct {
	kind       tokenKind
	start, end int
	err        *source.Error // of a broken quoted text, heredoc or sign
}

// lexer hands out one token after the other. It is a value: a copy of it looks
// ahead.
type lexer struct {
	t  *text
	at int
}

// next is the next token, comments and blanks left out.
func (l *lexer) next() token {
	for {
		tok := l.any()
		if tok.kind != comment {
			return tok
		}
	}
}

func (l *lexer) any() token {
	src := l.t.bytes
	for l.at < len(src) && (src[l.at] == ' ' || src[l.at] == '\t') {
		l.at++
	}
	start := l.at
	if start == len(src) {
		return token{kind: endOfText, start: start, end: start}
	}
	kind := tokenKind(src[start])
	var err *source.Error
	switch c := src[start]; {
	case c == '\n':
		l.at++
	case c == '\r' && l.has("\r\n"):
		kind, l.at = newline, l.at+2
	case c == '#' || l.has("//"):
		kind, l.at = comment, l.t.lineEnd(start)
	case l.has("/*"):
		kind, err = l.longComment()
	case c == '"':
		err = l.quotedText()
	case l.has("<<"):
		kind, err = heredoc, l.heredoc()
	case '0' <= c && c <= '9':
		kind, err = number, l.number()
	case bytes.IndexByte([]byte("{}[]()=,+-*/%:;."), c) >= 0:
		l.at++
	default:
		kind, err = l.wordOrSign()
	}
	return token{kind: kind, start: start, end: l.at, err: err}
}

func (l *lexer) has(prefix string) bool {
	return bytes.HasPrefix(l.t.bytes[l.at:], []byte(prefix))
}

func (l *lexer) longComment() (tokenKind, *source.Error) {
	start := l.at
	n := bytes.Index(l.t.bytes[start+2:], []byte("*/"))
	if n < 0 {
		l.at = len(l.t.bytes)
		return broken, l.t.fail(start, start+2, "this remark has no end", "close it with */ , or begin it with # and let it end with the line")
	}
	l.at = start + 2 + n + 2
	return comment, nil
}

// number takes what HCL takes as one: digits, points and exponents.
func (l *lexer) number() *source.Error {
	src, start := l.t.bytes, l.at
	isDigit := func(i int) bool { return i < len(src) && '0' <= src[i] && src[i] <= '9' }
	exponent := false
	for l.at++; ; {
		switch i := l.at; {
		case isDigit(i):
			l.at++
		case i < len(src) && src[i] == '.' && isDigit(i+1):
			l.at += 2
		case i < len(src) && src[i]|0x20 == 'e' && isDigit(i+1):
			exponent, l.at = true, l.at+2
		case i+1 < len(src) && src[i]|0x20 == 'e' && (src[i+1] == '-' || src[i+1] == '+') && isDigit(i+2):
			exponent, l.at = true, l.at+3
		default:
			return l.checkNumber(start, exponent)
		}
	}
}

func (l *lexer) checkNumber(start int, exponent bool) *source.Error {
	literal := l.t.bytes[start:l.at]
	switch {
	case len(literal) > maxNumber:
		return l.t.fail(start, l.at, "this number is too long", "64 digits are more than any length or speed needs")
	case exponent:
		return l.t.fail(start, l.at, "a number with an exponent", "write it out, as a decimal or a fraction: 0.001 or 1/1000")
	case bytes.Count(literal, []byte(".")) > 1:
		return l.t.fail(start, l.at, "a number with two decimal points", "write one point, or put text in quotes")
	}
	return nil
}

// quotedText goes to the closing quote. A quote that does not close ends with
// its line, so that the lines below can be read.
func (l *lexer) quotedText() *source.Error {
	src, start := l.t.bytes, l.at
	var err *source.Error
	for l.at++; l.at < len(src); l.at++ {
		switch src[l.at] {
		case '"':
			l.at++
			return err
		case '\\':
			if l.at+1 < len(src) && src[l.at+1] != '\n' && src[l.at+1] != '\r' {
				l.at++
			}
		case '$', '%':
			if e := l.interpolation(); e != nil && err == nil {
				err = e
			}
		case '\n':
			return l.unclosed(start)
		}
	}
	return l.unclosed(start)
}

func (l *lexer) unclosed(start int) *source.Error {
	l.at = l.t.lineEnd(start)
	return l.t.fail(start, l.at, "these quotes are not closed on their line", "")
}

// interpolation refuses ${ and %{, and steps over their escapes $${ and %%{.
func (l *lexer) interpolation() *source.Error {
	src, i := l.t.bytes, l.at
	switch {
	case i+1 < len(src) && src[i+1] == '{':
		return l.t.fail(i, i+2, "text cannot be put together with "+string(src[i:i+2]), "to write these two characters themselves, double the first: "+string(src[i])+string(src[i:i+2]))
	case i+2 < len(src) && src[i+1] == src[i] && src[i+2] == '{':
		l.at += 2
	}
	return nil
}

// heredoc goes from << to the line that is the marker alone.
func (l *lexer) heredoc() *source.Error {
	src, start := l.t.bytes, l.at
	l.at += 2
	if l.at < len(src) && src[l.at] == '-' {
		l.at++
	}
	from := l.at
	l.word()
	marker, open := src[from:l.at], l.t.lineEnd(l.at)
	if len(marker) == 0 || l.at != open || open == len(src) {
		l.at = open
		return l.t.fail(start, open, "after << a word is wanted that closes the text, and nothing else on the line",
			"write: talea = <<END\nthen the lines, then END alone on the last line")
	}
	var err *source.Error
	for at := nextLine(src, open); at < len(src); at = nextLine(src, at) {
		end := l.t.lineEnd(at)
		if bytes.Equal(bytes.TrimSpace(src[at:end]), marker) {
			l.at = at + bytes.Index(src[at:end], marker) + len(marker)
			if end == len(src) {
				return l.t.fail(at, end, "the file ends here, without a line end", "press return after "+string(marker))
			}
			return err
		}
		for l.at = at; l.at < end; l.at++ {
			if c := src[l.at]; c == '$' || c == '%' {
				if e := l.interpolation(); e != nil && err == nil {
					err = e
				}
			}
		}
	}
	l.at = len(src)
	return l.t.fail(start, open, "this text has no end", "close it with a line that is "+string(marker)+" alone")
}

// nextLine is the start of the line after offset.
func nextLine(src []byte, offset int) int {
	n := bytes.IndexByte(src[offset:], '\n')
	if n < 0 {
		return len(src)
	}
	return offset + n + 1
}

// word goes over a name: letters, digits, _ and -.
func (l *lexer) word() {
	for first := true; l.at < len(l.t.bytes); first = false {
		r, size := utf8.DecodeRune(l.t.bytes[l.at:])
		inner := !first && (r == '-' || unicode.IsDigit(r) || unicode.IsMark(r))
		if r != '_' && !unicode.IsLetter(r) && !inner {
			return
		}
		l.at += size
	}
}

func (l *lexer) wordOrSign() (tokenKind, *source.Error) {
	start := l.at
	if l.word(); l.at > start {
		if l.at-start > maxNameBytes {
			return broken, l.t.fail(start, l.at, "this name is too long", "200 characters are the most")
		}
		return word, nil
	}
	r, size := utf8.DecodeRune(l.t.bytes[start:])
	l.at += size
	switch r {
	case '“', '”', '„', '‘', '’', '\'', '«', '»', '`':
		return broken, l.t.fail(start, l.at, "these are not the quotes of a piece file", `use the plain double quote: "`)
	}
	return broken, l.t.fail(start, l.at, "the sign "+source.Printable(string(r))+" means nothing here", "text stands in quotes; a remark begins with #")
}
