package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"rollwright/text/cell"
	"rollwright/text/source"
)

// Kind is what the rows of a table are.
type Kind int8

// The kinds of tables that can be read.
const (
	Neither Kind = iota
	Events       // as WriteEvents lists them
	Holes        // as WriteHoles lists them
)

// The bounds of what is read.
const (
	MaxRows   = 5_000_000
	maxVoices = 100_000
	maxSec    = 1e6 // eleven days, either way from 0
	maxMM     = 2e7 // twenty kilometres of paper, likewise: ten hours at the fastest roll tempo
	maxErrors = 20  // complaints about one table
)

// The columns without which a table of each kind says nothing.
var (
	eventColumns = []string{"key", "start_s", "end_s"}
	holeColumns  = []string{"port", "lead_mm", "trail_mm"}
	keyedColumns = []string{"key", "lead_mm", "trail_mm"} // where only notes are listed
)

// KindOf tells by its first row what a table lists: Holes when it has the
// columns lead_mm, trail_mm and port (or key), else Events when it has key,
// start_s and end_s. Their order, other columns and a byte order mark do not matter. The
// error (a source.Errors) says why the text is neither.
func KindOf(f *source.File) (Kind, error) {
	g := newGrid(f)
	if err := g.errs.Err(); err != nil {
		return Neither, err
	}
	if g.has("found_lead_mm") {
		g.failAt(source.Pos{Line: 1, Column: 1}, 1, "this lists differences, not holes",
			"it is what proof found; give the table of holes that the roll was read into")
		return Neither, g.errs.Err()
	}
	if len(g.missing(g.holeColumns())) == 0 {
		return Holes, nil
	}
	if len(g.missing(eventColumns)) == 0 {
		return Events, nil
	}
	g.failNeither()
	return Neither, g.errs.Err()
}

// holeColumns are what a table of holes needs, with key in place of port where
// there is no port.
func (g *grid) holeColumns() []string {
	if !g.has("port") && g.has("key") {
		return keyedColumns
	}
	return holeColumns
}

func (g *grid) failNeither() {
	nearest := eventColumns
	if holes := g.holeColumns(); len(g.missing(holes)) < len(g.missing(eventColumns)) {
		nearest = holes
	}
	g.failMissing(nearest, "a table of notes has the columns key, start_s and end_s; a table of holes port, lead_mm and\n"+
		"trail_mm; their names stand in the first row, separated by commas")
}

// grid reads the rows of a table and keeps what is wrong with them.
type grid struct {
	file   *source.File // without a byte order mark
	csv    *csv.Reader
	column map[string]int // of each name in the first row
	cells  []string       // of the row read last
	rows   int            // read, the first not counted
	errs   source.Errors
}

// newGrid reads the first row.
func newGrid(f *source.File) *grid {
	text := bytes.TrimPrefix(f.Text, []byte("\ufeff"))
	g := &grid{file: &source.File{Name: f.Name, Text: text}, csv: csv.NewReader(bytes.NewReader(text))}
	g.csv.ReuseRecord = true
	if bytes.IndexByte(text[:min(len(text), 4096)], 0) >= 0 {
		g.fail("this is no table in text", "save it as CSV in UTF-8, with commas")
		return g
	}
	names, err := g.csv.Read()
	if errors.Is(err, io.EOF) {
		g.fail("the table is empty", "its first row holds the names of its columns")
		return g
	}
	if err != nil {
		g.failRow(err)
		return g
	}
	g.name(names)
	return g
}

// name takes the names of the columns.
func (g *grid) name(names []string) {
	if len(names) == 1 && strings.ContainsAny(names[0], ";\t") {
		g.failAt(source.Pos{Line: 1, Column: 1}, 1, "the columns are not separated by commas",
			"save the table as CSV with commas between the cells and points in the numbers")
		return
	}
	g.cells, g.column = names, make(map[string]int, len(names))
	for i, name := range names {
		name = strings.ToLower(strings.TrimSpace(name))
		if _, twice := g.column[name]; twice && name != "" {
			g.failCell(i, fmt.Sprintf("the column %q stands here a second time", name), "leave one of the two out")
		}
		g.column[name] = i
	}
}

func (g *grid) has(name string) bool {
	_, ok := g.column[name]
	return ok
}

// missing are those of the names that no column has.
func (g *grid) missing(names []string) []string {
	var out []string
	for _, name := range names {
		if !g.has(name) {
			out = append(out, name)
		}
	}
	return out
}

// need complains where a column is missing.
func (g *grid) need(names []string, hint string) {
	if len(g.errs) == 0 && len(g.missing(names)) > 0 {
		g.failMissing(names, hint)
	}
}

func (g *grid) failMissing(names []string, hint string) {
	missing := g.missing(names)
	known := make([]string, 0, len(g.column))
	for name := range g.column {
		known = append(known, name)
	}
	slices.Sort(known)
	problem := "there is no column " + missing[0]
	if len(missing) > 1 {
		problem = fmt.Sprintf("there are no columns %s and %s",
			strings.Join(missing[:len(missing)-1], ", "), missing[len(missing)-1])
	}
	if near, ok := source.Nearest(missing[0], known); ok {
		hint = fmt.Sprintf("is %q meant to be %s?\n", source.Printable(near), missing[0]) + hint
	}
	g.failAt(source.Pos{Line: 1, Column: 1}, 1, problem, hint)
}

