package sheet

import (
	"fmt"

	"rollwright/draw"
	"rollwright/draw/typeface"
)

// guide is the first sheet: what to measure, how to join the tiles.
func (j *job) guide(p plan) *draw.Drawing {
	d := &draw.Drawing{
		Frame:   draw.Box(0, 0, p.pageW, p.pageH),
		Title:   j.title(),
		Author:  j.o.Composer,
		Subject: "Piano roll in tiles, 1:1; " + j.face.side(),
	}
	marks := d.Layer(MarksLayer, "Marks")
	left := p.margin + 17
	marks.Add(draw.Serif(left, p.margin+24, 10, typeface.Serif.Fit(j.title(), 10, p.pageW-2*left), draw.Start))
	y := p.margin + 32.0
	if j.o.Composer != "" {
		t := draw.Serif(left, y, 5, typeface.Serif.Fit(j.o.Composer, 5, p.pageW-2*left), draw.Start)
		t.Face = typeface.SerifItalic
		marks.Add(draw.Second(t))
		y += 7
	}
	marks.Add(draw.Second(draw.Label(left, y, 3.2, j.facts(), draw.Start)))
	y += 13
	column := j.rulersX(p) - 14 - left
	for i, step := range j.steps(p) {
		marks.Add(draw.Bold(left, y, 4, fmt.Sprint(i+1), draw.Start), draw.Bold(left+7, y, 4, step.what, draw.Start))
		y += 5.6
		for _, line := range typeface.Serif.Wrap(step.how, 3.6, column-7) {
			marks.Add(draw.Serif(left+7, y, 3.6, line, draw.Start))
			y += 4.8
		}
		y += 3.4
	}
	j.guideRulers(marks, p)
	j.guideMap(marks, p)
	return d
}

type step struct{ what, how string }

func (j *job) steps(p plan) []step {
	above, lower := "above", "lower"
	if !j.face.startBelow() {
		above, lower = "below", "upper"
	}
	return []step{
		{"Print at full size", "Choose “actual size” or 100 %, never “fit to page”, on " + j.o.Paper.String() +
			" paper lying."},
		{"Measure both rulers on this sheet", "If the one along measures 99.2 mm, print again with the scale along 1.0081, that is 100 / 99.2; likewise the scale across. Measure again before you go on: printers, and paper in damp air, differ both ways."},
		{"Cut and join", fmt.Sprintf("Tile 1 lies first. Each next tile joins %s the one before: cut it along its %s line, lay it over the %g mm that both show, and move it until crosses with one name lie on each other. A pin through both proves it.", above, lower, j.o.OverlapMM)},
		{"Look before you punch", "You see the " + j.face.side() +
			". Hold the sheets to the instrument: BASS must lie at the bass, START must come first. A mirrored roll is a ruined roll."},
		{"Mind your hands and eyes", "Punches, knives, cutters and lasers hurt: keep to the maker's instructions and local rules, wear eye protection, never leave a laser alone, clear its fumes."},
	}
}

// rulersX is where the rulers begin, so that the one across ends at the right
// margin.
func (j *job) rulersX(p plan) float64 { return p.pageW - p.margin - 17 - 100*j.o.ScaleAcross }

// guideRulers are the two rulers with what scale was asked for.
func (j *job) guideRulers(layer *draw.Layer, p plan) {
	x, y := j.rulersX(p), p.margin+56
	layer.Add(draw.Ruler(x, y, 1, 0, 100, j.o.ScaleAcross), draw.Bold(x+50*j.o.ScaleAcross, y-2, 3.2, "100 mm across",
		draw.Middle))
	layer.Add(draw.Ruler(x, y+100*j.o.ScaleAlong+8, 0, -1, 100, j.o.ScaleAlong),
		turned(draw.Bold(x-2, y+50*j.o.ScaleAlong+8, 3.2, "100 mm along", draw.Middle), -90))
	note := "printed without correction"
	if j.o.ScaleAcross != 1 || j.o.ScaleAlong != 1 {
		note = fmt.Sprintf("printed with scale along %s, scale across %s", decimal(j.o.ScaleAlong, 4),
			decimal(j.o.ScaleAcross, 4))
	}
	layer.Add(draw.Second(draw.Label(x+8, y+7, 2.8, note, draw.Start)))
}

// guideMap is the order of joining in small: the first tiles and the last.
func (j *job) guideMap(layer *draw.Layer, p plan) {
	const w, h, pitch = 44.0, 17.0, 13.5
	x := j.rulersX(p) + 32
	low := p.margin + 56 + 100*j.o.ScaleAlong + 4
	shown := min(p.count, 5)
	top := low - h - float64(shown-1)*pitch
	left, right := "BASS", "TREBLE"
	if !j.face.bassLeft() {
		left, right = right, left
	}
	for i, name := range tileNames(p.count, shown) {
		y := low - h - float64(i)*pitch
		if !j.face.startBelow() {
			y = top + float64(i)*pitch
		}
		box := &draw.Path{Fill: draw.White, Stroke: draw.Hair(draw.InkDark)}
		layer.Add(box.Rect(draw.Box(x, y, x+w, y+h)), draw.Label(x+w/2, y+h/2+1.2, 3.2, name, draw.Middle))
	}
	mid := (low + top) / 2
	layer.Add(turned(draw.Second(draw.Label(x-1.5, mid, 2.8, left, draw.Middle)), -90),
		turned(draw.Second(draw.Label(x+w+1.5, mid, 2.8, right, draw.Middle)), 90))
	start := low + 4.4
	if !j.face.startBelow() {
		start = top - 2
	}
	layer.Add(draw.Bold(x+w/2, start, 3.2, "START", draw.Middle))
	tail, tip := top+2, low-2
	if j.in.Paper.TravelsUp {
		tail, tip = tip, tail
	}
	layer.Add(draw.Arrow(x+w+8, tail, x+w+8, tip, 3), turned(draw.Label(x+w+10, mid, 2.8, "the paper moves this way",
		draw.Middle), 90))
}

// tileNames are the names of the first tiles and of the last, with an ellipsis
// for those between.
func tileNames(count, shown int) []string {
	names := make([]string, shown)
	for i := range names {
		names[i] = fmt.Sprintf("tile %d", i+1)
	}
	if count > shown {
		names[shown-2], names[shown-1] = "…", fmt.Sprintf("tile %d", count)
	}
	return names
}
