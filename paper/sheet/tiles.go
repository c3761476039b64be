package sheet

import (
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/paper/roll"
)

// Parts of a tile, in millimetres of the sheet.
const (
	headMM  = 14 // above the stretch of roll
	footerM = 13 // below it
	namesMM = 13 // more below it, for the ports' names
	textIn  = 3  // text keeps so far from where the printer ends
)

// Blank paper that tiles show before the first hole or time 0, at least, and
// after the last hole.
const (
	tileLeadIn  = 30
	tileLeadOut = 15
)

// maxTiles is more paper than anyone glues together.
const maxTiles = 5000

// plan says how the roll is shared out over tiles: tile i (from 0) shows
// body millimetres from from + i*advance on.
type plan struct {
	pageW, pageH float64
	margin       float64
	from         float64
	body         float64
	advance      float64
	count        int
}

func (j *job) plan() (plan, error) {
	p := plan{margin: j.o.MarginMM}
	p.pageW, p.pageH = j.o.Paper.size()
	room := p.pageH - 2*p.margin - headMM - footerM
	if j.o.Names {
		room -= namesMM
	}
	p.body = math.Floor(room/j.o.ScaleAlong/10) * 10
	p.advance = p.body - j.o.OverlapMM
	if p.advance < 50 {
		return p, fmt.Errorf("sheet: margins of %g mm and an overlap of %g mm leave too little of a sheet", p.margin,
			j.o.OverlapMM)
	}
	p.from = j.beginning(tileLeadIn)
	p.count = max(1, int(math.Ceil((j.last+tileLeadOut-p.from-j.o.OverlapMM)/p.advance)))
	if p.count > maxTiles {
		return p, fmt.Errorf("sheet: the roll would need %d tiles, more than %d: draw it as one long page", p.count, maxTiles)
	}
	return p, nil
}

// Tiles are the sheets for a printer: first one that says how to print and
// join them, then the roll in stretches that overlap.
func Tiles(r *roll.Roll, o *Options) ([]*draw.Drawing, error) {
	j, err := newJob(r, o)
	if err != nil {
		return nil, err
	}
	p, err := j.plan()
	if err != nil {
		return nil, err
	}
	pages := []*draw.Drawing{j.guide(p)}
	cursor := make([]int, len(j.openers))
	for i := range p.count {
		pages = append(pages, newTile(j, p, i, cursor).draw())
	}
	return pages, nil
}

// tile is one stretch of the roll on its sheet.
type tile struct {
	*job
	plan
	number    int // from 0
	low, high float64
	body      draw.Rect // on the sheet
	holes     []*draw.Slots
	board     board
}

// newTile gathers the holes of tile number i. cursor remembers, for each port,
// the first opening that may reach this tile; tiles are made in order.
func newTile(j *job, p plan, i int, cursor []int) *tile {
	t := &tile{job: j, plan: p, number: i}
	t.low = p.from + float64(i)*p.advance
	t.high = t.low + p.body
	bottom := p.margin + headMM + p.body*j.o.ScaleAlong
	t.body = draw.Box(p.margin, p.margin+headMM, p.pageW-p.margin, bottom)
	t.gather(cursor)
	return t
}

// x is where a place across lies on the sheet: the paper's centre is the
// sheet's.
func (t *tile) x(across float64) float64 {
	off := (across - t.in.Paper.WidthMM/2) * t.o.ScaleAcross
	if !t.face.bassLeft() {
		off = -off
	}
	return t.pageW/2 + off
}

// y is where a place along lies on the sheet.
func (t *tile) y(along float64) float64 {
	off := (along - t.low) * t.o.ScaleAlong
	if t.face.startBelow() {
		return t.body.Max.Y - off
	}
	return t.body.Min.Y + off
}

