package worksheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/making/bench"
)

// table is page i of the rows.
func (s *sheet) table(i int) *draw.Drawing {
	page := s.page(i)
	d := s.drawing()
	head := d.Layer("head", "Head and foot")
	s.head(head, fmt.Sprintf("page %d of %d", i+1, s.pageCount()))
	s.foot(head, span{begin: page[0].begin, end: page[len(page)-1].end})
	t := tablePage{sheet: s, rules: &draw.Path{Stroke: draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.15}},
		boxes: &draw.Path{Stroke: draw.Hair(draw.InkDark)}}
	t.marks = make([]draw.Mark, 0, 512)
	for c, span := range page {
		t.x, t.end, t.y = s.left+float64(c)*(s.width+gutterMM), s.left+float64(c)*(s.width+gutterMM)+s.width, s.tableTop()
		s.columnHeads(head, t.x, t.end)
		if s.columns > 1 {
			s.order(head, span, orders[len(page)-1][c], t.x, t.end)
		}
		head.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(t.x, t.y, t.end, t.y))
		t.column(span)
	}
	if len(page) > 1 {
		x := s.left + s.width + gutterMM/2
		head.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(x, s.tableTop()-9.4, x, s.bottom+0.8))
	}
	rows := d.Layer("rows", "Rows")
	rows.Add(t.rules, t.boxes)
	rows.Add(t.marks...)
	return d
}

// orders are the words for the columns of a page with one and with two.
var orders = [2][2]string{{""}, {"first ", "then "}}

// order says of a column which it is of two, and what it holds.
func (s *sheet) order(l *draw.Layer, rows span, which string, x, end float64) {
	y := s.tableTop() - 7.6
	text := which + "down here"
	if rows.end > rows.begin {
		text = fmt.Sprintf("%srows %s to %s", which, count(s.rowNumber(rows.begin)), count(s.rowNumber(rows.end-1)))
		first, last := &s.plan.Rows[rows.begin], &s.plan.Rows[rows.end-1]
		holds := fmt.Sprintf("strokes %s to %s", count(first.Before+1), count(last.Before+len(last.Strokes)))
		if s.o.When != nil {
			holds += " · from " + s.o.When(s.plan.AlongMM(first.Dial))
		}
		l.Add(draw.Second(draw.Label(end, y, smallMM, holds, draw.End)))
	}
	l.Add(draw.Bold(x, y, smallMM+0.3, text+" ↓", draw.Start))
}

// column fills a column with its rows and the lines to draw between them.
func (t *tablePage) column(rows span) {
	stop := rows.stopBegin
	for row := rows.begin; row < rows.end; row++ {
		for ; stop < rows.stops && t.plan.Stops[stop].Dial <= t.plan.Rows[row].Dial; stop++ {
			t.note(t.stopWords(t.plan.Stops[stop]))
		}
		t.row(row)
	}
	for ; stop < rows.stops; stop++ {
		t.note(t.stopWords(t.plan.Stops[stop]))
	}
}

func (s *sheet) drawing() *draw.Drawing {
	return &draw.Drawing{
		Frame: draw.Box(0, 0, s.w, s.h), Title: s.o.title(), Author: s.o.Composer,
		Subject: "Worksheet for punching by hand, row after row",
	}
}

// head is the title with what must not be mistaken.
func (s *sheet) head(l *draw.Layer, page string) {
	y := s.top - headMM + 5
	l.Add(draw.Serif(s.left, y, 5, typeface.Serif.Fit(s.o.title(), 5, s.right-s.left-30), draw.Start),
		draw.Bold(s.right, y, textMM, page, draw.End))
	const size, apart = smallMM + 0.2, 3
	fits, line := s.fits(), s.bearing()
	room := s.right - s.left - apart - typeface.Sans.Width(fits, size)
	if name := s.o.name(); name != "" { // how the paper lies must not be cut for a long name
		left := max(room-typeface.Sans.Width(" · "+line, size), shortNameMM)
		line = typeface.Sans.Fit(typeface.Clean(name), size, left) + " · " + line
	}
	line = typeface.Sans.Fit(typeface.Clean(line+" · "+s.plan.Profile.Title), size, room)
	l.Add(draw.Second(draw.Label(s.left, y+5.2, size, line, draw.Start)),
		draw.Second(draw.Label(s.right, y+5.2, size, fits, draw.End)))
}

