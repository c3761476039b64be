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

	"rollwright/bench"
	"rollwright/draw"
	"rollwright/typeface"
)

// Options say what the pages are about. The zero value is good.
type Options struct {
	Title    string
	Composer string
	Piano    string // of a piece with several
	Spool    int    // which spool of Spools this is, from 1; 0: the roll is whole
	Spools   int
	Letter   bool // US Letter in place of A4

	PunchesAnHour float64 // the pace that is known; 0: what the bench assumes
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
	cellMM  = 21.4
	boxMM   = 3.4
	textMM  = 3.4
	smallMM = 2.7
)

// The columns, from the left edge of the table: right edges of numbers, left
// edges of text.
const (
	rowX     = 17.0
	advanceX = 36.0
	crankX   = 57.0
	lengthX  = 80.0
	arrowX   = 83.5
	strokesX = 88.0
	totalX   = 14.0 // from the right edge
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

// cells is how many cells for strokes stand side by side.
func (l *layout) cells() int { return int((l.right - totalX - l.left - strokesX) / cellMM) }

// Pages are the worksheet: a page that says how to set up, the rows, a page to
// note slips on.
func Pages(p *bench.Plan, o Options) []*draw.Drawing {
	s := &sheet{plan: p, o: o, layout: newLayout(o.Letter)}
	for _, port := range p.Roll.Instrument.Bar.Ports {
		s.portNames = append(s.portNames, port.Name())
	}
	s.share()
	pages := make([]*draw.Drawing, 0, len(s.pages)+2)
	pages = append(pages, s.guide())
	for i := range s.pages {
		pages = append(pages, s.table(i))
	}
	return append(pages, s.slips())
}

// sheet is a worksheet in the making.
type sheet struct {
	plan *bench.Plan
	o    Options
	layout
	pages     []span
	portNames []string // by port
}

// span is the rows and stops of a page, from the first to before the end.
type span struct {
	begin, end       int
	stopBegin, stops int
}

// share gives each page its rows: as many as it holds.
func (s *sheet) share() {
	room := s.bottom - s.top
	page, used, stop := span{}, 0.0, 0
	for i := range s.plan.Rows {
		high, next := s.height(i), stop
		for ; next < len(s.plan.Stops) && s.plan.Stops[next].Dial <= s.plan.Rows[i].Dial; next++ {
			high += rowMM
		}
		if used+high > room && page.end > page.begin {
			s.pages = append(s.pages, page)
			page, used = span{begin: i, end: i, stopBegin: stop, stops: stop}, 0
		}
		page.end, page.stops, used, stop = i+1, next, used+high, next
	}
	for ; stop < len(s.plan.Stops); stop++ { // beyond the last row
		if used += rowMM; used > room {
			s.pages = append(s.pages, page)
			page, used = span{begin: page.end, end: page.end, stopBegin: stop}, rowMM
		}
		page.stops = stop + 1
	}
	s.pages = append(s.pages, page)
}

// height is what a row takes, its check included.
func (s *sheet) height(i int) float64 {
	high := rowMM + float64(s.lines(i)-1)*lineMM
	if s.plan.Rows[i].Check {
		high += rowMM
	}
	return high
}

// lines is how many lines the strokes of a row take.
func (s *sheet) lines(i int) int {
	lines, cell := 1, 0
	for _, stroke := range s.plan.Rows[i].Strokes {
		_, lines, cell = s.place(stroke, lines, cell)
	}
	return lines
}

// place finds the cell of a stroke after so many lines and cells.
func (s *sheet) place(stroke bench.Stroke, lines, cell int) (at, newLines, next int) {
	n := 1
	if !s.short(stroke.Port) {
		n = 2
	}
	if cell+n > s.cells() {
		lines, cell = lines+1, 0
	}
	return cell, lines, cell + n
}

// short reports whether a port's name fits one cell; names of notes do.
func (s *sheet) short(port int32) bool {
	return len(s.portNames[port]) <= 4
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
