package blocks

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"

	"rollwright/text/source"
)

// Text is the meaning of quoted text or of a heredoc, each of whose bytes knows
// its place in the file.
type Text struct {
	S     string
	v     *Value
	joins []join
}

// join says that the bytes of Text.S from at on stand in the file from offset
// on, up to the next join.
type join struct{ at, offset int }

// Offset is the byte of the file at which byte i of the text stands.
func (t Text) Offset(i int) int {
	if len(t.joins) == 0 {
		return t.v.Start
	}
	lo, hi := 0, len(t.joins)
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; t.joins[mid].at <= i {
			lo = mid
		} else {
			hi = mid
		}
	}
	return t.joins[lo].offset + i - t.joins[lo].at
}

// Error is a complaint that marks the bytes from i to j of the text.
func (t Text) Error(i, j int, problem, hint string) *source.Error {
	start := t.Offset(i)
	end := start
	if j > i {
		end = t.Offset(j-1) + 1
	}
	return t.v.ErrorAt(start, max(end, start), problem, hint)
}

// Str is the meaning of quoted text or of a heredoc.
func (v *Value) Str() (string, *source.Error) {
	t, err := v.Text()
	return t.S, err
}

// Text is like Str, with places.
func (v *Value) Text() (Text, *source.Error) {
	switch v.kind {
	case Bad:
		return Text{}, v.err
	case Quoted:
		return v.unquote()
	case Heredoc:
		return v.lines(), nil
	}
	return Text{}, v.Error("text in quotes is wanted here", "write: "+quote(v.Raw()))
}

// Written is the meaning of quoted text or of a heredoc, and any other value as
// it stands in the file.
func (v *Value) Written() (Text, *source.Error) {
	if v.IsText() || v.kind == Bad {
		return v.Text()
	}
	return Text{v.Raw(), v, []join{{0, v.Start}}}, nil
}

// PlainText is text that stands nowhere in the file, and is reported at the value.
func PlainText(v *Value, s string) Text { return Text{s, v, nil} }

// builder joins pieces of the file.
type builder struct {
	s     strings.Builder
	joins []join
}

func (b *builder) add(piece []byte, offset int) {
	b.joins = append(b.joins, join{b.s.Len(), offset})
	b.s.Write(piece)
}

// unquote carries out the escapes of quoted text.
func (v *Value) unquote() (Text, *source.Error) {
	src := v.file.bytes
	var b builder
	from := v.Start + 1
	for i := from; i < v.End-1; i++ {
		c := src[i]
		doubled := (c == '$' || c == '%') && i+2 < v.End && src[i+1] == c && src[i+2] == '{'
		if c != '\\' && !doubled {
			continue
		}
		b.add(src[from:i], from)
		if doubled {
			i++
			from = i
			continue
		}
		meaning, size, ok := escape(src[i+1 : v.End-1])
		if !ok {
			return Text{}, v.ErrorAt(i, i+2, "a backslash that means nothing here",
				`write \\ for a backslash, \" for a quote, \n for a new line`)
		}
		b.add(meaning, i)
		i += size
		from = i + 1
	}
	b.add(src[from:max(v.End-1, from)], from)
	return Text{b.s.String(), v, b.joins}, nil
}

// escape is the meaning of what follows a backslash, and its length.
func escape(s []byte) (meaning []byte, size int, ok bool) {
	if len(s) == 0 {
		return nil, 0, false
	}
	switch s[0] {
	case 'n':
		return []byte("\n"), 1, true
	case 'r':
		return []byte("\r"), 1, true
	case 't':
		return []byte("\t"), 1, true
	case '"', '\\':
		return s[:1], 1, true
	case 'u':
		return codePoint(s, 4)
	case 'U':
		return codePoint(s, 8)
	}
	return nil, 0, false
}

// codePoint reads the hexadecimal digits of \u and \U. Characters that cannot
// be seen are refused here as they are in the file itself.
func codePoint(s []byte, digits int) ([]byte, int, bool) {
	if len(s) < 1+digits {
		return nil, 0, false
	}
	n, err := strconv.ParseUint(string(s[1:1+digits]), 16, 32)
	r := rune(n)
	if err != nil || n > utf8.MaxRune || !utf8.ValidRune(r) || r < ' ' || r == 0x7f {
		return nil, 0, false
	}
	return utf8.AppendRune(nil, r), 1 + digits, true
}

// lines is the inside of a heredoc. After <<- the blanks that all lines begin
// with are left out.
func (v *Value) lines() Text {
	src := v.file.bytes
	flush := src[v.Start+2] == '-'
	first := nextLine(src, v.Start)
	last := bytes.LastIndexByte(src[:v.End], '\n') + 1
	indent := 0
	if flush {
		indent = v.indent(first, last)
	}
	var b builder
	for at := first; at < last; {
		next := nextLine(src, at)
		b.heredocLine(src, min(at+indent, v.file.lineEnd(at)), next)
		at = next
	}
	return Text{b.s.String(), v, b.joins}
}

// heredocLine adds a line, its end as a line feed, doubled signs made single.
func (b *builder) heredocLine(src []byte, from, next int) {
	end := next
	crlf := bytes.HasSuffix(src[from:next], []byte("\r\n"))
	if crlf {
		end -= 2
	}
	for i := from; i+2 < end; i++ {
		if (src[i] == '$' || src[i] == '%') && src[i+1] == src[i] && src[i+2] == '{' {
			b.add(src[from:i], from)
			from = i + 1
			i++
		}
	}
	b.add(src[from:end], from)
	if crlf {
		b.add([]byte("\n"), end+1)
	}
}

// indent is the least number of blanks at the start of the lines, empty lines
// left out.
func (v *Value) indent(first, last int) int {
	src, least := v.file.bytes, -1
	for at := first; at < last; at = nextLine(src, at) {
		line := src[at:v.file.lineEnd(at)]
		blanks := len(line) - len(bytes.TrimLeft(line, " \t"))
		if blanks < len(line) && (least < 0 || blanks < least) {
			least = blanks
		}
	}
	return max(least, 0)
}
