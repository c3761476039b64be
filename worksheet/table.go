package worksheet

import (
	"fmt"
	"strconv"

	"rollwright/bench"
	"rollwright/draw"
	"rollwright/typeface"
)

// table is page i of the rows.
func (s *sheet) table(i int) *draw.Drawing {
	page := s.pages[i]
	d := s.drawing()
	head := d.Layer("head", "Head and foot")
	s.head(head, fmt.Sprintf("page %d of %d", i+1, len(s.pages)))
	s.names(head)
	s.foot(head, page)
	t := tablePage{sheet: s, y: s.top, rules: &draw.Path{Stroke: draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.15}}, boxes: &draw.Path{Stroke: draw.Hair(draw.InkDark)}}
	t.marks = make([]draw.Mark, 0, 512)
	stop := page.stopBegin
	for row := page.begin; row < page.end; row++ {
		for ; stop < page.stops && s.plan.Stops[stop].Dial <= s.plan.Rows[row].Dial; stop++ {
			t.stop(s.plan.Stops[stop])
		}
		t.row(row)
	}
	for ; stop < page.stops; stop++ {
		t.stop(s.plan.Stops[stop])
	}
	rows := d.Layer("rows", "Rows")
	rows.Add(t.rules, t.boxes)
	rows.Add(t.marks...)
	return d
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
	l.Add(draw.Serif(s.left, y, 5, typeface.Serif.Fit(s.o.title(), 5, s.right-s.left-30), draw.Start), draw.Bold(s.right, y, textMM, page, draw.End))
	line := s.bearing()
	if name := s.o.name(); name != "" {
		line = name + " · " + line
	}
	l.Add(draw.Second(draw.Label(s.left, y+5.2, smallMM+0.2, typeface.Sans.Fit(typeface.Clean(line), smallMM+0.2, s.right-s.left), draw.Start)))
	l.Add((&draw.Path{Stroke: draw.Main(draw.InkDark)}).Line(s.left, s.top, s.right, s.top))
}

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
	return up + " · " + bass + " · " + start + " · " + p.Title
}

// names are the heads of the columns.
func (s *sheet) names(l *draw.Layer) {
	y := s.top - 1.6
	advance, at := "turn on", "crank at"
	if s.plan.Profile.Crank.Clicks() {
		advance, at = "clicks on", "at click"
	}
	for _, c := range []struct {
		x      float64
		text   string
		anchor draw.Anchor
	}{
		{rowX, "row", draw.End}, {advanceX, advance, draw.End}, {crankX, at, draw.End},
		{lengthX, s.plan.Profile.Lengths.Unit() + " from zero", draw.End},
		{strokesX, "punch, in this order: " + s.numbered() + ", key, which of a chain", draw.Start},
	} {
		l.Add(draw.Second(draw.Label(s.left+c.x, y, smallMM, c.text, c.anchor)))
	}
	l.Add(draw.Second(draw.Label(s.right, y, smallMM, "so far", draw.End)))
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
		count(page.begin+1), count(page.end), noun(sum, "stroke"), count(last.Before+len(last.Strokes)), count(s.plan.Punches)), draw.End))
}

// tablePage is one page of rows while it fills.
type tablePage struct {
	*sheet
	y     float64
	rules *draw.Path
	boxes *draw.Path
	marks []draw.Mark
	spare []draw.Text // room for marks, handed out one by one
}

// text adds a text. A worksheet has half a million, so they are made many at a
// time.
func (t *tablePage) text(x, y, size float64, text string, anchor draw.Anchor, face typeface.Face, ink draw.Ink) *draw.Text {
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
	t.boxes.Rect(draw.Box(t.left+0.4, t.y+1.3, t.left+0.4+boxMM, t.y+1.3+boxMM))
}