// shortNameMM is what a name at the head of a page has in any case.
const shortNameMM = 20

// fits are the punch, the paper and the tempo that the roll was laid out for: what is
// wrong with another punch or on other paper.
func (s *sheet) fits() string {
	in := s.plan.Roll.Instrument
	return fmt.Sprintf("die %s mm · paper %s · roll tempo %s",
		plain(in.Die.DiameterMM), s.plan.Profile.Lengths.With(in.Paper.WidthMM), plain(in.Transport.LeverTempo()))
}

// plain is a number with three decimals at most, and no needless ones.
func plain(x float64) string { return strconv.FormatFloat(math.Round(x*1000)/1000, 'f', -1, 64) }

// bearing says how the paper lies.
func (s *sheet) bearing() string {
	p := s.plan.Profile
	up, bass, start := "FRONT up", "BASS at your left", "START towards you"
	if p.BackUp {
		up = "BACK up"
	}
	if p.BassRight {
		bass = "BASS at your right"
	}
	if !p.StartNear(s.plan.Roll.Instrument) {
		start = "START away from you"
	}
	return up + " · " + bass + " · " + start
}

// heads are what stands above the numbers of a column of rows, in lines where rows are
// narrow.
func (s *sheet) heads() [4]string {
	advance, at := "turn\non", "crank\nat"
	if s.plan.Profile.Crank.Clicks() {
		advance, at = "clicks\non", "at\nclick"
	}
	return [4]string{"row", advance, at, s.plan.Profile.Lengths.Unit() + " from\nzero"}
}

// columnHeads are the heads of a column.
func (s *sheet) columnHeads(l *draw.Layer, x, end float64) {
	const lineMM = 2.8
	y := s.tableTop() - 1.6
	for i, right := range []float64{s.row, s.advance, s.crank, s.length} {
		lines := strings.Split(s.heads()[i], "\n")
		if s.columns == 1 {
			lines = []string{strings.Join(lines, " ")}
		}
		for n, line := range lines {
			l.Add(draw.Second(draw.Label(x+right, y-float64(len(lines)-1-n)*lineMM, smallMM, line, draw.End)))
		}
	}
	if !s.sums {
		l.Add(draw.Second(draw.Label(x+s.strokes, y, smallMM, s.numbered()+", key, chain", draw.Start)))
		return
	}
	l.Add(draw.Second(draw.Label(x+s.strokes, y, smallMM, "punch, in this order: "+s.numbered()+", key, which of a chain",
		draw.Start)),
		draw.Second(draw.Label(end, y, smallMM, "so far", draw.End)))
	if s.o.When != nil {
		l.Add(draw.Second(draw.Label(end-sumMM, y, smallMM, "in the piece", draw.End)))
	}
}

// numbered says what the number of a stroke counts.
func (s *sheet) numbered() string {
	if s.plan.Profile.Rack.SpacingMM > 0 {
		return "notch"
	}
	return "port"
}

// foot sums up the page.
func (s *sheet) foot(l *draw.Layer, page span) {
	y := s.bottom + 5
	l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(s.left, s.bottom+0.8, s.right, s.bottom+0.8))
	l.Add(draw.Second(draw.Label(s.left, y+0.6, smallMM, "begun ______________   done ______________", draw.Start)))
	if page.end == page.begin {
		l.Add(draw.Label(s.right, y, smallMM+0.2, "nothing to punch", draw.End))
		return
	}
	first, last := s.plan.Rows[page.begin], s.plan.Rows[page.end-1]
	sum := last.Before + len(last.Strokes) - first.Before
	l.Add(draw.Label(s.right, y+0.6, smallMM+0.2, fmt.Sprintf("rows %s to %s · %s on this page · %s of %s so far",
		count(s.rowNumber(page.begin)), count(s.rowNumber(page.end-1)), noun(sum, "stroke"),
		count(last.Before+len(last.Strokes)), count(s.plan.Punches)), draw.End))
}

