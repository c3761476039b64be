package worksheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/making/bench"
)

// grid is how rows are set in a column of the page: right edges of numbers, left
// edges of text, from the left edge of the column.
type grid struct {
	columns   int     // side by side on a page
	down      float64 // so much lower than the top of the table they begin
	width     float64 // of each
	row       float64
	advance   float64
	crank     float64
	length    float64
	arrow     float64 // its middle
	strokes   float64
	number    float64 // the right edge of a stroke's number, from where its cell begins
	cell      float64 // strokes begin at whole cells
	cells     int
	lengthInk draw.Ink // of the length, beside the reading of the crank
	sums      bool     // the strokes so far stand at the end of each row
	names     []string // of ports, as they stand in rows: short where room is wanting
	nameMM    []float64
}

// What parts two columns, and what stands in them: gaps before numbers, the cell
// of strokes.
const (
	gutterMM  = 6
	orderMM   = 3.4 // for the line that says which column comes first
	boxEndMM  = 4.9
	gapMM     = 1.9
	spareMM   = 2 // at most, more between numbers
	arrowMM   = 3.1
	narrowMM  = 4.9 // a cell
	numberMM  = 5.4
	nearMM    = 0.6 // from a number to its key
	betweenMM = 1.5 // from stroke to stroke, at least

	nameSizeMM = textMM - 0.4
)

// wide is one column of rows, with sums.
func (s *sheet) wide() grid {
	g := grid{
		columns: 1, width: s.right - s.left, row: 17, advance: 36, crank: 57, length: 80, arrow: 83.5,
		strokes: 88, number: 6.2, cell: 21.4, lengthInk: draw.InkDark, sums: true,
		names: s.portNames,
	}
	g.cells = int((g.width - sumMM - s.whenMM() - g.strokes) / g.cell)
	return g
}

// sumMM is the room for the strokes so far.
const sumMM = 14

// whenMM is the room for the time in the piece, that of the last row being long.
func (s *sheet) whenMM() float64 {
	if s.o.When == nil {
		return 0
	}
	width := typeface.Sans.Width("in the piece", smallMM)
	if n := len(s.plan.Rows); n > 0 {
		width = max(width, typeface.Sans.Width(s.o.When(s.plan.AlongMM(s.plan.Rows[n-1].Dial)), smallMM))
	}
	return width + 2
}

// narrow is two columns, whose numbers take no more room than the longest of this
// work. The last row has them, but for the advance. It is false where the names of
// ports have no room.
func (s *sheet) narrow() (g grid, ok bool) {
	g = grid{columns: 2, down: orderMM, width: (s.right - s.left - gutterMM) / 2, number: numberMM, cell: narrowMM,
		lengthInk: draw.InkSecond}
	var advance, last int64
	for i := range s.plan.Rows {
		advance = max(advance, s.plan.Advance(i))
		last = s.plan.Rows[i].Dial
	}
	lengthMM := 0.0
	for _, parts := range []int64{0, 1, 2, 3} { // fractions of inches are longer or shorter
		lengthMM = max(lengthMM, typeface.Sans.Width(s.plan.Profile.Lengths.Text(s.plan.RunningMM(last-parts)), textMM))
	}
	ends := []*float64{&g.row, &g.advance, &g.crank, &g.length}
	end := boxEndMM - gapMM
	for i, width := range []float64{
		typeface.Sans.Width(strconv.Itoa(s.rowNumber(len(s.plan.Rows)-1)), textMM-0.2),
		typeface.SansBold.Width(s.turns(s.plan.Profile.Crank.Split(advance)), textMM+0.4),
		typeface.Sans.Width(s.turns(s.plan.Reading(last)), textMM),
		lengthMM,
	} {
		for line := range strings.SplitSeq(s.heads()[i], "\n") {
			width = max(width, typeface.Sans.Width(line, smallMM))
		}
		end += gapMM + width
		*ends[i] = end
	}
	g.arrow = g.length + arrowMM
	g.strokes = g.arrow + arrowMM - 1
	g.names, g.nameMM = slices.Clone(s.portNames), slices.Clone(s.fullMM)
	s.shorten(g)
	// What is left over parts the numbers.
	longest, ok := s.longestMM(g)
	spare := min((g.width-g.strokes-longest)/3, spareMM)
	for i, x := range []*float64{&g.advance, &g.crank, &g.length, &g.arrow, &g.strokes} {
		*x += spare * float64(min(i+1, 3))
	}
	g.cells = int((g.width - g.strokes) / g.cell)
	return g, ok
}

