package figure

import (
	"fmt"
	"slices"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/perform"
	"rollwright/text/words"
)

func (v *lines) draw(c *canvas, f *Figure) {
	left := 4.0
	for _, i := range v.voices {
		left = max(left, min(26, typeface.Sans.Width(v.in.Performance.Piece.Voices[i].Name, labelSize)))
	}
	left += 2
	const head = labelSize * 1.5
	gap := 1.6
	row := min(13, (c.height-head-timeAxisRoom)/float64(len(v.voices)))
	if len(v.pairs) > 0 {
		gap = min(7, row*0.45)
		row = min(17, (c.height-head-timeAxisRoom)/float64(len(v.voices)))
	}
	bottom := head + row*float64(len(v.voices))
	h := newChart(c, left, head, c.width-labelSize*0.7, bottom) // half the last number of the axis stands out
	h.x.From, h.x.To = v.from, v.to
	f.Time = &h.x
	h.timeAxis(c.talk.Book().Say("axis.time", nil))
	top := map[int]float64{}
	for k, i := range v.voices {
		top[i] = head + row*float64(k) + gap/2
		v.row(h, i, top[i], row-gap)
	}
	for _, p := range v.pairs {
		v.meetings(h, p, top[p.a]+row-gap, top[p.b])
	}
	if v.canon != "" {
		x := h.x.At(v.canonAt)
		l := c.layer("meetings")
		mark := line(x, head-1, x, bottom, draw.Stroke{Ink: c.accent(), WidthMM: 0.6})
		mark.ID = "meeting-point"
		l.Add(mark)
		text := c.talk.Book().Say("lines.meet", words.Args{"at": c.talk.Book().Decimal(clock(v.canonAt, 1))})
		half := typeface.SansBold.Width(text, labelSize) / 2
		l.Add(bold(label(min(max(x, left+half), c.width-half), head-1.8, labelSize, text, c.accent(), draw.Middle)))
	}
	c.used = bottom + timeAxisRoom
}

// row draws one voice between y and y+tall.
func (v *lines) row(h *chart, voice int, y, tall float64) {
	c, l := h.c, v.in.Performance.Lines[voice]
	name := v.in.Performance.Piece.Voices[voice].Name
	c.layer("names").Add(label(h.x.FromMM-2, y+tall/2+capHalf(labelSize), labelSize,
		typeface.Sans.Fit(name, labelSize, h.x.FromMM-2), draw.InkDark, draw.End))
	third := tall * 0.36
	taleae, colores := statements(l)
	v.band(h, voice, "talea", taleae, y, third)
	v.notes(h, voice, l, y+third, tall-2*third)
	v.band(h, voice, "color", colores, y+tall-third, third)
	x0, x1 := v.clip(h, l.StartSec), v.clip(h, l.EndSec)
	c.layer("rows").Add(box(draw.Box(x0, y, x1, y+tall), draw.Ink{}, c.stroke(voice, 0.4)))
}

// clip is the place of a time, kept within the chart.
func (v *lines) clip(h *chart, sec float64) float64 { return h.x.At(min(max(sec, v.from), v.to)) }

// band draws statements as boxes, tinted in turn and counted where there is room.
func (v *lines) band(h *chart, voice int, what string, all []statement, y, tall float64) {
	l := h.c.layer("rows")
	size := min(labelSize, tall*0.9)
	free := h.x.FromMM // where the next number may begin
	drawn := h.x.FromMM - 1
	for _, s := range all {
		if s.end <= v.from || s.start >= v.to {
			continue
		}
		x0, x1 := v.clip(h, s.start), v.clip(h, s.end)
		if x1-x0 < 0.25 && x0-drawn < 0.4 {
			continue // too dense to tell apart: every so many is drawn
		}
		drawn = x0
		share := 0.12
		if s.n%2 == 0 {
			share = 0.34
		}
		b := box(draw.Box(x0, y, x1, y+tall), h.c.tint(voice, share), draw.Stroke{})
		b.ID = fmt.Sprintf("%s-%d-%d", what, voice+1, s.n)
		l.Add(b, line(x0, y, x0, y+tall, draw.Stroke{Ink: h.c.hue(voice), WidthMM: 0.18}))
		text := strconv.Itoa(s.n)
		if w := typeface.Sans.Width(text, size); size >= h.c.small*0.8 && x0 >= free && w < x1-x0-0.3 {
			l.Add(label(x0+0.5, y+tall/2+capHalf(size), size, text, draw.InkDark, draw.Start))
			free = x0 + w + 0.8
		}
	}
}

