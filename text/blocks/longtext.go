package blocks

import (
	"bytes"

	"rollwright/text/source"
)

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
		return l.t.fail(i, i+2, "text cannot be put together with "+string(src[i:i+2]),
			"to write these two characters themselves, double the first: "+string(src[i])+string(src[i:i+2]))
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
