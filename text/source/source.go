// Package source turns a complaint about a place in the user's text into a
// message: file, line and column, what is wrong, the line itself with a
// marker under the place, and how to write it right.
//
// Lines and columns count from 1; a column counts characters (runes), not
// bytes. All complaints about one text come together, in the order of their
// places, so that a person mends a file once and not error by error.
package source

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Pos is a place in a text: line and column, both from 1. The zero Pos means
// "no place": something that no line of the text says.
type Pos struct {
	Line, Column int
}

// Known reports whether p is a place at all.
func (p Pos) Known() bool { return p.Line > 0 }

func (p Pos) String() string { return fmt.Sprintf("%d:%d", p.Line, p.Column) }

// Before orders places from top to bottom, then left to right.
func (p Pos) Before(q Pos) bool {
	return p.Line < q.Line || p.Line == q.Line && p.Column < q.Column
}

// File is the user's text with the name under which a message speaks of it.
// "-" stands for standard input. A nil *File has no name and no text; a
// program that builds a piece without a file uses it.
type File struct {
	Name string
	Text []byte
}

// PosAt is the place of the byte at offset. An offset beyond the text is its
// end.
func (f *File) PosAt(offset int) Pos {
	text := f.Text[:min(max(offset, 0), len(f.Text))]
	line := 1 + bytes.Count(text, []byte("\n"))
	start := bytes.LastIndexByte(text, '\n') + 1
	return Pos{line, 1 + utf8.RuneCount(text[start:])}
}

// Line is the text of line n, from 1, without its line end. It is empty when
// there is no such line.
func (f *File) Line(n int) string {
	var r lineReader
	return r.line(f, n)
}

// A lineReader reads lines of texts. It goes on from the line it read last, so that
// many complaints in order read their text once.
type lineReader struct {
	file *File
	last int    // the line that rest begins with
	rest []byte // of the text
}

func (r *lineReader) line(f *File, n int) string {
	if f == nil {
		return ""
	}
	if f != r.file || n < r.last {
		*r = lineReader{f, 1, f.Text}
	}
	for ; r.last < n; r.last++ {
		end := bytes.IndexByte(r.rest, '\n')
		if end < 0 {
			r.file = nil // it was read to its end
			return ""
		}
		r.rest = r.rest[end+1:]
	}
	line, _, _ := bytes.Cut(r.rest, []byte("\n"))
	return string(bytes.TrimSuffix(line, []byte("\r")))
}

// Error is one complaint. Problem says what is wrong, in lower case and
// without a full stop; Hint says how to write it right and may be empty, or
// several lines.
type Error struct {
	File    *File
	At      Pos
	Width   int // characters to mark, from At; 0 marks one
	Problem string
	Hint    string
	More    int // mistakes of its kind that it stands for besides
}

// Error is the whole message over several lines:
//
//	tide.piece:4:11: there is no pitch "H2"
//	    color = "C2 H2"
//	                ^^
//	  write a letter from A to G, then # or b if wanted, then the octave: B2
func (e *Error) Error() string { return e.text(&lineReader{}) }

func (e *Error) text(lines *lineReader) string {
	var b strings.Builder
	b.WriteString(e.First())
	if line := lines.line(e.File, e.At.Line); e.At.Known() && line != "" {
		text, marker := excerpt(line, e.At.Column, max(e.Width, 1))
		fmt.Fprintf(&b, "\n    %s\n    %s", text, marker)
	}
	if e.Hint != "" {
		for line := range strings.SplitSeq(strings.TrimRight(e.Hint, "\n"), "\n") {
			b.WriteString("\n  " + line)
		}
	}
	return b.String()
}

// First is the first line of the message: place and problem.
func (e *Error) First() string {
	name := ""
	if e.File != nil {
		name = Printable(e.File.Name)
	}
	switch {
	case name == "":
		return e.Problem
	case !e.At.Known():
		return fmt.Sprintf("%s: %s", name, e.Problem)
	}
	return fmt.Sprintf("%s:%v: %s", name, e.At, e.Problem)
}