// row is one row: what to turn, what to punch.
func (t *tablePage) row(i int) {
	row := &t.plan.Rows[i]
	base := t.y + 4.3
	t.box()
	t.text(t.left+rowX, base, textMM-0.2, strconv.Itoa(i+1), draw.End, typeface.Sans, draw.InkSecond)
	t.text(t.left+advanceX, base, textMM+0.4, t.turns(t.plan.Profile.Crank.Split(t.plan.Advance(i))), draw.End, typeface.SansBold, draw.InkDark)
	t.text(t.left+crankX, base, textMM, t.turns(t.plan.Reading(row.Dial)), draw.End, typeface.Sans, draw.InkDark)
	t.text(t.left+lengthX, base, textMM, t.plan.Profile.Lengths.Text(t.plan.RunningMM(row.Dial)), draw.End, typeface.Sans, draw.InkDark)
	arrow := "→"
	if row.Leftward {
		arrow = "←"
	}
	t.text(t.left+arrowX, base, textMM, arrow, draw.Middle, typeface.Sans, draw.InkDark)
	lines, cell := 1, 0
	for _, stroke := range row.Strokes {
		var at int
		at, lines, cell = t.place(stroke, lines, cell)
		t.stroke(stroke, t.left+strokesX+float64(at)*cellMM, base+float64(lines-1)*lineMM)
	}
	t.text(t.right, base+float64(lines-1)*lineMM, textMM-0.2, strconv.Itoa(row.Before+len(row.Strokes)), draw.End, typeface.Sans, draw.InkSecond)
	t.y += rowMM + float64(lines-1)*lineMM
	t.rules.Line(t.left, t.y, t.right, t.y)
	if row.Check {
		t.check(i)
	}
}

// turns writes an advance or a reading: whole turns and parts, or clicks.
func (s *sheet) turns(turns, parts int64) string { return s.plan.Profile.Crank.Text(turns, parts) }

// stroke is the number of the notch with the key, and for a chain which of its
// punches it is.
func (t *tablePage) stroke(stroke bench.Stroke, x, y float64) {
	number := strconv.Itoa(t.plan.Notch(stroke.Port))
	t.text(x+6.2, y, textMM+0.2, number, draw.End, typeface.SansBold, draw.InkDark)
	text := t.portNames[stroke.Port]
	if !stroke.Single() {
		text += "  " + strconv.Itoa(int(stroke.N)) + "/" + strconv.Itoa(int(stroke.Of))
	}
	t.text(x+6.8, y, textMM-0.4, text, draw.Start, typeface.Sans, draw.InkDark)
}

// check is the length to measure after row i.
func (t *tablePage) check(i int) {
	lengths := t.plan.Profile.Lengths
	t.note("measure", fmt.Sprintf("zero line to the holes of row %s: %s", count(i+1), lengths.With(t.plan.RunningMM(t.plan.Rows[i].Dial))), "found ______________")
}

// stop is a line to draw across the paper on the way.
func (t *tablePage) stop(stop bench.Stop) {
	t.note("draw a line", fmt.Sprintf("across the margins at %s %s (%s): %s", t.counter(),
		t.turns(t.plan.Reading(stop.Dial)), t.plan.Profile.Lengths.With(t.plan.RunningMM(stop.Dial)), stop.Name), "")
}

// counter is what counts the paper.
func (s *sheet) counter() string {
	if s.plan.Profile.Crank.Clicks() {
		return "click"
	}
	return "crank"
}

func (t *tablePage) note(what, how, blank string) {
	base := t.y + 4.3
	t.box()
	t.marks = append(t.marks, (&draw.Path{Fill: draw.Brass}).Rect(draw.Box(t.left+5.4, t.y+0.9, t.left+6.4, t.y+rowMM-0.9)))
	head := t.text(t.left+8, base, textMM, what, draw.Start, typeface.SansBold, draw.InkDark)
	t.text(t.left+8+head.WidthMM()+2.4, base, textMM, how, draw.Start, typeface.Sans, draw.InkDark)
	t.text(t.right, base, textMM, blank, draw.End, typeface.Sans, draw.InkSecond)
	t.y += rowMM
	t.rules.Line(t.left, t.y, t.right, t.y)
}
