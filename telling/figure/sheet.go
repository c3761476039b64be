package figure

import (
	"fmt"
	"math"

	"rollwright/music/pitch"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/words"
)

// sheet is where the paper lies in the drawing. Its length takes the width of
// the figure, whatever the height; where that would need more height than there
// is, or make a thin band, the two directions have scales of their own, and a
// word above the paper tells by how much.
type sheet struct {
	draw.Rect
	a, b        float64 // the stretch along the paper, mm of paper
	along       float64 // mm of the drawing for one along the paper
	across      float64 // likewise across it
	x0, y0, mid float64
}

func (p *sheet) x(along float64) float64 { return p.x0 + (along-p.a)*p.along }
func (p *sheet) y(across float64) float64 {
	return p.y0 + (across-p.mid)*p.across
}

// thick is what a length in both directions is drawn as.
func (p *sheet) thick(mm float64) float64 { return mm * min(p.along, math.Abs(p.across)) }

// span is a stretch along the paper as a line with round ends of the radius r,
// so that the ends lie where they are in time.
func (p *sheet) span(fromMM, toMM, across, r float64) draw.Segment {
	x0, x1, y := p.x(fromMM)+r, p.x(toMM)-r, p.y(across)
	if x1 < x0 {
		x0 = (x0 + x1) / 2
		x1 = x0
	}
	return draw.Segment{X1: x0, Y1: y, X2: x1, Y2: y}
}

// lay places the paper between the names of its ports and the right edge.
func (v *paper) lay(c *canvas) *sheet {
	const edge, ahead = 5.0, 8.0 // ahead: paper before the stretch, for the names of its first notes
	top := labelSize * 1.8
	upper, lower := v.sides(c)
	left := 1.5 + max(7.5, typeface.Sans.Width(upper, labelSize), typeface.Sans.Width(lower, labelSize))
	right := c.width - labelSize*0.7 // half the last number of the axis stands out
	_, rows := v.entries(c, left)
	room := c.height - timeAxisRoom - top - legendStep*float64(rows)
	if c.size == Page {
		room = 88
	}
	p := &sheet{a: v.transport().AlongMM(v.from), b: v.transport().AlongMM(v.to), x0: left + ahead,
		mid: (v.low + v.high) / 2}
	wide := max(v.high-v.low, 6*2.8) + 2*edge
	p.along = (right - p.x0) / (p.b - p.a)
	p.across = p.along
	if p.along < 0.5 { // so long a stretch would be a thin band: names of neighbouring ports stand apart
		p.across = 0.9
	}
	p.across = min(p.across, room/wide)
	p.y0 = top + wide/2*p.across
	p.Rect = draw.Box(left, top, right, top+wide*p.across)
	if !v.bassUp() {
		p.across = -p.across
	}
	return p
}

// stretched is how many times as large as its width the paper's length is drawn.
func (p *sheet) stretched() float64 { return p.along / math.Abs(p.across) }

// spoolAxis is timeAxis for paper that speeds up: x gives the place of a row.
func (h *chart) spoolAxis(t instrument.Transport, x func(float64) float64) {
	l := h.c.layer("axes")
	for _, tick := range timeTicks(h.x.From, h.x.To, (h.x.ToMM-h.x.FromMM)/(labelSize*6)) {
		at := x(t.AlongMM(tick.at))
		l.Add(line(at, h.y.FromMM, at, h.y.FromMM+1, draw.Hair(draw.InkSecond)))
		l.Add(h.timeLabel(at, tick.text))
	}
}

// guides draws a hairline along every port that is used, and names some at the
// left.
func (v *paper) guides(c *canvas, p *sheet) {
	l, names := c.layer("guides"), c.layer("names")
	used := map[int32]*roll.Slot{} // the first on each port
	for _, s := range v.slots {
		if used[s.Port] == nil {
			used[s.Port] = s
		}
	}
	var taken []float64
	for i := range v.roll.Instrument.Bar.Ports {
		slot := used[int32(i)]
		if slot == nil {
			continue
		}
		port := &v.roll.Instrument.Bar.Ports[i]
		at := p.y(port.AcrossMM)
		l.Add(line(p.Min.X, at, p.Max.X, at, draw.Stroke{Ink: draw.Hex(0xddd3bd), WidthMM: 0.1}))
		free := true
		for _, t := range taken {
			free = free && math.Abs(t-at) >= c.small*1.05
		}
		if free {
			taken = append(taken, at)
			names.Add(label(p.Min.X-1, at+capHalf(c.small), c.small, v.slotName(slot), draw.InkSecond, draw.End))
		}
	}
}

