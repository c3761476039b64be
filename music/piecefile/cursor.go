package piecefile

import (
	"strings"

	"rollwright/exact"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// cursor reads the members of a cycle from its text, from left to right.
// Blanks, line ends and | part members.
type cursor struct {
	t     blocks.Text
	i     int
	end   int
	whole bool // the text is one member, blanks and all: a bare number
	tune  *melody
}

// melody is what members of a text take over from those before them.
type melody struct {
	octave   string    // of the pitch before; empty: none yet
	duration exact.Rat // of the item before; 0: none yet
}

func newCursor(t blocks.Text) *cursor { return &cursor{t: t, end: len(t.S)} }

// cursorOf is a cursor over the members of a value; remarks in a heredoc are blanks.
func cursorOf(v *blocks.Value, t blocks.Text) *cursor {
	if v.Kind() == blocks.Heredoc {
		t.S = withoutRemarks(t.S)
	}
	c := newCursor(t)
	c.whole = !v.IsText()
	c.tune = &melody{}
	return c
}

// withoutRemarks is text with blanks in place of its remarks: each from a # at the start of
// a line, or after a blank, to the end of the line.
func withoutRemarks(s string) string {
	if strings.IndexByte(s, '#') < 0 {
		return s
	}
	out, remark := []byte(s), false
	for i, c := range out {
		switch {
		case c == '\n':
			remark = false
		case c == '#' && (i == 0 || isBlank(s[i-1])):
			remark = true
		}
		if remark && c != '\r' {
			out[i] = ' '
		}
	}
	return string(out)
}

func isBlank(c byte) bool {
	return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '|'
}

// skip goes over blanks and reports whether something follows them.
func (c *cursor) skip() bool {
	for c.i < c.end && isBlank(c.t.S[c.i]) {
		c.i++
	}
	return c.i < c.end
}

// span is a piece of the cursor's text.
type span struct {
	c    *cursor
	i, j int
}

func (s span) String() string { return s.c.t.S[s.i:s.j] }

// Error marks the piece.
func (s span) Error(problem, hint string) *source.Error {
	return s.c.t.Error(s.i, s.j, problem, hint)
}

// offset is the byte of the file at which the piece begins, from 1, as piece.Pitch has it.
func (s span) offset() int32 { return int32(s.c.t.Offset(s.i)) + 1 }

// part is the piece of s from byte i to byte j of it.
func (s span) part(i, j int) span { return span{s.c, s.i + i, s.i + j} }

// inside is a cursor over a piece of the text.
func (s span) inside() *cursor { return &cursor{t: s.c.t, i: s.i, end: s.j, tune: s.c.tune} }

// item is the next run of characters without blanks; blanks within parentheses
// belong to it. A square bracket is an item of its own.
func (c *cursor) item() span {
	c.skip()
	start := c.i
	if c.whole {
		c.i = c.end
		return span{c, start, len(strings.TrimRight(c.t.S[:c.end], " \t\r\n"))}
	}
	open := 0
	for ; c.i < c.end; c.i++ {
		switch b := c.t.S[c.i]; {
		case b == '(':
			open++
		case b == ')' && open > 0:
			open--
		case open > 0:
		case isBlank(b):
			return span{c, start, c.i}
		case b == '[' || b == ']':
			if c.i == start {
				c.i++
			}
			return span{c, start, c.i}
		}
	}
	return span{c, start, c.i}
}

// peek is the next item, which stays next.
func (c *cursor) peek() span {
	at := c.i
	defer func() { c.i = at }()
	return c.item()
}

// follows goes over the next item when it is that word.
func (c *cursor) follows(word string) bool {
	at := c.i
	if c.skip() && strings.HasPrefix(c.t.S[c.i:c.end], word) && c.item().String() == word {
		return true
	}
	c.i = at
	return false
}

// rest is what follows, blanks at its ends left out.
func (c *cursor) rest() span {
	c.skip()
	s := span{c, c.i, c.end}
	c.i = c.end
	for s.j > s.i && isBlank(c.t.S[s.j-1]) {
		s.j--
	}
	return s
}
