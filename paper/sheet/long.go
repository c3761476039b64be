package sheet

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/paper/roll"
)

// Blank paper that long drawings show before the first hole, or before time 0,
// and after the last one; and what they have around the paper for their marks.
const (
	longLeadIn  = 60
	longLeadOut = 30
	longMargin  = 18
)

// Long is the whole roll on one drawing, the start at the left and the bass at
// the top: x is the place along and y the place across, in the roll's
// millimetres. Marks lie outside the paper and in the blank beginning. UpMM is
// the paper's width, so that formats whose y points up write width - across.
func Long(r *roll.Roll, o *Options) (*draw.Drawing, error) {
	j, err := newJob(r, o)
	if err != nil {
		return nil, err
	}
	from := j.beginning(longLeadIn)
	to := math.Ceil((j.last+longLeadOut)/10) * 10
	if j.o.Leader {
		from = min(from, -j.in.Paper.LeaderMM)
		to = max(to, j.last+j.in.Paper.TrailerMM)
	}
	l := &long{job: j, from: from, to: to, width: j.in.Paper.WidthMM}
	d := &draw.Drawing{
		Frame:   draw.Box(l.x(from)-longMargin, -longMargin, l.x(to)+longMargin, l.width*j.o.ScaleAcross+longMargin),
		UpMM:    l.width * j.o.ScaleAcross,
		Title:   j.title(),
		Author:  j.o.Composer,
		Subject: "Piano roll, 1:1, start at the left; " + j.face.side(),
	}
	l.edges(d.Layer(EdgesLayer, "Paper edges"))
	l.holes(d.Layer(HolesLayer, "Holes"))
	l.marks(d.Layer(MarksLayer, "Marks"))
	l.weak(d)
	return d, nil
}

// title is what every sheet of the roll is called.
func (j *job) title() string {
	t := typeface.Clean(j.o.Title)
	if t == "" {
		t = "Untitled"
	}
	if typeface.Clean(j.r.Name) != "" {
		t += " · " + typeface.Clean(j.r.Name)
	}
	return t
}

type long struct {
	*job
	from, to, width float64
}

func (l *long) x(along float64) float64 { return along * l.o.ScaleAlong }

func (l *long) y(across float64) float64 {
	if !l.face.bassAbove() {
		across = l.width - across
	}
	return across * l.o.ScaleAcross
}

func (l *long) edges(layer *draw.Layer) {
	layer.Add((&draw.Path{Named: draw.Named{ID: "paper", Title: "edges of the paper"}, Stroke: draw.Hair(draw.InkDark)}).
		Rect(draw.Box(l.x(l.from), l.y(0), l.x(l.to), l.y(l.width))))
}

func (l *long) holes(layer *draw.Layer) {
	for port, list := range l.openers {
		if len(list) == 0 {
			continue
		}
		m := l.portMark(port, draw.InkDark)
		m.Segments = make([]draw.Segment, len(list))
		y := l.y(l.in.Bar.Ports[port].AcrossMM)
		for i, s := range list {
			m.Segments[i] = draw.Segment{X1: l.x(s.from), Y1: y, X2: l.x(s.to), Y2: y}
		}
		layer.Add(m)
	}
}

func (l *long) marks(layer *draw.Layer) {
	l.lengths(layer)
	l.beginning(layer)
	l.end(layer)
	l.words(layer)
	l.cues(layer)
	if l.o.Names {
		l.names(layer)
	}
}

// lengths are the ticks and numbers along both edges, outside the paper:
// metric above, feet below.
func (l *long) lengths(layer *draw.Layer) {
	ticks := &draw.Path{Named: draw.Named{ID: "lengths"}, Stroke: draw.Hair(draw.InkDark)}
	layer.Add(ticks)
	top, bottom := 0.0, l.width*l.o.ScaleAcross
	for _, mm := range multiples(l.from, l.to, 10) {
		x, size := l.x(mm), 1.2
		if whole(mm, 50) {
			size = 2
		}
		if whole(mm, 100) {
			size = 3.2
			layer.Add(draw.Label(x, top-4.4, 2.8, lengthName(mm), draw.Middle))
		}
		ticks.Line(x, top-0.6, x, top-0.6-size)
	}
	for _, mm := range multiples(l.from, l.to, footMM/12) {
		x, size := l.x(mm), 1.2
		if whole(mm, footMM) {
			size = 3.2
			layer.Add(draw.Label(x, bottom+6.4, 2.8, footName(mm), draw.Middle))
		}
		ticks.Line(x, bottom+0.6, x, bottom+0.6+size)
	}
	layer.Add(draw.Bold(l.x(l.to)+2, top-4.4, 2.8, "mm", draw.Start),
		draw.Bold(l.x(l.to)+2, bottom+6.4, 2.8, "ft", draw.Start))
}

