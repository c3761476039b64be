package calibrate

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/pitch"
	"rollwright/text/source"
)

// FormOptions say how the form is drawn. The zero value is good.
type FormOptions struct {
	Instrument string // as the readings name it
	Letter     bool   // US Letter in place of A4
}

// form is pages in the making.
type form struct {
	test  *Test
	o     FormOptions
	w, h  float64
	pages []*draw.Drawing
	l     *draw.Layer
	y     float64
}

// Sizes of the form, in millimetres.
const (
	formEdgeMM = 14
	formTextMM = 3.4
	formLineMM = 5
	formRowMM  = 7.4
)

// Form is what to write on while the test roll plays, as pages 1:1: the marks
// with room for several runs and for the spool, then what the action did.
func (t *Test) Form(o FormOptions) []*draw.Drawing {
	f := &form{test: t, o: o, w: 210, h: 297} // A4, ISO 216
	if o.Letter {
		f.w, f.h = 215.9, 279.4 // 8 1/2 x 11 in, ANSI/ASME Y14.1
	}
	f.page("Times at marks")
	f.say(t.Roll.Instrument.Caution() + " " + t.Roll.Instrument.Wiring() + " Keep hands out of the moving spools.")
	f.say("Let the motor run warm for ten minutes. Set the tempo lever to " + f.lever() + " and leave it there for all runs.")
	f.say("A mark is two keys far apart, struck together. Start a stopwatch at mark 0 and write down what it says at each mark; three runs are better than one. " +
		"Who films the bar with its sound can read off two times of every mark: when the beginning of its holes lies on the middle of the ports (seen) and when it sounds (heard): the delay of the action follows.")
	f.say("Turns of the take-up spool since mark 0 and its girth part the growth of the spool from a motor that slows. Alone: time in one run, count in another, or film " +
		"the spool with a strip of tape on its flange and count from the film. Motor off and spool at rest: lay a strip of paper around it at mark 0 and at the last mark (around).")
	f.marks()
	f.page("What the action does")
	f.say("Write the numbers into the file of readings: what is not read stays empty.")
	f.tries()
	f.groups()
	f.chords()
	f.pairs()
	return f.pages
}

func (f *form) lever() string {
	return strconv.FormatFloat(f.test.Roll.Instrument.Transport.LeverTempo(), 'f', -1, 64)
}

// page begins a page.
func (f *form) page(title string) {
	d := &draw.Drawing{Frame: draw.Box(0, 0, f.w, f.h), Title: "Test roll", Subject: title}
	f.pages = append(f.pages, d)
	f.l = d.Layer("form", "Form")
	f.y = formEdgeMM + 5
	name := source.Printable(f.o.Instrument)
	f.l.Add(&draw.Text{At: draw.Point{X: formEdgeMM, Y: f.y}, SizeMM: 6, Text: title, Face: typeface.Serif,
		Ink: draw.InkDark})
	f.text(f.w-formEdgeMM, f.y, formTextMM, draw.End, typeface.Sans, "Test roll for "+name)
	f.y += 6
	f.text(formEdgeMM, f.y, formTextMM, draw.Start, typeface.Sans, "Instrument, place, date: ")
	f.rule(formEdgeMM+42, f.w-formEdgeMM, f.y+1)
	f.y += 4
}

func (f *form) text(x, y, size float64, anchor draw.Anchor, face typeface.Face, text string) {
	f.l.Add(&draw.Text{At: draw.Point{X: x, Y: y}, SizeMM: size, Text: text, Face: face, Ink: draw.InkDark,
		Anchor: anchor})
}

func (f *form) rule(x0, x1, y float64) {
	f.l.Add((&draw.Path{Stroke: draw.Hair(draw.InkSecond)}).Line(x0, y, x1, y))
}

// say is a paragraph.
func (f *form) say(text string) {
	for _, line := range typeface.Sans.Wrap(text, formTextMM, f.w-2*formEdgeMM) {
		f.y += formLineMM
		f.text(formEdgeMM, f.y, formTextMM, draw.Start, typeface.Sans, line)
	}
	f.y += 1.5
}

