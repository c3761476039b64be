package main

import (
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
)

// A chart is lines over two axes.
type chart struct {
	title, xName, yName, caption string
	x, y                         [2]float64 // what the axes reach
	xLog, yLog                   bool
	xTicks, yTicks               []float64
	lines                        []line
}

type line struct {
	name   string
	points []draw.Point
}

func (c *chart) add(name string, points []draw.Point) {
	c.lines = append(c.lines, line{name, points})
}

// Millimetres of the sheet and of the field within it.
var (
	sheet = draw.Box(0, 0, 174, 100)
	field = draw.Box(18, 12, 166, 78)
)

func place(v float64, axis [2]float64, log bool) float64 {
	if log {
		return math.Log(v/axis[0]) / math.Log(axis[1]/axis[0])
	}
	return (v - axis[0]) / (axis[1] - axis[0])
}

func (c *chart) at(p draw.Point) draw.Point {
	return draw.Point{
		X: field.Min.X + field.W()*place(p.X, c.x, c.xLog),
		Y: field.Max.Y - field.H()*place(p.Y, c.y, c.yLog),
	}
}

func (c *chart) drawing() *draw.Drawing {
	d := &draw.Drawing{Frame: sheet, Ground: draw.White, Title: c.title, Subject: c.caption}
	axes := d.Layer("axes", "axes")
	text := func(x, y, size float64, s string, ink draw.Ink, anchor draw.Anchor, turn float64) {
		axes.Add(&draw.Text{At: draw.Point{X: x, Y: y}, Text: s, SizeMM: size, Face: typeface.Sans, Ink: ink, Anchor: anchor,
			TurnDeg: turn})
	}
	for _, v := range c.xTicks {
		p := c.at(draw.Point{X: v, Y: c.y[0]})
		axes.Add((&draw.Path{Stroke: draw.Hair(draw.InkFaint)}).Line(p.X, field.Min.Y, p.X, field.Max.Y))
		text(p.X, field.Max.Y+4.2, 3, number(v), draw.InkSecond, draw.Middle, 0)
	}
	for _, v := range c.yTicks {
		p := c.at(draw.Point{X: c.x[0], Y: v})
		axes.Add((&draw.Path{Stroke: draw.Hair(draw.InkFaint)}).Line(field.Min.X, p.Y, field.Max.X, p.Y))
		text(field.Min.X-1.5, p.Y+1, 3, number(v), draw.InkSecond, draw.End, 0)
	}
	axes.Add((&draw.Path{Stroke: draw.Hair(draw.InkDark)}).Rect(field))
	text(field.Min.X, 8, 4, c.title, draw.InkDark, draw.Start, 0)
	text(field.Max.X, field.Max.Y+8.6, 3, c.xName, draw.InkDark, draw.End, 0)
	text(5.5, field.Min.Y, 3, c.yName, draw.InkDark, draw.End, -90)
	text(field.Min.X, sheet.Max.Y-3, 2.7, c.caption, draw.InkSecond, draw.Start, 0)
	c.curves(d)
	return d
}

// curves draws the lines, each with its hue and pattern, and names them below the
// field.
func (c *chart) curves(d *draw.Drawing) {
	layer, names := d.Layer("lines", "lines"), d.Layer("names", "names")
	clip := field
	layer.Clip = &clip
	x := field.Min.X
	for i, l := range c.lines {
		stroke := draw.VoiceStroke(i, 0.5)
		path := &draw.Path{Stroke: stroke}
		path.Title = l.name
		var points []draw.Point
		for _, p := range l.points {
			points = append(points, c.at(p))
		}
		layer.Add(path.Polyline(points...))
		y := field.Max.Y + 12.5
		names.Add((&draw.Path{Stroke: stroke}).Line(x, y-1, x+8, y-1))
		t := &draw.Text{At: draw.Point{X: x + 9.5, Y: y}, Text: l.name, SizeMM: 3, Face: typeface.Sans, Ink: draw.InkDark}
		names.Add(t)
		x += 9.5 + t.WidthMM() + 6
	}
}

// number is a tick as people write it.
func number(v float64) string {
	if v != 0 && math.Abs(v) < 0.01 {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