// next reads a row; it reports false at the end, or when reading on makes no
// sense.
func (g *grid) next() bool {
	if len(g.errs) >= maxErrors {
		return false
	}
	for {
		cells, err := g.csv.Read()
		switch {
		case errors.Is(err, io.EOF):
			return false
		case err != nil:
			g.failRow(err)
			return false
		case g.rows == MaxRows:
			g.failCell(0, fmt.Sprintf("the table has more than %d rows", MaxRows), "divide it")
			return false
		}
		g.cells = cells
		g.rows++
		if !blank(cells) {
			return true
		}
	}
}

// about is how many rows there may be.
func (g *grid) about() int {
	return min(bytes.Count(g.file.Text, []byte("\n")), MaxRows)
}

// blank reports a row of empty cells, as spreadsheets leave them behind.
func blank(cells []string) bool {
	for _, cell := range cells {
		if strings.TrimSpace(cell) != "" {
			return false
		}
	}
	return true
}

// cell is the text in a column of the row; empty when there is none.
func (g *grid) cell(name string) string {
	i, ok := g.column[name]
	if !ok {
		return ""
	}
	return strings.TrimSpace(g.cells[i])
}

// whole reads a whole number in a column, from least to most, or takes other
// where the cell is empty.
func (g *grid) whole(name string, least, most, other int) int {
	text := g.cell(name)
	if text == "" {
		return other
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		if x, e := strconv.ParseFloat(text, 64); e == nil && x == math.Trunc(x) && math.Abs(x) < 1e9 {
			n, err = int(x), nil // 60.0, as some programs write 60
		}
	}
	switch {
	case err != nil:
		g.failCell(g.column[name], fmt.Sprintf("%s cannot be %q", name, clipped(text)), "write a whole number")
	case n < least || n > most:
		g.failCell(g.column[name], fmt.Sprintf("%s %s is out of range", name, clipped(text)),
			fmt.Sprintf("it runs from %d to %d", least, most))
	}
	return min(max(n, least), most)
}

// needWhole is whole for a column that must not be empty.
func (g *grid) needWhole(name string, least, most int) int {
	if g.cell(name) == "" {
		g.failEmpty(name)
		return least
	}
	return g.whole(name, least, most, least)
}

// number reads a decimal number within plus or minus most.
func (g *grid) number(name string, most float64) float64 {
	text := g.cell(name)
	if text == "" {
		g.failEmpty(name)
		return 0
	}
	x, err := strconv.ParseFloat(text, 64)
	switch {
	case err != nil && strings.Contains(text, ","):
		g.failCell(g.column[name], fmt.Sprintf("%s cannot be %q", name, clipped(text)), "write the number with a point: 1.5")
	case err != nil && !errors.Is(err, strconv.ErrRange) || x != x:
		g.failCell(g.column[name], fmt.Sprintf("%s cannot be %q", name, clipped(text)), "write a number such as 1.25")
	case math.Abs(x) > most:
		g.failCell(g.column[name], fmt.Sprintf("%s %s is out of range", name, clipped(text)),
			fmt.Sprintf("it runs from -%.0f to %.0f", most, most))
	default:
		return x
	}
	return 0
}

// text reads a name, without the sign that keeps a spreadsheet from taking it
// for a formula.
func (g *grid) text(name string) string {
	i, ok := g.column[name]
	if !ok || strings.TrimSpace(g.cells[i]) == "" {
		return ""
	}
	text := g.cells[i]
	if !utf8.ValidString(text) {
		g.failCell(i, fmt.Sprintf("%s is not in UTF-8", name), "save the table as CSV in UTF-8")
		return ""
	}
	return cell.Read(text)
}

// clipped is a cell as a message shows it.
func clipped(text string) string {
	text = source.Printable(text)
	if runes := []rune(text); len(runes) > 24 {
		return string(runes[:24]) + "..."
	}
	return text
}

func (g *grid) fail(problem, hint string) { g.failAt(source.Pos{}, 0, problem, hint) }

func (g *grid) failAt(at source.Pos, width int, problem, hint string) {
	g.errs = append(g.errs, &source.Error{File: g.file, At: at, Width: width, Problem: problem, Hint: hint})
}

func (g *grid) failEmpty(name string) {
	g.failCell(g.column[name], name+" is empty", "every row needs one")
}

func (g *grid) failCell(i int, problem, hint string) {
	width := 1
	if i < len(g.cells) {
		width = utf8.RuneCountInString(g.cells[i])
	}
	g.failAt(g.place(i), width, problem, hint)
}

// place is where cell i of the row read last stands. The csv package counts
// bytes, a message characters.
func (g *grid) place(i int) source.Pos {
	line, column := g.csv.FieldPos(i)
	text := g.file.Line(line)
	return source.Pos{Line: line, Column: 1 + utf8.RuneCountInString(text[:min(column-1, len(text))])}
}

// failRow complains about a row that is no row of cells.
func (g *grid) failRow(err error) {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		g.fail(err.Error(), "")
		return
	}
	at := source.Pos{Line: parse.Line, Column: 1}
	switch {
	case errors.Is(err, csv.ErrFieldCount):
		g.failAt(at, 1, fmt.Sprintf("this row has not %d cells, as the first one has", len(g.column)),
			"write a comma for an empty cell, and quotes around a name that has a comma in it")
	case errors.Is(err, csv.ErrQuote):
		g.failAt(source.Pos{Line: parse.StartLine, Column: 1}, 1, "a quotation mark does not close the cell that one opens",
			`write a quotation mark within a name twice: "the ""low"" one"`)
	default:
		g.failAt(at, 1, "a quotation mark stands in the middle of a cell",
			`put the whole name in quotes and write this one twice: "the ""low"" one"`)
	}
}