// slotName is what a slot strikes, as its composer spells it; a dot for one that is no note's.
func (v *paper) slotName(s *roll.Slot) string {
	p, cause := v.port(s), s.Causes.First
	if p.Role != instrument.Note {
		return "·"
	}
	n, voice := int(cause.Note), int(cause.Voice)
	if voice < 0 || voice >= len(v.in.Performance.Lines) || n < 1 {
		return called(v.book, pitch.Name(p.Key))
	}
	line, of := v.in.Performance.Lines[voice], &v.in.Performance.Piece.Voices[voice]
	if of.Backward {
		n = line.Notes + 1 - n
	}
	return called(v.book, of.NameOf(n, p.Key))
}

// holes draws the openings of every slot, and around them a rim in the look of
// the voice.
func (v *paper) holes(c *canvas, p *sheet) {
	holes, rims := c.layer("holes"), c.layer("rims")
	holes.Clip, rims.Clip = &p.Rect, &p.Rect
	die := v.roll.Instrument.Die.DiameterMM
	r := p.thick(die) / 2
	all := &draw.Slots{Named: draw.Named{ID: "openings"}, Ink: draw.InkDark, WidthMM: 2 * r}
	for i, s := range v.slots {
		across := v.port(s).AcrossMM
		for o := range v.roll.Openings(s) {
			all.Segments = append(all.Segments, p.span(o.FirstMM-die/2, o.LastMM+die/2, across, r))
		}
		shape := p.span(s.LeadMM, s.TrailMM, across, r)
		voice := -1
		if s.Causes.First.Voice >= 0 && v.port(s).Role == instrument.Note {
			voice = int(s.Causes.First.Voice)
		}
		v.rim(c, rims, i, voice, shape, r+0.35)
	}
	holes.Add(all)
}

// rimWidth is how wide the rim of a hole is drawn.
const rimWidth = 0.3

// rim draws what tells whose hole it is. Around a short hole a pattern falls to
// crumbs: there the hue alone tells voices apart, and in black a grey line holds
// the crumbs together.
func (v *paper) rim(c *canvas, l *draw.Layer, slot, voice int, shape draw.Segment, r float64) {
	stroke := draw.Hair(draw.InkSecond)
	if voice >= 0 {
		stroke = c.stroke(voice, rimWidth)
	}
	if around := 2*(shape.X2-shape.X1) + 2*math.Pi*r; len(stroke.DashMM) > 0 && around < leastAround {
		under := draw.Stroke{Ink: mix(stroke.Ink, 0.35), WidthMM: rimWidth}
		if c.ink == BlackInk {
			l.Add((&draw.Path{Stroke: under}).Capsule(shape, r))
		} else {
			stroke.DashMM = nil
		}
	}
	rim := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("slot-%d", slot+1)}, Stroke: stroke}
	l.Add(rim.Capsule(shape, r))
}

// leastAround is how long a rim must be for its pattern to be seen: six dashes,
// sixteen dots.
const leastAround = 11.0 // mm of the drawing

// names writes the name of each note where it finds room: ahead of its hole,
// above it, below it or behind it. Lines do not cross a name: its ground is
// that of the paper.
func (v *paper) names(c *canvas, p *sheet, ground draw.Ink) {
	l := c.layer("names")
	r := p.thick(v.roll.Instrument.Die.DiameterMM)/2 + 0.5
	var taken []draw.Rect
	for _, s := range v.slots {
		at := p.y(v.port(s).AcrossMM)
		taken = append(taken, draw.Box(p.x(s.LeadMM)-0.4, at-r, p.x(s.TrailMM)+0.4, at+r))
	}
	size := c.small
	for i, s := range v.slots {
		if v.port(s).Role != instrument.Note {
			continue
		}
		name := v.slotName(s)
		w, h := typeface.Sans.Width(name, size), capHalf(size)
		x0, x1, at := p.x(s.LeadMM), p.x(s.TrailMM), p.y(v.port(s).AcrossMM)
		for _, q := range []draw.Point{{X: x0 - w - 0.8, Y: at + h}, {X: x0, Y: at - r - 0.3}, {X: x0, Y: at + r + 2*h + 0.3},
			{X: x1 + 0.8, Y: at + h}} {
			place := draw.Box(q.X, q.Y-2*h, q.X+w, q.Y)
			if place.Min.X < p.Min.X || place.Max.X > p.Max.X || place.Min.Y < p.Min.Y || place.Max.Y > p.Max.Y ||
				overlapsAny(place, taken) {
				continue
			}
			taken = append(taken, place)
			l.Add(box(place.Grow(0.2), ground, draw.Stroke{}))
			l.Add(named(label(q.X, q.Y, size, name, draw.InkDark, draw.Start), fmt.Sprintf("name-%d", i+1)))
			break
		}
	}
}

