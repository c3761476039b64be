package web

import (
	"unicode/utf8"

	"rollwright/text/source"
)

// offsets turns places of a text, in bytes or in lines and columns, into
// offsets in UTF-16 code units, as strings of the page count.
type offsets struct {
	text  string
	lines []int // where each line starts, in bytes
	marks []int // UTF-16 units before every markEvery-th byte, or the rune it is in; nil: every byte is a unit
}

const markEvery = 1024

func newOffsets(text string) *offsets {
	o := &offsets{text: text, lines: []int{0}}
	plain := true
	for i := 0; i < len(text); i++ {
		if text[i] == '\n' {
			o.lines = append(o.lines, i+1)
		}
		plain = plain && text[i] < utf8.RuneSelf
	}
	if plain {
		return o
	}
	units, next := 0, 0
	for i, r := range text {
		for i >= next {
			o.marks = append(o.marks, units)
			next += markEvery
		}
		units += width16(r)
	}
	return o
}

// width16 is how many UTF-16 units a rune takes.
func width16(r rune) int {
	if r > 0xffff {
		return 2
	}
	return 1
}

// at is the offset of a byte; that of the text's end beyond it.
func (o *offsets) at(b int) int {
	b = min(max(b, 0), len(o.text))
	if o.marks == nil {
		return b
	}
	mark := min(b/markEvery, len(o.marks)-1)
	from := mark * markEvery
	for from < len(o.text) && !utf8.RuneStart(o.text[from]) {
		from++
	}
	units := o.marks[mark]
	if from > b {
		return units
	}
	for _, r := range o.text[from:b] {
		units += width16(r)
	}
	return units
}

// byteOf is the byte at a line and column; 0 for no place.
func (o *offsets) byteOf(p source.Pos) int {
	if !p.Known() || p.Line > len(o.lines) {
		return 0
	}
	b := o.lines[p.Line-1]
	for range p.Column - 1 {
		if b >= len(o.text) || o.text[b] == '\n' {
			break
		}
		_, size := utf8.DecodeRuneInString(o.text[b:])
		b += size
	}
	return b
}

// span is the stretch of a complaint: so many characters from a place, at least
// one, on its line.
func (o *offsets) span(p source.Pos, width int) (from, to int) {
	from = o.byteOf(p)
	if !p.Known() {
		return 0, 0
	}
	to = from
	for range max(width, 1) {
		if to >= len(o.text) || o.text[to] == '\n' {
			break
		}
		_, size := utf8.DecodeRuneInString(o.text[to:])
		to += size
	}
	return o.at(from), o.at(to)
}
