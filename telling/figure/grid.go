package figure

import (
	"fmt"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/words"
)

// maxGrid bounds the members of a series that a grid shows.
const maxGrid = 150

// grid is the pitches of a color against the durations of a talea. Its layers
// are "cells", "numbers" and "heads".
type grid struct {
	*cycle
	across  []string // heads of the columns
	down    []string // heads of the rows
	byColor bool     // columns are pitches
}

func newGrid(in *Input, o *Options) (view, error) {
	c, err := newCycle(in, o)
	if err != nil {
		return nil, err
	}
	if len(c.color) > maxGrid || len(c.strokes) > maxGrid {
		return nil, fmt.Errorf("voice %q has %d pitches on %d sounding durations; a grid shows up to %d of each: choose another voice, or the kind strips", c.voice.Name, len(c.color), len(c.strokes), maxGrid)
	}
	durations := make([]string, len(c.strokes))
	for i, at := range c.strokes {
		durations[i] = c.duration(at)
	}
	g := &grid{cycle: c, across: durations, down: c.color}
	if len(c.color) > len(durations) { // the longer series lies across
		g.across, g.down, g.byColor = c.color, durations, true
	}
	return g, nil
}

func (g *grid) title(t *words.Talk) string               { return t.Book().Say("grid.title", g.args()) }
func (g *grid) caption(t *words.Talk, short bool) string { return g.explain(t, "grid.read", short) }

// cell is column and row of a note, from 0.
func (g *grid) cell(note int) (column, row int) {
	pitch, stroke := note%len(g.color), note%len(g.strokes)
	if g.byColor {
		return pitch, stroke
	}
	return stroke, pitch
}

func (g *grid) draw(c *canvas, _ *Figure) {
	const gap = labelSize * 2.2 // counts below and at the right
	left := 16.0
	for _, s := range g.down {
		left = min(max(left, typeface.Sans.Width(s, labelSize)+2), 30)
	}
	right := 9.0
	w := min(11, (c.width-left-right)/float64(len(g.across)))
	stacked := g.stacked(w)
	top := labelSize * (2 + 1.1*float64(stacked)) // the heads
	h := min(6.6, (c.height-top-gap-5)/float64(len(g.down)))
	x := func(column int) float64 { return left + w*float64(column) }
	y := func(row int) float64 { return top + h*float64(row) }
	g.heads(c, x, y, w, h, left, top, stacked)
	g.cells(c, x, y, w, h)
	g.tallies(c, x, y, w, h)
	bottom := y(len(g.down)) + gap
	c.layer("heads").Add(bold(named(label(x(0), bottom+3.2, labelSize, g.counts(c.talk), draw.InkDark, draw.Start),
		"counts")))
	c.used = bottom + 4.5
}

// stacked is in how many lines the columns' names stand: those of chords, where they
// are wider than a column, note above note, the highest on top.
func (g *grid) stacked(w float64) int {
	lines := 1
	for _, s := range g.across {
		if typeface.Sans.Width(s, labelSize) > w-0.6 {
			lines = max(lines, min(len(strings.Split(s, "+")), mostStacked))
		}
	}
	return lines
}

// mostStacked is how many notes of a chord are named above a column.
const mostStacked = 5

// heads names columns, rows and the two series.
func (g *grid) heads(c *canvas, x, y func(int) float64, w, h, left, top float64, stacked int) {
	l := c.layer("heads")
	book := c.talk.Book()
	across, down := "grid.durations-across", "grid.pitches-down"
	if g.byColor {
		across, down = "grid.pitches-across", "grid.durations-down"
	}
	l.Add(label(x(0), labelSize, labelSize, book.Say(across, nil), draw.InkSecond, draw.Start))
	l.Add(label(left-1.4, top-1.2, labelSize, book.Say(down, nil), draw.InkSecond, draw.End))
	names := g.across
	if stacked > 1 {
		names = nil // as wide as their widest note
		for _, s := range g.across {
			names = append(names, strings.Split(s, "+")...)
		}
	}
	stride := strideFor(names, w, labelSize)
	for i, s := range g.across {
		if i%stride > 0 {
			continue
		}
		// the first has the words for the rows at its left
		room := min(w*float64(stride), w+2.2+1000*float64(min(i, 1)))
		for k, note := range chordLines(s, stacked) {
			id := fmt.Sprintf("column-%d", i+1)
			if k > 0 {
				id += fmt.Sprintf("-%d", k+1)
			}
			l.Add(named(label(x(i)+w/2, top-1.2-1.1*labelSize*float64(k), labelSize,
				typeface.Sans.Fit(note, labelSize, room), draw.InkDark, draw.Middle), id))
		}
	}
	for i, s := range g.down {
		if h >= labelSize*1.05 || i%2 == 0 && h*2 >= labelSize*1.05 || i%4 == 0 {
			l.Add(named(label(left-1.4, y(i)+h/2+capHalf(labelSize), labelSize, typeface.Sans.Fit(s, labelSize, left-1.4),
				draw.InkDark, draw.End), fmt.Sprintf("row-%d", i+1)))
		}
	}
}