// shorter are words of names that may be cut short.
var shorter = strings.NewReplacer("sustain", "sust.", "theme", "th.", "level", "lev.", " bass", " b.", " treble",
	" tr.")

// shorten cuts the names of ports short whose strokes have no room on a line.
func (s *sheet) shorten(g grid) {
	room := g.width - g.strokes
	for i := range s.plan.Rows {
		for _, stroke := range s.plan.Rows[i].Strokes {
			if s.strokeMM(g, stroke) > room {
				name := shorter.Replace(s.portNames[stroke.Port])
				g.names[stroke.Port], g.nameMM[stroke.Port] = name, typeface.Sans.Width(name, nameSizeMM)
			}
		}
	}
}

// shortened says of the names that are cut short what they stand for.
func (s *sheet) shortened() string {
	text := ""
	for i, name := range s.names {
		if name != s.portNames[i] {
			text += fmt.Sprintf(" “%s” is %s.", name, s.portNames[i])
		}
	}
	return text
}

// longestMM is the width of the longest stroke that has room on a line, and false
// when the name of some port has none.
func (s *sheet) longestMM(g grid) (longest float64, ok bool) {
	room := g.width - g.strokes
	for _, mm := range g.nameMM {
		if g.number+nearMM+mm > room {
			return 0, false
		}
	}
	for i := range s.plan.Rows {
		for _, stroke := range s.plan.Rows[i].Strokes {
			if mm := s.strokeMM(g, stroke); mm <= room {
				longest = max(longest, mm)
			}
		}
	}
	return longest, true
}

// strokeMM is the width of a stroke in a narrow column.
func (s *sheet) strokeMM(g grid, stroke bench.Stroke) float64 {
	width := g.number + nearMM + g.nameMM[stroke.Port]
	if !stroke.Single() {
		width += s.chainMM + float64(digits(stroke.N)+digits(stroke.Of))*s.digitMM
	}
	return width
}

// Two columns are harder to follow than one, and chords grow tall in them: they
// have to save a quarter of the pages.
const twoAtMost = 0.75

// choose sets the rows in two columns where that takes far fewer pages.
func (s *sheet) choose() {
	s.measure()
	s.grid = s.wide()
	s.share()
	two, ok := s.narrow()
	if !ok {
		return
	}
	one, spans := s.grid, s.spans
	s.grid = two
	if s.share(); float64(s.pageCount()) > twoAtMost*float64(len(spans)) {
		s.grid, s.spans = one, spans
	}
}

// measure finds the widths of what strokes are written with.
func (s *sheet) measure() {
	for _, name := range s.portNames {
		s.fullMM = append(s.fullMM, typeface.Sans.Width(name, nameSizeMM))
	}
	s.digitMM = typeface.Sans.Width("0", nameSizeMM)
	s.chainMM = typeface.Sans.Width("  /", nameSizeMM)
}

// cellsOf is how many cells a stroke takes.
func (s *sheet) cellsOf(stroke bench.Stroke) int {
	if s.columns == 1 {
		if len(s.names[stroke.Port]) <= 4 { // names of notes
			return 1
		}
		return 2
	}
	if width := s.strokeMM(s.grid, stroke); width <= s.width-s.strokes {
		return min(int(math.Ceil((width+betweenMM)/s.cell)), s.cells) // nothing follows the last
	}
	return s.cells + 1
}

func digits(n int32) int {
	count := 1
	for ; n >= 10; n /= 10 {
		count++
	}
	return count
}

// spot is where a stroke of a row stands.
type spot struct {
	line, cell int  // from 0
	below      bool // which of its chain it is stands on the line below its name
}

// places yields the place of every stroke of row i, and is how many lines they
// take.
func (s *sheet) places(i int, yield func(bench.Stroke, spot)) int {
	line, cell := 0, 0
	for _, stroke := range s.plan.Rows[i].Strokes {
		n := s.cellsOf(stroke)
		if cell > 0 && cell+n > s.cells {
			line, cell = line+1, 0
		}
		at := spot{line, cell, n > s.cells}
		if at.below {
			line++
		}
		cell += n
		if yield != nil {
			yield(stroke, at)
		}
	}
	return line + 1
}
