package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/say"
)

// registers are the crosses in both overlaps and the lines at which sheets are
// cut and joined.
func (t *tile) registers(layer *draw.Layer) {
	first, last, dir := t.ways()
	over := t.o.OverlapMM * t.o.ScaleAlong
	left, right := t.body.Min.X, t.body.Max.X
	if t.number > 0 {
		t.crosses(layer, first+dir*over/2, t.number)
		layer.Add((&draw.Path{Named: draw.Named{Title: "cut here"}, Stroke: draw.Hair(draw.InkDark)}).Line(left, first, right,
			first))
	} else {
		t.limit(layer, first)
	}
	if t.number < t.count-1 {
		t.crosses(layer, last-dir*over/2, t.number+1)
		join := &draw.Path{Named: draw.Named{Title: "the next tile begins here"},
			Stroke: draw.Stroke{Ink: draw.InkDark, WidthMM: 0.15}}
		t.between(join, last-dir*over)
		layer.Add(join)
	}
	t.limit(layer, last)
}

// between draws a line across the stretch at y that leaves out the holes.
func (t *tile) between(p *draw.Path, y float64) {
	clear := t.die/2 + 0.6
	var gaps []float64 // centres of what is left out
	for _, m := range t.holes {
		for _, g := range m.Segments {
			if y > min(g.Y1, g.Y2)-clear && y < max(g.Y1, g.Y2)+clear {
				gaps = append(gaps, g.X1)
				break
			}
		}
	}
	slices.Sort(gaps)
	from := t.body.Min.X
	for _, x := range append(gaps, math.Inf(1)) {
		if to := min(x-clear, t.body.Max.X); to > from {
			p.Line(from, y, to, y)
		}
		from = x + clear
	}
}

// limit is a faint line at an end of the stretch that is not cut.
func (t *tile) limit(layer *draw.Layer, y float64) {
	layer.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.15}}).Line(t.body.Min.X, y, t.body.Max.X, y))
}

// sideBand is how far, across the paper, the band without ports reaches from
// the side of the sheet at x.
func (t *tile) sideBand(x float64) float64 {
	ports := t.in.Bar.Ports
	low, high := ports[0].AcrossMM-t.die/2-0.4, ports[len(ports)-1].AcrossMM+t.die/2+0.4
	if (x < t.pageW/2) == t.face.bassLeft() {
		return low
	}
	return high
}

// crosses puts two crosses into the overlap between tile seam and the one
// after it (from 1), as far apart as the holes allow, and where no port passes if
// there is such a place: a cross in a port's column may be taken for a hole. Both
// sheets put them into the same places, for the overlap is the same on both.
func (t *tile) crosses(layer *draw.Layer, y float64, seam int) {
	const r = 2.5
	over := t.o.OverlapMM * t.o.ScaleAlong
	for _, xs := range [][]float64{
		steps(t.body.Min.X+r+1, t.pageW/2-r, 0.5),
		steps(t.body.Max.X-r-1, t.pageW/2+r, 0.5),
	} {
		slices.SortStableFunc(xs, func(a, b float64) int { return cmp.Compare(t.passes(a, r), t.passes(b, r)) })
		x, ok := t.board.find(xs, y, 2*r+0.6, min(over-1, 2*r+0.6))
		if !ok {
			x = xs[0]
		}
		layer.Add(cross(x, y, r))
		letter := "a"
		if x > t.pageW/2 {
			letter = "b"
		}
		name := draw.Label(0, y+0.7, 2, fmt.Sprintf("%d%s", seam, letter), draw.Middle)
		w := name.WidthMM() + 0.6
		if at, ok := t.board.find(t.beside(x, r+0.6+w/2), y, w, 2.2); ok {
			name.At.X = at
			layer.Add(name)
		}
	}
}

// passes is 1 where the holes of some port may come within r of x, else 0.
func (t *tile) passes(x, r float64) int {
	for _, p := range t.in.Bar.Ports {
		if math.Abs(t.x(p.AcrossMM)-x) < r+t.die/2 {
			return 1
		}
	}
	return 0
}

// beside are the places on both sides of x, that towards the centre first.
func (t *tile) beside(x, off float64) []float64 {
	in := math.Copysign(off, t.pageW/2-x)
	return []float64{x + in, x - in}
}

// ends says START on the blank before the first hole and END after the last.
func (t *tile) ends(layer *draw.Layer) {
	first, _, dir := t.ways()
	left, right := "BASS", "TREBLE"
	if !t.face.bassLeft() {
		left, right = right, left
	}
	if t.number == 0 {
		blank := math.Abs(t.y(min(0, t.job.first)) - first)
		y := first + dir*blank/2
		t.banner(layer, y, left, "START", right)
		// The paper moves towards its start.
		for _, x := range []float64{t.pageW/2 - 24, t.pageW/2 + 24} {
			layer.Add(draw.Arrow(x, y+dir*4-1, x, y-dir*4-1, 3.6))
		}
		layer.Add(draw.Label(t.pageW/2, y+8, 2.8, "this end comes first · "+t.face.side(), draw.Middle))
		t.board.take(draw.Box(t.body.Min.X, first, t.body.Max.X, first+dir*blank))
		t.zero(layer)
	}
	if t.number == t.count-1 {
		if y, ok := t.endAt(); ok {
			t.banner(layer, y, left, "END", right)
		}
	}
}