func (f *form) heading(text string) {
	f.y += 8
	f.text(formEdgeMM, f.y, 4, draw.Start, typeface.SansBold, text)
	f.y += 1
}

// table is rows of boxes under names; the first column is printed, the rest is
// to be filled in.
func (f *form) table(names []string, first []string) {
	wide := 34.0
	column := (f.w - 2*formEdgeMM - wide) / float64(len(names)-1)
	x := func(i int) float64 {
		if i == 0 {
			return formEdgeMM
		}
		return formEdgeMM + wide + float64(i-1)*column
	}
	f.y += 6
	for i, name := range names {
		f.text(x(i)+1, f.y-1.5, 2.8, draw.Start, typeface.SansBold, name)
	}
	grid := &draw.Path{Stroke: draw.Hair(draw.InkDark)}
	top := f.y
	for _, label := range first {
		grid.Line(formEdgeMM, f.y, f.w-formEdgeMM, f.y)
		f.y += formRowMM
		f.text(formEdgeMM+1, f.y-2.4, formTextMM, draw.Start, typeface.Sans, label)
	}
	grid.Line(formEdgeMM, f.y, f.w-formEdgeMM, f.y)
	for i := range names {
		grid.Line(x(i), top, x(i), f.y)
	}
	grid.Line(f.w-formEdgeMM, top, f.w-formEdgeMM, f.y)
	f.l.Add(grid)
	f.y += 2
}

// marks is the table of marks, over as many pages as it takes.
func (f *form) marks() {
	names := []string{"mark", "heard, run 1", "run 2", "run 3", "seen (film)", "turns", "around"}
	var rows []string
	for i, mm := range f.test.MarkMM {
		rows = append(rows, fmt.Sprintf("%d: %s mm", i, strconv.FormatFloat(math.Round(mm*1e4)/1e4, 'f', -1, 64)))
	}
	for len(rows) > 0 {
		room := int((f.h - formEdgeMM - f.y - 8) / formRowMM)
		if room < 1 {
			f.page("Times at marks")
			continue
		}
		n := min(room, len(rows))
		f.table(names, rows[:n])
		rows = rows[n:]
	}
}

// line is a line of numbered tries with what each is.
func (f *form) line(count int, what func(int) string) {
	const perLine = 6
	for from := 0; from < count; from += perLine {
		f.y += formLineMM
		for i := from; i < min(from+perLine, count); i++ {
			f.text(formEdgeMM+float64(i-from)*(f.w-2*formEdgeMM)/perLine, f.y, 3, draw.Start, typeface.Sans, what(i))
		}
	}
}

func (f *form) keys() []string {
	k := f.test.Keys
	return []string{"key", "bass: " + pitch.Name(k[0]), "middle: " + pitch.Name(k[1]), "treble: " + pitch.Name(k[2])}
}

func (f *form) tries() {
	f.heading("Single notes, each longer than the one before")
	list := f.test.Slots[0]
	f.line(len(list), func(i int) string { return fmt.Sprintf("%d: %.2f mm", i+1, list[i].LengthMM) })
	f.table(f.keys(), []string{"first of all that sound"})
}

func (f *form) groups() {
	f.heading(fmt.Sprintf("Groups of %d strokes of one key, each faster", strokesInGroup))
	list := f.test.Repeats[0]
	f.line(len(list), func(i int) string { return fmt.Sprintf("%d: %.1f a second", i+1, list[i].PerSec) })
	f.table(f.keys(), []string{"last of all apart"})
}

func (f *form) chords() {
	f.heading("Chords, each larger")
	list := f.test.Chords
	f.line(len(list), func(i int) string { return fmt.Sprintf("%d notes", list[i].Notes) })
	f.table([]string{"", "notes of the largest that sounds as a whole"}, []string{"largest"})
}

func (f *form) pairs() {
	f.heading("Pairs of notes with a growing web of paper between")
	list := f.test.Pairs
	f.line(len(list), func(i int) string { return fmt.Sprintf("%d: %.2f mm", i+1, list[i].WebMM) })
	f.table([]string{"", "last heard as one note", "first from which on all are two"}, []string{"pairs"})
}