func overlapsAny(r draw.Rect, all []draw.Rect) bool {
	for _, s := range all {
		if r.Overlaps(s) {
			return true
		}
	}
	return false
}

// sides are the names of the upper and the lower edge of the paper.
func (v *paper) sides(c *canvas) (upper, lower string) {
	bass, treble := c.talk.Book().Say("paper.bass", nil), c.talk.Book().Say("paper.treble", nil)
	if v.bassUp() {
		return bass, treble
	}
	return treble, bass
}

// marks says which side is which: the edges at the left, beside their corners.
func (v *paper) marks(c *canvas, p *sheet) {
	l, book := c.layer("axes"), c.talk.Book()
	upper, lower := v.sides(c)
	l.Add(named(label(0, p.Min.Y-0.8, labelSize, upper, draw.InkSecond, draw.Start), "upper-edge"))
	l.Add(named(label(0, p.Max.Y+1.6+labelSize*0.8, labelSize, lower, draw.InkSecond, draw.Start), "lower-edge"))
	start := label(p.Min.X, p.Min.Y-0.8, labelSize, "← "+book.Say("paper.start", nil), draw.InkSecond, draw.Start)
	l.Add(start)
	says := book.Say("paper.side", nil)
	if by := p.stretched(); math.Abs(by-1) > 0.02 {
		says = book.Say("paper.side-lengthened", words.Args{"times": book.Decimal(significant(by, 2))})
	}
	side := label(p.Max.X, p.Min.Y-0.8, labelSize, says, draw.InkSecond, draw.End)
	side.Text = typeface.Sans.Fit(side.Text, labelSize, p.Max.X-p.Min.X-start.WidthMM()-3)
	l.Add(side)
	l.Add(label((p.Min.X+p.Max.X)/2, p.Max.Y+1.8+labelSize*2.1, labelSize, book.Say("paper.axis", nil), draw.InkSecond,
		draw.Middle))
}

// legendStep is the height of a row of the legend.
const legendStep = labelSize * 1.3

// entry is a voice in the legend.
type entry struct {
	voice, row int
	name       string
	x          float64
}

// entries are the voices whose rims are seen, in rows from x on.
func (v *paper) entries(c *canvas, x float64) (all []entry, rows int) {
	seen := map[int32]bool{}
	for _, s := range v.slots {
		for cause := range s.Causes.All() {
			seen[cause.Voice] = true
		}
	}
	x0, row := x, 0
	for i, voice := range v.in.Performance.Piece.Voices {
		if !seen[int32(i)] {
			continue
		}
		name := typeface.Sans.Fit(voice.Name, labelSize, 40)
		w := 8 + typeface.Sans.Width(name, labelSize)
		if x+w > c.width && x > x0 {
			x, row = x0, row+1
		}
		all = append(all, entry{i, row, name, x})
		x += w + 4
	}
	return all, row + 1
}

// legend names the voices whose rims are seen and returns its height.
func (v *paper) legend(c *canvas, x, y float64) float64 {
	all, rows := v.entries(c, x)
	l := c.layer("names")
	for _, e := range all {
		at := y + legendStep*(float64(e.row)+0.5)
		l.Add(line(e.x, at, e.x+6, at, c.stroke(e.voice, 0.6)), label(e.x+7.2, at+capHalf(labelSize), labelSize, e.name,
			draw.InkDark, draw.Start))
	}
	return legendStep * float64(rows)
}