// endAt is the middle of what says END, false where there is no room for it.
func (t *tile) endAt() (y float64, ok bool) {
	_, last, dir := t.ways()
	end := t.y(t.job.last)
	room := math.Abs(last - end)
	return end + dir*room/2 - 1, t.number == t.count-1 && room >= 12
}

// bannerMM is how high a banner is, and how far from the paper's edges, where
// rulers stand, its words begin.
const (
	bannerMM     = 7.5
	bannerInside = 17
)

// banner is three words across the stretch, with y in the middle.
func (t *tile) banner(layer *draw.Layer, y float64, left, middle, right string) {
	edges := []float64{t.x(0), t.x(t.in.Paper.WidthMM)}
	slices.Sort(edges)
	base := y + 2
	for _, word := range []*draw.Text{
		draw.Bold(max(edges[0], t.body.Min.X)+bannerInside, base, 5.5, left, draw.Start),
		draw.Bold(t.pageW/2, base, bannerMM, middle, draw.Middle),
		draw.Bold(min(edges[1], t.body.Max.X)-bannerInside, base, 5.5, right, draw.End),
	} {
		layer.Add(word)
		t.board.take(word.Bounds().Grow(2))
	}
}

// zero marks the row of time 0.
func (t *tile) zero(layer *draw.Layer) {
	if t.low > 0 || t.high < 0 {
		return
	}
	_, _, dir := t.ways()
	y := t.y(0)
	row := &draw.Path{Named: draw.Named{Title: "the row that lies on the bar at time 0"}, Stroke: draw.Hair(draw.InkDark)}
	t.between(row, y)
	layer.Add(row)
	layer.Add(draw.Label(t.margin+textIn+6, y-dir*3.2+0.8, 2.5, "time 0", draw.Start))
}

// lengths are ticks and numbers at both sides: metric at the bass, feet at the
// treble.
func (t *tile) lengths(layer *draw.Layer) {
	ticks := &draw.Path{Stroke: draw.Hair(draw.InkDark)}
	layer.Add(ticks)
	metric, feet := t.body.Min.X, t.body.Max.X
	if !t.face.bassLeft() {
		metric, feet = feet, metric
	}
	t.scale(layer, ticks, metric, 10, 50, 100, lengthName)
	t.scale(layer, ticks, feet, footMM/12, footMM/4, footMM, footName)
}

// scale draws ticks inwards from the side of the sheet at x: short ones each
// small, longer ones each middle, the longest with a name each large.
func (t *tile) scale(layer *draw.Layer, ticks *draw.Path, x, small, middle, large float64, name func(float64) string) {
	in := math.Copysign(1, t.pageW/2-x)
	// From the paper's edge, or where the printer ends when that is further in.
	edge := t.x(0)
	if math.Abs(t.x(t.in.Paper.WidthMM)-x) < math.Abs(edge-x) {
		edge = t.x(t.in.Paper.WidthMM)
	}
	if (edge-x)*in > 0 {
		x = edge
	}
	room := (t.x(t.sideBand(x)) - x) * in // to the outermost port
	for _, mm := range multiples(t.low, t.high, small) {
		y, size := t.y(mm), 1.0
		if whole(mm, middle) {
			size = 1.8
		}
		big := whole(mm, large)
		if big {
			size = 3
		}
		if size = min(size, room); size > 0.4 {
			ticks.Line(x, y, x+in*size, y)
			t.board.take(draw.Box(x, y-0.2, x+in*(size+0.3), y+0.2))
		}
		if !big {
			continue
		}
		text := turned(draw.Label(0, 0, 2.3, name(mm), draw.Middle), -90)
		w, h := 2.3*0.75, text.WidthMM()+0.8
		y = min(max(y, t.body.Min.Y+h/2), t.body.Max.Y-h/2)
		if at, ok := t.board.find(steps(x+in*(max(size, 0)+0.5+w/2), t.pageW/2, 0.4), y, w, h); ok {
			text.At = draw.Point{X: at + w/2, Y: y}
			layer.Add(text)
		}
	}
}

// rulers are 100 mm along, where the holes leave room for it, and across, at
// the foot.
func (t *tile) rulers(layer *draw.Layer) {
	length := 100 * t.o.ScaleAlong
	mid := (t.body.Min.Y + t.body.Max.Y) / 2
	xs := append(t.inwards(t.in.Paper.WidthMM, 5), t.inwards(0, 5)...)
	for _, shift := range []float64{0, 15, -15} {
		const w = 5.2
		x, ok := t.board.find(xs, mid+shift, w, length+1)
		if !ok {
			continue
		}
		layer.Add(draw.Ruler(x-0.4, mid+shift-length/2, 0, 1, 100, t.o.ScaleAlong),
			turned(draw.Label(x+2.2, mid+shift, 2.3, "100 mm along", draw.Middle), -90))
		return
	}
}