// excerptWidth is how much of a line a message shows; chosen so that a message
// fits a terminal of 80 columns.
const excerptWidth = 72

// excerpt cuts a long line to the part around column and makes it printable.
// It returns that part and a marker of the given width to stand under it.
func excerpt(line string, column, width int) (text, marker string) {
	line, cut := near(line, column)
	column -= cut
	runes := []rune(Printable(line))
	from := 0
	if column > excerptWidth-12 {
		from = min(column-excerptWidth/2, len(runes))
	}
	to := min(from+excerptWidth, len(runes))
	text = string(runes[from:to])
	if from+cut > 0 {
		text = "..." + text
		column += 3
	}
	if to < len(runes) {
		text += "..."
	}
	column -= from
	width = max(1, min(width, utf8.RuneCountInString(text)-column+1))
	return text, strings.Repeat(" ", max(column-1, 0)) + strings.Repeat("^", width)
}

// nearWidth is how much of a line beside its place is looked at: a line of a
// megabyte with ten thousand mistakes is not turned to characters at each.
const nearWidth = 200

// near is a long line from so many characters before a column, which counts from
// 1, to so many after it, and how many characters stand before that.
func near(line string, column int) (part string, cut int) {
	if len(line) <= 2*nearWidth {
		return line, 0
	}
	from, to, n := 0, len(line), 0
	for i := range line {
		n++
		if n == column-nearWidth {
			from, cut = i, n-1
		}
		if n > column+nearWidth {
			to = i
			break
		}
	}
	return line[from:to], cut
}

// Printable replaces every character that a terminal would act on, or that has
// no glyph, by one that can be seen: a tab by a blank, the rest by U+FFFD. The
// number of characters stays the same.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t':
			return ' '
		case !unicode.IsPrint(r) && r != ' ':
			return utf8.RuneError
		}
		return r
	}, s)
}

// Errors are all complaints about one text. A nil or empty Errors is no error:
// hand it on through Err.
type Errors []*Error

// Count is how many mistakes there are, those that a complaint stands for besides among them.
func (es Errors) Count() int {
	n := len(es)
	for _, e := range es {
		n += e.More
	}
	return n
}

// Err is nil when there are no complaints, else the complaints in the order of
// their places.
func (es Errors) Err() error {
	if len(es) == 0 {
		return nil
	}
	sorted := slices.Clone(es)
	slices.SortStableFunc(sorted, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.At.Line, b.At.Line), cmp.Compare(a.At.Column, b.At.Column))
	})
	return sorted
}

func (es Errors) Error() string {
	parts := make([]string, len(es))
	var lines lineReader
	for i, e := range es {
		parts[i] = e.text(&lines)
	}
	return strings.Join(parts, "\n")
}

// Nearest is the name among names that a person most likely meant by word, and
// false when none is close: at most a third of the letters may differ (edit
// distance of Damerau and Levenshtein, adjacent transpositions counted once).
func Nearest(word string, names []string) (string, bool) {
	best, bestDistance := "", max(1, len(word)/3)+1
	word = strings.ToLower(word)
	for _, name := range names {
		if apart := len(word) - len(name); max(apart, -apart) >= bestDistance {
			continue // the distance is at least that
		}
		if d := distance(word, strings.ToLower(name)); d < bestDistance {
			best, bestDistance = name, d
		}
	}
	return best, best != ""
}

// distance is the edit distance with adjacent transpositions (optimal string
// alignment). Only the last three rows of the table are kept.
func distance(a, b string) int {
	const longest = 64
	if len(a) > longest || len(b) > longest {
		return len(a) + len(b)
	}
	var rows [3][longest + 1]int
	before, above, row := &rows[0], &rows[1], &rows[2]
	for j := range len(b) + 1 {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		before, above, row = above, row, before
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			d := min(above[j]+1, row[j-1]+1, above[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, before[j-2]+1)
			}
			row[j] = d
		}
	}
	return row[len(b)]
}