// tablePage is one page of rows while it fills.
type tablePage struct {
	*sheet
	x, end float64 // of the column
	y      float64
	rules  *draw.Path
	boxes  *draw.Path
	marks  []draw.Mark
	spare  []draw.Text // room for marks, handed out one by one
}

// text adds a text. A worksheet has half a million, so they are made many at a
// time.
func (t *tablePage) text(x, y, size float64, text string, anchor draw.Anchor, face typeface.Face,
	ink draw.Ink) *draw.Text {
	if len(t.spare) == 0 {
		t.spare = make([]draw.Text, 256)
	}
	m := &t.spare[0]
	t.spare = t.spare[1:]
	*m = draw.Text{At: draw.Point{X: x, Y: y}, SizeMM: size, Text: text, Anchor: anchor, Face: face, Ink: ink}
	t.marks = append(t.marks, m)
	return m
}

// box is a tick box at the current line.
func (t *tablePage) box() {
	t.boxes.Rect(draw.Box(t.x+0.4, t.y+1.3, t.x+0.4+boxMM, t.y+1.3+boxMM))
}

// row is one row: what to turn, what to punch.
func (t *tablePage) row(i int) {
	row := &t.plan.Rows[i]
	base := t.y + baseMM
	t.box()
	t.text(t.x+t.sheet.row, base, textMM-0.2, strconv.Itoa(t.rowNumber(i)), draw.End, typeface.Sans, draw.InkSecond)
	t.text(t.x+t.advance, base, textMM+0.4, t.turns(t.plan.Profile.Crank.Split(t.plan.Advance(i))), draw.End,
		typeface.SansBold, draw.InkDark)
	t.text(t.x+t.crank, base, textMM, t.turns(t.plan.Reading(row.Dial)), draw.End, typeface.Sans, draw.InkDark)
	t.text(t.x+t.length, base, textMM, t.plan.Profile.Lengths.Text(t.plan.RunningMM(row.Dial)), draw.End, typeface.Sans,
		t.lengthInk)
	arrow := "→"
	if row.Leftward {
		arrow = "←"
	}
	t.text(t.x+t.arrow, base, textMM, arrow, draw.Middle, typeface.Sans, draw.InkDark)
	lines := t.places(i, func(stroke bench.Stroke, at spot) {
		t.stroke(stroke, at, t.x+t.strokes+float64(at.cell)*t.cell, base+float64(at.line)*lineMM)
	})
	if t.sums && t.o.When != nil {
		t.text(t.end-sumMM, base, smallMM, t.o.When(t.plan.AlongMM(row.Dial)), draw.End, typeface.Sans, draw.InkSecond)
	}
	if t.sums {
		t.text(t.end, base+float64(lines-1)*lineMM, textMM-0.2, strconv.Itoa(row.Before+len(row.Strokes)), draw.End,
			typeface.Sans, draw.InkSecond)
	}
	t.y += rowMM + float64(lines-1)*lineMM
	t.rules.Line(t.x, t.y, t.end, t.y)
	if row.Check {
		t.note(t.checkWords(i))
	}
}

// turns writes an advance or a reading: whole turns and parts, or clicks.
func (s *sheet) turns(turns, parts int64) string { return s.plan.Profile.Crank.Text(turns, parts) }

// stroke is the number of the notch with the key, and for a chain which of its
// punches it is.
func (t *tablePage) stroke(stroke bench.Stroke, at spot, x, y float64) {
	number := strconv.Itoa(t.plan.Notch(stroke.Port))
	t.text(x+t.number, y, textMM+0.2, number, draw.End, typeface.SansBold, draw.InkDark)
	text := t.names[stroke.Port]
	if !stroke.Single() {
		chain := strconv.Itoa(int(stroke.N)) + "/" + strconv.Itoa(int(stroke.Of))
		if at.below {
			t.text(x+t.number+nearMM, y+lineMM, nameSizeMM, chain, draw.Start, typeface.Sans, draw.InkDark)
		} else {
			text += "  " + chain
		}
	}
	t.text(x+t.number+nearMM, y, nameSizeMM, text, draw.Start, typeface.Sans, draw.InkDark)
}
