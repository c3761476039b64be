// Package worksheet turns the plan of a bench into pages to work from.
//
// The input is a bench.Plan; the output draw.Drawing pages, to print, or CSV.
// Pages are A4 or Letter, standing, in millimetres; lengths on them are in the
// bench's own unit, rounded to the nearest by bench.Lengths. The CSV has the
// same rows, a line each. Both are written from the plan alone: equal plans
// give equal bytes.
package worksheet

import (
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/making/bench"
)

// Options say what the pages are about. The zero value is good.
type Options struct {
	Title    string
	Composer string
	Piano    string // of a piece with several
	Spool    int    // which spool of Spools this is, from 1; 0: the roll is whole
	Spools   int
	Letter   bool // US Letter in place of A4

	Pace bench.Pace // that is known; the zero one: what the bench assumes

	Repair *Repair // nil: the roll is made from the beginning

	// When is the place in the music of a place along the roll, in millimetres from its
	// zero: "0:15.4", "bar 12 · 0:15.4". It stands in every row, or, where rows stand in two
	// columns, above each of them; nil: nowhere, as on a trial strip.
	When func(alongMM float64) string
}

// Repair says that the rows are those that a roll lacks.
type Repair struct {
	Numbers []int  // of the rows in the whole roll, from 1
	Says    string // what was found, in a sentence
}

// rowNumber is the number of row i in the whole roll.
func (s *sheet) rowNumber(i int) int {
	if s.o.Repair != nil && i >= 0 && i < len(s.o.Repair.Numbers) {
		return s.o.Repair.Numbers[i]
	}
	return i + 1
}

// name is the roll in a line: piano and spool.
func (o *Options) name() string {
	var parts []string
	if o.Piano != "" {
		parts = append(parts, "piano "+o.Piano)
	}
	if o.Spool > 0 {
		parts = append(parts, "spool "+strconv.Itoa(o.Spool)+" of "+strconv.Itoa(o.Spools))
	}
	return strings.Join(parts, ", ")
}

func (o *Options) title() string {
	if t := typeface.Clean(o.Title); t != "" {
		return t
	}
	return "Untitled"
}

// layout is where things stand on a page.
type layout struct {
	w, h        float64 // of the page
	left, right float64
	top, bottom float64 // of the table
}

const (
	headMM  = 22 // above the table, its names included
	footMM  = 11 // below it
	edgeMM  = 11 // around all
	rowMM   = 6.1
	lineMM  = 4.7 // more for every further line of strokes
	boxMM   = 3.4
	baseMM  = 4.3 // from the top of a row to the foot of its words
	textMM  = 3.4
	smallMM = 2.7
)

func newLayout(letter bool) layout {
	l := layout{w: 210, h: 297} // A4, ISO 216
	if letter {
		l.w, l.h = 215.9, 279.4 // 8 1/2 x 11 in, ANSI/ASME Y14.1
	}
	l.left, l.right = edgeMM, l.w-edgeMM
	l.top, l.bottom = edgeMM+headMM, l.h-edgeMM-footMM
	return l
}

// Pages are the worksheet: a page that says how to set up, the rows, a page to
// note slips on.
func Pages(p *bench.Plan, o Options) []*draw.Drawing {
	s := &sheet{plan: p, o: o, layout: newLayout(o.Letter)}
	for i := range p.Roll.Instrument.Bar.Ports {
		s.portNames = append(s.portNames, p.PortName(int32(i)))
	}
	s.choose()
	pages := make([]*draw.Drawing, 0, s.pageCount()+2)
	pages = append(pages, s.guide())
	for i := range s.pageCount() {
		pages = append(pages, s.table(i))
	}
	return append(pages, s.slips())
}

// sheet is a worksheet in the making.
type sheet struct {
	plan *bench.Plan
	o    Options
	layout
	grid
	spans     []span
	portNames []string  // by port
	fullMM    []float64 // their widths
	digitMM   float64   // of the number of a chain
	chainMM   float64   // of what else is written about one
}

// span is the rows and stops of a column, from the first to before the end.
type span struct {
	begin, end       int
	stopBegin, stops int
}

// tableTop is where the rows of a page begin.
func (s *sheet) tableTop() float64 { return s.top + s.down }

// pageCount is how many pages of rows there are.
func (s *sheet) pageCount() int { return (len(s.spans) + s.columns - 1) / s.columns }

// page is the spans of page i.
func (s *sheet) page(i int) []span {
	return s.spans[i*s.columns : min((i+1)*s.columns, len(s.spans))]
}

// share gives each column its rows: as many as it holds.
func (s *sheet) share() {
	s.spans = nil
	room := s.bottom - s.tableTop()
	column, used, stop := span{}, 0.0, 0
	for i := range s.plan.Rows {
		high, next := s.height(i), stop
		for ; next < len(s.plan.Stops) && s.plan.Stops[next].Dial <= s.plan.Rows[i].Dial; next++ {
			high += s.noteHeight(s.stopWords(s.plan.Stops[next]))
		}
		if used+high > room && column.end > column.begin {
			s.spans = append(s.spans, column)
			column, used = span{begin: i, end: i, stopBegin: stop, stops: stop}, 0
		}
		column.end, column.stops, used, stop = i+1, next, used+high, next
	}
	for ; stop < len(s.plan.Stops); stop++ { // beyond the last row
		high := s.noteHeight(s.stopWords(s.plan.Stops[stop]))
		if used += high; used > room {
			s.spans = append(s.spans, column)
			column, used = span{begin: column.end, end: column.end, stopBegin: stop}, high
		}
		column.stops = stop + 1
	}
	s.spans = append(s.spans, column)
}

// height is what a row takes, its check included.
func (s *sheet) height(i int) float64 {
	high := rowMM + float64(s.places(i, nil)-1)*lineMM
	if s.plan.Rows[i].Check {
		high += s.noteHeight(s.checkWords(i))
	}
	return high
}

// count is a whole number with a thin mark between thousands.
func count(n int) string {
	digits := strconv.Itoa(n)
	if n < 0 {
		return digits
	}
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "," + digits[i:]
	}
	return digits
}

// noun is a number with its noun.
func noun(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return count(n) + " " + one + "s"
}
