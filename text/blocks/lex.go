package blocks

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"rollwright/text/source"
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
		return broken, l.t.fail(start, start+2, "this remark has no end",
			"close it with */ , or begin it with # and let it end with the line")
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

// verticalTilde counts as a letter in Unicode, but as a sign in its rules for
// names (UAX 31).
const verticalTilde = '\u2e2f'

// word goes over a name: letters, digits, _ and -.
func (l *lexer) word() {
	for first := true; l.at < len(l.t.bytes); first = false {
		r, size := utf8.DecodeRune(l.t.bytes[l.at:])
		inner := !first && (r == '-' || unicode.IsDigit(r) || unicode.In(r, unicode.Mn, unicode.Mc))
		if r != '_' && (!unicode.IsLetter(r) || r == verticalTilde) && !inner {
			return
		}
		l.at += size
	}
}

// otherQuotes are what a word processor makes of the plain double quote, and what
// other languages take for it.
const otherQuotes = "“”„‘’'«»`"

// otherQuotes goes over text in such quotes, up to the next quote of any kind on
// the line.
func (l *lexer) otherQuotes(start int) *source.Error {
	const problem = "these are not the quotes of a piece file"
	from := l.at
	rest := l.t.bytes[from:l.t.lineEnd(from)]
	n := bytes.IndexAny(rest, otherQuotes+`"`)
	if n < 0 {
		return l.t.fail(start, l.at, problem, `use the plain double quote: "`)
	}
	_, size := utf8.DecodeRune(rest[n:])
	l.at += n + size
	return l.t.fail(start, l.at, problem, fmt.Sprintf("write straight quotes: \"%s\"", rest[:n]))
}

// withoutQuotes is the text in other quotes.
func withoutQuotes(tok []byte) string { return strings.Trim(string(tok), otherQuotes+`"`) }

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
	if strings.ContainsRune(otherQuotes, r) {
		return broken, l.otherQuotes(start)
	}
	return broken, l.t.fail(start, l.at, "the sign "+source.Printable(string(r))+" means nothing here",
		"text stands in quotes; a remark begins with #")
}