// notes draws a stroke for each note; where strokes would touch, one stands for
// those within a tenth of a millimetre.
func (v *lines) notes(h *chart, voice int, l *perform.Line, y, tall float64) {
	p := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("notes-%d", voice+1)},
		Stroke: draw.Stroke{Ink: h.c.hue(voice), WidthMM: 0.2}}
	last := h.x.FromMM - 1
	for it := range l.All() {
		if it.Silent || it.StartSec < v.from || it.StartSec > v.to {
			continue
		}
		if x := h.x.At(it.StartSec); x-last >= 0.1 {
			p.Line(x, y, x, y+tall)
			last = x
		}
	}
	h.c.layer("notes").Add(p)
}

// meetings draws what happens between two rows: y0 is the bottom of the upper
// one, y1 the top of the lower one.
func (v *lines) meetings(h *chart, p drawnPair, y0, y1 float64) {
	l := h.c.layer("meetings")
	mark := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("meet-%d-%d", p.a+1, p.b+1)},
		Stroke: draw.Stroke{Ink: draw.InkDark, WidthMM: 0.25}}
	dots := &draw.Slots{Ink: draw.InkDark, WidthMM: 1.3}
	for _, m := range p.meetings {
		if p.crowded(v.columnOf(m.At.Decimal)) {
			continue
		}
		x := h.x.At(m.At.Decimal)
		mark.Line(x, y0, x, y1)
		dots.Segments = append(dots.Segments, draw.Segment{X1: x, Y1: y0, X2: x, Y2: y0},
			draw.Segment{X1: x, Y1: y1, X2: x, Y2: y1})
	}
	if len(dots.Segments) > 0 {
		l.Add(mark, dots)
	}
	v.columns(h, &p, y0, y1)
	var rings []float64
	for _, m := range p.misses {
		rings = append(rings, h.x.At(float64(m.At)+m.Distance.Decimal/2))
	}
	for i, x := range rings {
		ring := disc(x, (y0+y1)/2, 0.9, draw.White, draw.Hair(draw.InkDark))
		ring.ID = fmt.Sprintf("near-%d-%d-%d", p.a+1, p.b+1, i+1)
		l.Add(ring)
	}
	if len(rings) > 0 {
		// over its neighbours; lighter than the dots of a stroke
		l.Add(disc(rings[0], (y0+y1)/2, 0.9, draw.InkSecond, draw.Hair(draw.InkDark)))
		v.nearest(h, p, rings, y0, y1)
	}
}

// columns draws how many meetings there are where lines would run together: the higher a
// column the more, the highest of the figure from row to row.
func (v *lines) columns(h *chart, p *drawnPair, y0, y1 float64) {
	path := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("density-%d-%d", p.a+1, p.b+1)}, Fill: draw.InkSecond}
	for k, n := range p.columns {
		if !p.crowded(k) {
			continue
		}
		x0, x1 := h.x.At(v.from+float64(k)*v.columnSec()), h.x.At(v.from+float64(k+1)*v.columnSec())
		top := y1 - (y1-y0)*float64(n)/float64(v.dense)
		path.Polygon(draw.Point{X: x0, Y: y1}, draw.Point{X: x1, Y: y1}, draw.Point{X: x1, Y: top}, draw.Point{X: x0, Y: top})
	}
	if len(path.Steps) > 0 {
		h.c.layer("meetings").Add(path)
	}
}

// nearest writes the nearest miss beside its ring, or at an end of the rows where
// that is free: its ring is the full one.
func (v *lines) nearest(h *chart, p drawnPair, rings []float64, y0, y1 float64) {
	if y1-y0 <= h.c.small {
		return
	}
	book := h.c.talk.Book()
	miss := book.Decimal(span(p.misses[0].Distance.Decimal))
	far := book.Say("lines.nearest", words.Args{"miss": miss})
	w, farW := typeface.Sans.Width(miss, h.c.small), typeface.Sans.Width(far, h.c.small)
	for _, s := range []struct {
		text string
		x, w float64
	}{{miss, rings[0] + 1.4, w}, {miss, rings[0] - 1.4 - w, w}, {far, h.x.ToMM - farW - 0.5, farW},
		{far, h.x.FromMM + 0.5, farW}} {
		if s.x < h.x.FromMM || s.x+s.w > h.x.ToMM || v.busy(h, p, rings, draw.Box(s.x, y0, s.x+s.w, y1)) {
			continue
		}
		t := label(s.x, (y0+y1)/2+capHalf(h.c.small), h.c.small, s.text, draw.InkSecond, draw.Start)
		h.c.layer("meetings").Add(named(t, fmt.Sprintf("miss-%d-%d", p.a+1, p.b+1)))
		return
	}
}

// busy reports whether a mark between the rows of p lies in place.
func (v *lines) busy(h *chart, p drawnPair, rings []float64, place draw.Rect) bool {
	within := func(x float64) bool { return x > place.Min.X-1.2 && x < place.Max.X+1.2 }
	for _, m := range p.meetings {
		if within(h.x.At(m.At.Decimal)) {
			return true
		}
	}
	return slices.ContainsFunc(rings, within) || v.canon != "" && within(h.x.At(v.canonAt))
}