func (t *tile) gather(cursor []int) {
	r := t.die / 2
	for port, list := range t.openers {
		for cursor[port] < len(list) && list[cursor[port]].to+r < t.low {
			cursor[port]++
		}
		var m *draw.Slots
		x := t.x(t.in.Bar.Ports[port].AcrossMM)
		for _, s := range list[cursor[port]:] {
			if s.from-r > t.high {
				break
			}
			if m == nil {
				m = t.portMark(port, draw.InkDark)
				m.ID = "" // the same port is on every sheet
			}
			g := draw.Segment{X1: x, Y1: t.y(s.from), X2: x, Y2: t.y(s.to)}
			m.Segments = append(m.Segments, g)
			t.board.take(draw.Box(x, g.Y1, x, g.Y2).Grow(r))
		}
		if m != nil {
			t.holes = append(t.holes, m)
		}
	}
}

func (t *tile) draw() *draw.Drawing {
	d := &draw.Drawing{
		Frame:   draw.Box(0, 0, t.pageW, t.pageH),
		Title:   t.title(),
		Author:  t.o.Composer,
		Subject: "Piano roll in tiles, 1:1; " + t.face.side(),
	}
	edges := d.Layer(EdgesLayer, "Paper edges")
	holes := d.Layer(HolesLayer, "Holes")
	marks := d.Layer(MarksLayer, "Marks")
	clip := t.body
	holes.Clip = &clip
	for _, m := range t.holes {
		holes.Add(m)
	}
	t.weak(d)
	t.edges(edges)
	t.registers(marks)
	t.cues(marks)
	t.ends(marks)
	t.lengths(marks)
	t.rulers(marks)
	t.head(marks)
	t.foot(marks)
	if t.o.Names {
		t.names(marks)
	}
	return d
}

// shown reports whether the printer reaches x.
func (t *tile) shown(x float64) bool { return x >= t.margin-1e-9 && x <= t.pageW-t.margin+1e-9 }

// edges are the paper's edges where the printer reaches them, the centre line
// where no hole can meet it, the limits of the stretch.
func (t *tile) edges(layer *draw.Layer) {
	top, bottom := t.body.Min.Y, t.body.Max.Y
	p := &draw.Path{Named: draw.Named{Title: "edges of the paper"}, Stroke: draw.Hair(draw.InkDark)}
	for _, across := range []float64{0, t.in.Paper.WidthMM} {
		if x := t.x(across); t.shown(x) {
			p.Line(x, top, x, bottom)
		}
	}
	if len(p.Steps) > 0 {
		layer.Add(p)
	}
	centre := &draw.Path{Named: draw.Named{Title: "centre line of the paper"},
		Stroke: draw.Stroke{Ink: draw.InkSecond, WidthMM: 0.15, DashMM: []float64{8, 1.5, 1, 1.5}}}
	x := t.x(t.in.Paper.WidthMM / 2)
	if !t.centreFree() {
		layer.Add(centre.Line(x, top-2, x, top).Line(x, bottom, x, bottom+2))
		return
	}
	from := t.y(t.low)
	if t.number == 0 { // not through what the blank beginning says
		from = t.y(min(0, t.first))
	}
	if y, ok := t.endAt(); ok { // nor through the end
		half := math.Copysign(bannerMM/2+1.5, y-from)
		centre.Line(x, from, x, y-half)
		from = y + half
	}
	centre.Line(x, from, x, t.y(t.high))
	layer.Add(centre)
}

// centreFree reports whether the centre line passes between the ports.
func (t *tile) centreFree() bool {
	for _, p := range t.in.Bar.Ports {
		if math.Abs(p.AcrossMM-t.in.Paper.WidthMM/2) < t.die/2+0.2 {
			return false
		}
	}
	return true
}

// start and end of the stretch on the sheet: the y at its first and last
// millimetre, and the direction from the one to the other, -1 up.
func (t *tile) ways() (first, last, dir float64) {
	first, last = t.y(t.low), t.y(t.high)
	return first, last, math.Copysign(1, last-first)
}