// chordLines are the lines of a column's name, from the lowest up.
func chordLines(s string, stacked int) []string {
	if stacked == 1 {
		return []string{s}
	}
	lines := strings.Split(s, "+")
	if len(lines) > stacked {
		lines = append(lines[:stacked-1:stacked-1], "…")
	}
	return lines
}

// strideFor is every how manieth of the texts has room in steps of width w.
func strideFor(texts []string, w, size float64) int {
	widest := 0.0
	for _, s := range texts {
		widest = max(widest, min(typeface.Sans.Width(s, size), 14))
	}
	return max(1, ceil((widest+0.6)/w))
}

// cells draws the grid: a tinted cell is one that is reached, the first
// statement of the talea darker; the first and the last note have a ring.
func (g *grid) cells(c *canvas, x, y func(int) float64, w, h float64) {
	cells, numbers := c.layer("cells"), c.layer("numbers")
	faint := draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.12}
	lines := &draw.Path{Named: draw.Named{ID: "lines"}, Stroke: faint}
	size := min(labelSize, h*0.72, w*0.92/max(0.1, typeface.Sans.Width(strconv.Itoa(g.notes), 1)))
	for note := range min(g.notes, g.played) {
		i, j := g.cell(note)
		fill := c.tint(g.index, 0.12)
		if note < len(g.strokes) {
			fill = c.tint(g.index, 0.34)
		}
		b := box(draw.Box(x(i), y(j), x(i)+w, y(j)+h), fill, draw.Stroke{})
		b.ID = fmt.Sprintf("cell-%d", note+1)
		cells.Add(b)
		switch {
		case size >= c.small*0.72:
			numbers.Add(named(middle(x(i)+w/2, y(j)+h/2, size, strconv.Itoa(note+1), draw.InkDark),
				fmt.Sprintf("note-%d", note+1)))
		default:
			numbers.Add(disc(x(i)+w/2, y(j)+h/2, min(w, h)*0.2, c.hue(g.index), draw.Stroke{}))
		}
	}
	for i := range len(g.across) + 1 {
		lines.Line(x(i), y(0), x(i), y(len(g.down)))
	}
	for j := range len(g.down) + 1 {
		lines.Line(x(0), y(j), x(len(g.across)), y(j))
	}
	cells.Add(lines)
	for _, note := range []int{0, g.notes - 1} {
		if note < g.played {
			i, j := g.cell(note)
			cells.Add(box(draw.Box(x(i), y(j), x(i)+w, y(j)+h), draw.Ink{}, draw.Stroke{Ink: c.accent(), WidthMM: 0.6}))
		}
	}
}

// tallies counts below each column and beside each row how often it is used.
func (g *grid) tallies(c *canvas, x, y func(int) float64, w, h float64) {
	columns, rows := make([]int, len(g.across)), make([]int, len(g.down))
	for note := range min(g.notes, g.played) {
		i, j := g.cell(note)
		columns[i]++
		rows[j]++
	}
	l := c.layer("heads")
	for i, n := range columns {
		if i%strideFor([]string{"99×"}, w, c.small) == 0 {
			l.Add(named(label(x(i)+w/2, y(len(g.down))+c.small*1.25, c.small, strconv.Itoa(n)+"×", draw.InkSecond, draw.Middle),
				fmt.Sprintf("column-count-%d", i+1)))
		}
	}
	for j, n := range rows {
		if h >= c.small*1.05 || j%2 == 0 && h*2 >= c.small || j%4 == 0 {
			l.Add(named(label(x(len(g.across))+1.4, y(j)+h/2+capHalf(c.small), c.small, strconv.Itoa(n)+"×", draw.InkSecond,
				draw.Start), fmt.Sprintf("row-count-%d", j+1)))
		}
	}
}

func ceil(v float64) int {
	n := int(v)
	if float64(n) < v {
		n++
	}
	return n
}
