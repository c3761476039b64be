// Package table lists events, slots or punches as rows of CSV or JSON, which it
// reads back from CSV.
//
// Times are seconds with nine decimals, lengths millimetres with four, halves
// up; a value that rounds to 0 has no sign. They are rounded by
// event.Nanoseconds and roll.AppendMM. CSV is that of RFC 4180 but for its line ends, which are LF: commas,
// a row of names first, quotes only where needed. JSON is an array with an
// object a row, a row a line, whose numbers have the digits of the CSV.
//
// Rows are written as they come: nothing is kept. A table that is read stands in
// memory whole; it has at most MaxRows rows.
package table

import (
	"encoding/json"
	"io"
	"strconv"
	"strings"

	"rollwright/music/event"
	"rollwright/text/cell"
)

// Format is how a table is written.
type Format int8

// The formats.
const (
	CSV Format = iota
	JSON
)

// rows writes rows of cells in either format. A failed write is kept and ends
// all further ones.
type rows struct {
	w      io.Writer
	format Format
	names  []string // before each cell: a comma, and in JSON the name
	line   []byte   // rows not yet written
	cell   int      // cells of this row so far
	count  int      // rows so far
	err    error
}

// block is how many bytes are written at once.
const block = 1 << 16

func newRows(w io.Writer, f Format, names ...string) *rows {
	r := &rows{w: w, format: f, line: make([]byte, 0, block+1024)}
	for i, name := range names {
		before := ","
		if i == 0 {
			before = ""
		}
		if f == JSON {
			before += quoted(name) + ":"
		}
		r.names = append(r.names, before)
	}
	if f == CSV {
		r.line = append(r.line, strings.Join(names, ",")+"\n"...)
	}
	return r
}

// next begins a cell.
func (r *rows) next() {
	if r.cell == 0 && r.format == JSON {
		open := ",\n{"
		if r.count == 0 {
			open = "[\n{"
		}
		r.line = append(r.line, open...)
	}
	r.line = append(r.line, r.names[r.cell]...)
	r.cell++
}

// label adds a cell of text that labelOf has made for this format.
func (r *rows) label(text string) {
	r.next()
	r.line = append(r.line, text...)
}

// none adds an empty cell; in JSON, null.
func (r *rows) none() {
	r.next()
	if r.format == JSON {
		r.line = append(r.line, "null"...)
	}
}

func (r *rows) integer(n int64) {
	r.next()
	r.line = strconv.AppendInt(r.line, n, 10)
}

// seconds adds a time with nine decimals.
func (r *rows) seconds(sec float64) {
	r.next()
	n := event.Nanoseconds(sec)
	if n < 0 {
		r.line = append(r.line, '-')
		n = -n
	}
	r.line = strconv.AppendInt(r.line, n/1e9, 10)
	at := len(r.line)
	r.line = append(r.line, ".000000000"...)
	for i, rest := at+9, n%1e9; rest > 0; i-- {
		r.line[i] = byte('0' + rest%10)
		rest /= 10
	}
}

// end closes the row. It reports whether more rows make sense.
func (r *rows) end() bool {
	if r.format == JSON {
		r.line = append(r.line, '}')
	} else {
		r.line = append(r.line, '\n')
	}
	r.cell = 0
	r.count++
	if len(r.line) >= block {
		r.flush()
	}
	return r.err == nil
}

func (r *rows) flush() {
	if r.err == nil {
		_, r.err = r.w.Write(r.line)
	}
	r.line = r.line[:0]
}

// close ends the table.
func (r *rows) close() error {
	switch {
	case r.format == JSON && r.count == 0:
		r.line = append(r.line, "[]\n"...)
	case r.format == JSON:
		r.line = append(r.line, "\n]\n"...)
	}
	r.flush()
	return r.err
}

// labelOf is a text as a cell of the format.
func labelOf(f Format, text string) string {
	if f == JSON {
		return quoted(text)
	}
	text = cell.Name(text)
	if strings.ContainsAny(text, ",\"\r\n") {
		return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
	}
	return text
}

// quoted is a text as JSON, with signs such as < left as they are.
func quoted(text string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(text); err != nil {
		panic("table: a string that JSON cannot hold: " + err.Error())
	}
	return strings.TrimSuffix(b.String(), "\n")
}
