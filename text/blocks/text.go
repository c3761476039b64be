package blocks

import (
	"slices"
	"unicode/utf8"

	"rollwright/text/source"
)

// text is a file with the starts of its lines, so that the place of a byte is
// found without reading the file again.
type text struct {
	*source.File
	bytes  []byte
	lines  []int // byte offset of each line's start
	offset int   // a place already worked out, of which the next is often to the right
	column int
}

func newText(f *source.File) *text {
	t := &text{File: f, bytes: f.Text, lines: []int{0}, column: 1}
	for i, c := range f.Text {
		if c == '\n' {
			t.lines = append(t.lines, i+1)
		}
	}
	return t
}

// pos is the place of the byte at offset. A long line is not counted from its
// start when the place asked for before is nearer.
func (t *text) pos(offset int) source.Pos {
	n, found := slices.BinarySearch(t.lines, offset)
	if !found {
		n--
	}
	from, column := t.lines[n], 1
	switch {
	case t.offset >= from && t.offset <= offset:
		column = t.column + utf8.RuneCount(t.bytes[t.offset:offset])
	case t.offset > offset && t.offset-offset < offset-from && t.offset <= t.lineEnd(offset):
		column = t.column - utf8.RuneCount(t.bytes[offset:t.offset])
	default:
		column += utf8.RuneCount(t.bytes[from:offset])
	}
	t.offset, t.column = offset, column
	return source.Pos{Line: n + 1, Column: column}
}

// lineEnd is the offset of the line end at or after offset, a carriage return
// before it excluded.
func (t *text) lineEnd(offset int) int {
	n, _ := slices.BinarySearch(t.lines, offset+1)
	end := len(t.bytes)
	if n < len(t.lines) {
		end = t.lines[n] - 1
	}
	if end > offset && t.bytes[end-1] == '\r' {
		end--
	}
	return end
}

// fail is a complaint about the bytes from start to end, of which the first
// line is marked.
func (t *text) fail(start, end int, problem, hint string) *source.Error {
	end = min(end, t.lineEnd(start))
	width := 1
	if end > start {
		width = utf8.RuneCount(t.bytes[start:end])
	}
	return &source.Error{File: t.File, At: t.pos(start), Width: width, Problem: problem, Hint: hint}
}