// lengthName is a place along in millimetres below a metre, in metres above.
func lengthName(mm float64) string {
	if math.Abs(mm) < 999 {
		return decimal(mm, 0)
	}
	return decimal(mm/1000, 1) + " m"
}

func footName(mm float64) string {
	return strconv.FormatInt(int64(math.Round(mm/footMM)), 10) + " ft"
}

// beginning is what the blank paper before the first hole says.
func (l *long) beginning(layer *draw.Layer) {
	blank := min(0, l.first) - l.from // at least longLeadIn
	x0 := l.x(min(0, l.first) - longLeadIn)
	mid := l.width / 2 * l.o.ScaleAcross
	upper, lower := "BASS", "TREBLE"
	if !l.face.bassAbove() {
		upper, lower = lower, upper
	}
	bottom := l.width * l.o.ScaleAcross
	layer.Add(draw.Bold(x0+6, 9, 6, upper, draw.Start), draw.Bold(x0+6, bottom-4.6, 6, lower, draw.Start))
	layer.Add(draw.Bold(x0+6, mid-7, 9, "START", draw.Start), draw.Arrow(x0+38, mid+0.5, x0+6, mid+0.5, 5))
	layer.Add(draw.Label(x0+6, mid+6.5, 3.2, "the paper moves this way", draw.Start))
	y := mid + 12
	for _, line := range typeface.Sans.Wrap(l.face.side(), 3.2, 44) {
		layer.Add(draw.Label(x0+6, y, 3.2, line, draw.Start))
		y += 4.2
	}
	if blank > 0 {
		layer.Add((&draw.Path{Named: draw.Named{ID: "time-0", Title: "the row that lies on the bar at time 0"},
			Stroke: draw.Stroke{Ink: draw.InkSecond, WidthMM: draw.Hairline, DashMM: []float64{2, 2}}}).
			Line(l.x(0), 0.3, l.x(0), l.clearance(0)).Line(l.x(0), l.clearance(1), l.x(0), bottom-0.3))
		layer.Add(draw.Second(turned(draw.Label(l.x(0)-1, mid, 2.8, "time 0", draw.Middle), -90)))
	}
}

// end is what the blank paper after the last hole says.
func (l *long) end(layer *draw.Layer) {
	layer.Add(draw.Bold(l.x(l.last)+8, l.width/2*l.o.ScaleAcross+2, 6, "END", draw.Start))
}

// clearance is how far from the top the bands without ports reach: the upper
// one down to it (0), the lower one from it on (1).
func (l *long) clearance(band int) float64 {
	ports := l.in.Bar.Ports
	a, b := l.y(ports[0].AcrossMM), l.y(ports[len(ports)-1].AcrossMM)
	if band == 0 {
		return max(min(a, b)-l.die/2-0.5, 0.3)
	}
	return min(max(a, b)+l.die/2+0.5, l.width*l.o.ScaleAcross-0.3)
}

// words are the title and rulers, outside the paper.
func (l *long) words(layer *draw.Layer) {
	x0, bottom := l.x(l.from), l.width*l.o.ScaleAcross
	room := l.x(l.to) - x0
	title := typeface.Serif.Fit(l.title(), 6, room*0.6)
	t := draw.Serif(x0, -10, 6, title, draw.Start)
	layer.Add(t)
	if facts := l.facts(); t.WidthMM()+8+typeface.Sans.Width(facts, 3.2) < room {
		layer.Add(draw.Second(draw.Label(x0+t.WidthMM()+8, -10, 3.2, facts, draw.Start)))
	}
	layer.Add(draw.Ruler(x0, bottom+10.5, 1, 0, 100, l.o.ScaleAlong),
		draw.Label(x0+102*l.o.ScaleAlong, bottom+13, 2.8, "100 mm along", draw.Start))
	layer.Add(draw.Ruler(x0-4, 10, 0, 1, 100, l.o.ScaleAcross),
		turned(draw.Label(x0-8, 10+50*l.o.ScaleAcross, 2.8, "100 mm across", draw.Middle), -90))
}

// facts is size and length of the roll in a line.
func (j *job) facts() string {
	return fmt.Sprintf("paper %s wide · music %s m (%s ft) · die %s mm · %s",
		exactly(j.in.Paper.WidthMM), decimal(j.last/1000, 2), decimal(j.last/footMM, 1), decimal(j.die, 2), j.in.Title)
}

// names writes each port's name at its row, before the beginning.
func (l *long) names(layer *draw.Layer) {
	guides := &draw.Path{Named: draw.Named{ID: "port-rows"}, Stroke: draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.1}}
	layer.Add(guides)
	x := l.x(min(0, l.first)) - 6
	for _, p := range l.in.Bar.Ports {
		y := l.y(p.AcrossMM)
		guides.Line(x+0.4, y, x+2, y)
		layer.Add(draw.Label(x, y+0.65, 1.9, p.Name(), draw.End))
	}
}