// inwards are places from mm inside the paper's edge towards its middle, as far
// as the printer reaches.
func (t *tile) inwards(edge, mm float64) []float64 {
	x := t.x(edge)
	x += math.Copysign(mm, t.pageW/2-x)
	return steps(min(max(x, t.body.Min.X+3), t.body.Max.X-3), t.pageW/2, 0.4)
}

// head is the strip above the stretch.
func (t *tile) head(layer *draw.Layer) {
	y, left, right := t.margin, t.margin+textIn, t.pageW-t.margin-textIn
	first, second1 := "BASS", "TREBLE"
	if !t.face.bassLeft() {
		first, second1 = second1, first
	}
	base := y + 5.6
	layer.Add(draw.Bold(left, base, 4, first, draw.Start), draw.Bold(right, base, 4, second1, draw.End))
	number := fmt.Sprintf("tile %d of %d", t.number+1, t.count)
	where := draw.Bold(right-24, base, 4, number, draw.End)
	x := left + 24
	layer.Add(where, draw.Serif(x, base, 4.8, typeface.Serif.Fit(t.title(), 4.8, right-24-where.WidthMM()-6-x),
		draw.Start))
	base = y + 10.6
	layer.Add(draw.Label(left, base, 2.8, t.stretch(), draw.Start), draw.Label(right, base, 2.8, t.joins(), draw.End))
	t.travel(layer, base)
}

// stretch says which part of the roll this is.
func (t *tile) stretch() string {
	s := fmt.Sprintf("from %s to %s", millimetres(t.low), millimetres(t.high))
	if t.high > 0 {
		s += fmt.Sprintf(" · plays %s to %s", say.Clock(max(0, t.in.Transport.Sec(t.low)), 1),
			say.Clock(t.in.Transport.Sec(t.high), 1))
	}
	return s
}

func (t *tile) joins() string {
	way := "above"
	if !t.face.startBelow() {
		way = "below"
	}
	if t.number == 0 {
		if t.count == 1 {
			return "the only tile"
		}
		return "lies first: tile 2 joins " + way + " it"
	}
	return fmt.Sprintf("joins %s tile %d", way, t.number)
}

// travel is the arrow of the paper's way with what it means.
func (t *tile) travel(layer *draw.Layer, base float64) {
	text := "the paper moves down"
	tail, tip := base-3.4, base+0.9
	if t.in.Paper.TravelsUp {
		text, tail, tip = "the paper moves up", tip, tail
	}
	if t.o.Back {
		text += " · " + "BACK, seen from behind"
	} else {
		text += " · this side to the player"
	}
	words := draw.Label(t.pageW/2+2, base, 2.8, text, draw.Middle)
	layer.Add(words, draw.Arrow(t.pageW/2+2-words.WidthMM()/2-2.6, tail, t.pageW/2+2-words.WidthMM()/2-2.6, tip, 2.2))
}

// foot is the strip below the stretch.
func (t *tile) foot(layer *draw.Layer) {
	bottom := t.pageH - t.margin
	left, right := t.margin+textIn, t.pageW-t.margin-textIn
	layer.Add(draw.Ruler(left, bottom-9.6, 1, 0, 100, t.o.ScaleAcross))
	layer.Add(draw.Label(left+100*t.o.ScaleAcross+2, bottom-7.4, 2.5, "100 mm across", draw.Start))
	layer.Add(draw.Second(draw.Label(left, bottom-3.4, 2.5, "Rulers not 100 mm? Print again with the scale across and the scale along: 100 divided by what you measure.", draw.Start)))
	layer.Add(draw.Label(right, bottom-7.4, 2.5, t.offsets(), draw.End))
	if t.number > 0 {
		layer.Add(draw.Second(draw.Label(right, bottom-3.4, 2.5, t.cut(), draw.End)))
	}
}

// offsets says where the edges are, seen from the centre line.
func (t *tile) offsets() string {
	s := fmt.Sprintf("both paper edges lie %s from the centre line", exactly(t.in.Paper.WidthMM/2))
	if out := t.margin - min(t.x(0), t.x(t.in.Paper.WidthMM)); out > 0 {
		s += fmt.Sprintf(", %s beyond what prints", millimetres(out))
	}
	return s
}

func (t *tile) cut() string {
	side := "lower"
	if !t.face.startBelow() {
		side = "upper"
	}
	return fmt.Sprintf("Cut along the %s line, lay over tile %d, crosses on crosses.", side, t.number)
}

// names are the ports' names below the stretch, with guides at both its ends.
func (t *tile) names(layer *draw.Layer) {
	guides := &draw.Path{Stroke: draw.Stroke{Ink: draw.InkSecond, WidthMM: 0.1}}
	layer.Add(guides)
	for _, p := range t.in.Bar.Ports {
		x := t.x(p.AcrossMM)
		if !t.shown(x) {
			continue
		}
		guides.Line(x, t.body.Max.Y+0.3, x, t.body.Max.Y+1.6).Line(x, t.body.Min.Y-1.2, x, t.body.Min.Y-0.3)
		layer.Add(turned(draw.Label(x+0.65, t.body.Max.Y+2.2, 1.9, p.Name(), draw.End), -90))
	}
}
