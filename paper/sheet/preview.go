package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/paper/roll"
	"rollwright/paper/tear"
	"rollwright/text/say"
)

// Look is what a picture of the paper shows. The zero value is the whole roll
// at a glance.
type Look struct {
	Title  string
	Voices []string // names, by their index; nil: no legend

	// FromSec and ToSec are the stretch of time that is shown; both 0: the
	// whole roll.
	FromSec, ToSec float64

	// the stretch is shown in so many strips, one below the other; 0: what gives a picture half as wide again as high
	Strips  int
	Bar     bool        // the tracker bar lies on the paper at FromSec
	Dark    bool        // the dark bench
	Plain   bool        // no rims of voices
	WidthPX int         // 0: 2000; 200 to 20000
	Weak    []tear.Line // lines to draw along which the paper is weak; nil: none
	Back    bool
}

// theme is the inks of a picture.
type theme struct {
	bench, paper, edge, hole, ink, second draw.Ink
}

func (l *Look) theme() theme {
	if l.Dark {
		return theme{draw.Hex(0x1d1a17), draw.Hex(0xcfc6b3), draw.Hex(0x8d8371), draw.Hex(0x14110e), draw.Hex(0xefe7d6),
			draw.Hex(0xa89e8e)}
	}
	return theme{draw.Bench, draw.Paper, draw.Hex(0xc4b99f), draw.InkDark, draw.InkDark, draw.InkSecond}
}

// Lengths of a picture: between strips at least, around them, and for title and legend.
const (
	stripGap  = 20
	benchEdge = 18
)

// Preview is a picture of the paper on the bench: the start at the left, the
// bass at the top, each voice's holes with a rim of its hue and pattern.
// PixelsPerMM is what makes it WidthPX wide.
func Preview(r *roll.Roll, look *Look) (d *draw.Drawing, pixelsPerMM float64, err error) {
	if look == nil {
		look = &Look{}
	}
	j, err := newJob(r, &Options{Title: look.Title, Back: look.Back})
	if err != nil {
		return nil, 0, err
	}
	width := cmp.Or(look.WidthPX, 2000)
	if width < 200 || width > 20000 {
		return nil, 0, fmt.Errorf("sheet: a picture %d pixels wide: want 200 to 20000", width)
	}
	p := &picture{job: j, look: look, theme: look.theme()}
	if err := p.layOut(); err != nil {
		return nil, 0, err
	}
	p.scale = float64(width) / (p.length + 2*p.edge())
	return p.draw(), p.scale, nil
}

type picture struct {
	*job
	look     *Look
	theme    theme
	from, to float64 // millimetres along
	strips   int
	length   float64 // of a strip
	unit     float64 // of type: grows with the picture
	scale    float64 // pixels a millimetre
}

func (p *picture) layOut() error {
	l := p.look
	p.from, p.to = min(0, p.first)-30, p.last+30
	if l.FromSec != 0 || l.ToSec != 0 {
		if !(l.FromSec >= 0 && l.ToSec > l.FromSec && l.ToSec < 1e6) {
			return fmt.Errorf("sheet: a picture from %g s to %g s: want a stretch of time", l.FromSec, l.ToSec)
		}
		p.from, p.to = p.in.Transport.AlongMM(l.FromSec), p.in.Transport.AlongMM(l.ToSec)
		if l.Bar {
			p.from -= 25
		}
	}
	if p.to-p.from > draw.Limit/2 {
		return errors.New("sheet: the stretch is too long for a picture")
	}
	p.strips = l.Strips
	if p.strips <= 0 {
		// n strips of (to-from)/n make a picture of 3 : 2 when this is n².
		p.strips = max(1, int(math.Round(math.Sqrt((p.to-p.from)/(1.5*(p.in.Paper.WidthMM+stripGap))))))
	}
	p.length = (p.to - p.from) / float64(p.strips)
	p.unit = max(p.length, 200) / 400
	return nil
}

func (p *picture) draw() *draw.Drawing {
	head, foot := 6*p.unit, 0.0 // room for the ruler of time
	if p.look.Title != "" {
		head += 18 * p.unit
	}
	if p.legend() {
		foot = 13 * p.unit
	}
	if p.look.Bar {
		head, foot = head+barOut, foot+barOut
	}
	edge := p.edge()
	height := float64(p.strips)*(p.in.Paper.WidthMM+p.gap()) - p.gap()
	d := &draw.Drawing{
		Frame:   draw.Box(-edge, -edge-head, p.length+edge, height+edge+foot),
		Ground:  p.theme.bench,
		Title:   p.title(),
		Subject: "Picture of a piano roll, start at the left; " + p.face.side(),
	}
	paper, rims := d.Layer("paper", "Paper"), d.Layer("voices", "Voices")
	holes, marks := d.Layer(HolesLayer, "Holes"), d.Layer(MarksLayer, "Marks")
	clip := draw.Box(0, -1, p.length, height+1)
	rims.Clip, holes.Clip = &clip, &clip
	for i := range p.strips {
		p.strip(paper, i)
	}
	if !p.look.Plain {
		p.rims(rims)
	}
	p.holes(holes)
	for i := range p.strips {
		p.ends(marks, i)
		p.ruler(marks, i)
	}
	p.words(marks, height)
	p.weak(d)
	if p.look.Bar {
		p.bar(marks)
	}
	return d
}

// legend reports whether the voices are named below.
func (p *picture) legend() bool { return len(p.look.Voices) > 0 && !p.look.Plain }

// barOut is how far the tracker bar reaches beyond the paper.
const barOut = 5

// above is the distance of the words from the uppermost strip.
func (p *picture) above() float64 {
	if p.look.Bar {
		return barOut
	}
	return 0
}

// ends says beside a strip which edge of the paper is which.
func (p *picture) ends(layer *draw.Layer, i int) {
	u, w := p.unit, p.in.Paper.WidthMM
	names := [2]string{"BASS", "TREBLE"}
	if !p.face.bassAbove() {
		names[0], names[1] = names[1], names[0]
	}
	upper, lower := draw.Label(-2.5*u, p.top(i), 3.5*u, names[0], draw.End),
		draw.Label(-2.5*u, p.top(i)+w, 3.5*u, names[1], draw.Start)
	for _, t := range []*draw.Text{upper, lower} {
		t.Ink, t.TurnDeg = p.theme.second, -90
		layer.Add(t)
	}
}

// ruler is the time along the upper edge of a strip, outside the paper.
func (p *picture) ruler(layer *draw.Layer, i int) {
	u, y := p.unit, p.top(i)
	if i == 0 {
		y -= p.above()
	}
	start := p.from + float64(i)*p.length
	first, last := p.in.Transport.Sec(start), p.in.Transport.Sec(start+p.length)
	every := timeStep((last - first) * 30 * u / p.length)
	ticks := &draw.Path{Stroke: draw.Stroke{Ink: p.theme.second, WidthMM: draw.Hairline}}
	for n := math.Ceil(max(first, 0)/every - 1e-9); n*every <= last+1e-9; n++ {
		x := p.in.Transport.AlongMM(n*every) - start
		ticks.Line(x, y-1.6*u, x, y-0.4*u)
		t := draw.Label(x, y-2.6*u, 3.5*u, say.Clock(n*every, 1), draw.Middle)
		if t.Ink = p.theme.second; x > 2*u && x < p.length-2*u {
			layer.Add(t)
		}
	}
	layer.Add(ticks)
}

// timeStep is the distance of a ruler's marks in seconds: a round one of at
// least the given.
func timeStep(least float64) float64 {
	for _, s := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800} {
		if s >= least {
			return s
		}
	}
	return 3600
}

// edge is the bench around the paper.
func (p *picture) edge() float64 { return benchEdge * max(p.unit, 0.5) }

// top is the upper edge of strip i.
func (p *picture) top(i int) float64 { return float64(i) * (p.in.Paper.WidthMM + p.gap()) }

// gap is the bench between two strips: room for the ruler of the lower one.
func (p *picture) gap() float64 { return max(stripGap, 8*p.unit) }

func (p *picture) y(strip int, across float64) float64 {
	if !p.face.bassAbove() {
		across = p.in.Paper.WidthMM - across
	}
	return p.top(strip) + across
}

// strip is the paper itself with its edge and a line of shade below.
func (p *picture) strip(layer *draw.Layer, i int) {
	w := p.in.Paper.WidthMM
	box := draw.Box(0, p.top(i), p.length, p.top(i)+w)
	for k := 3; k >= 1; k-- { // three layers of shade make a soft one
		s := draw.Box(box.Min.X+0.6, box.Min.Y+1, box.Max.X+0.6, box.Max.Y+1).Grow(0.7 * float64(k))
		layer.Add((&draw.Path{Fill: draw.Ink{R: 40, G: 30, B: 15, A: 18}}).Rect(s))
	}
	layer.Add((&draw.Path{Fill: p.theme.paper, Stroke: draw.Stroke{Ink: p.theme.edge, WidthMM: draw.Hairline}}).Rect(box))
}

// eachOpening calls f for every opening that a strip shows, with its places in
// the strip. What lies across a strip's end is in both.
func (p *picture) eachOpening(port int, list []opener, f func(s draw.Segment)) {
	r := p.die / 2
	for _, o := range list {
		if !p.shows(o) {
			continue
		}
		first := max(0, int((o.from-r-p.from)/p.length))
		last := min(p.strips-1, int((o.to+r-p.from)/p.length))
		for i := first; i <= last; i++ {
			x := p.from + float64(i)*p.length
			y := p.y(i, p.in.Bar.Ports[port].AcrossMM)
			f(draw.Segment{X1: o.from - x, Y1: y, X2: o.to - x, Y2: y})
		}
	}
}

// shows reports whether any of an opening lies in the stretch.
func (p *picture) shows(o opener) bool {
	r := p.die / 2
	return o.to+r >= p.from && o.from-r <= p.to
}

func (p *picture) holes(layer *draw.Layer) {
	for port, list := range p.openers {
		m := p.portMark(port, p.theme.hole)
		p.eachOpening(port, list, func(s draw.Segment) { m.Segments = append(m.Segments, s) })
		if len(m.Segments) > 0 {
			layer.Add(m)
		}
	}
}

// ring is the rim of one voice at one distance from the holes: 0 is next to
// them.
type ring struct {
	voice int32
	out   int
}

// maxRings is how many voices of one slot are shown.
const maxRings = 3

// rims are around slots, in the hue and pattern of the voices that are among
// their causes, the one around the other.
func (p *picture) rims(layer *draw.Layer) {
	slots := map[ring][]draw.Segment{}
	var order []ring
	for i := range p.r.Slots {
		s := &p.r.Slots[i]
		var voices []int32
		for c := range s.Causes.All() {
			if slices.Contains(voices, c.Voice) || len(voices) == maxRings {
				continue
			}
			k := ring{c.Voice, len(voices)}
			voices = append(voices, c.Voice)
			if _, ok := slots[k]; !ok {
				order = append(order, k)
			}
			p.eachOpening(int(s.Port), []opener{{s.FirstMM, s.LastMM}}, func(g draw.Segment) { slots[k] = append(slots[k], g) })
		}
	}
	// Outer rims first, for the solid ones are painted as areas.
	slices.SortFunc(order, func(a, b ring) int { return cmp.Or(cmp.Compare(b.out, a.out), cmp.Compare(a.voice, b.voice)) })
	for _, k := range order {
		p.rim(layer, k, slots[k])
	}
}

// rim adds one rim: a solid one as the difference of two areas, which is much
// cheaper than outlines; one with a pattern as outlines.
func (p *picture) rim(layer *draw.Layer, k ring, segments []draw.Segment) {
	// As fine as the picture can show, so that hues are seen from afar too, but
	// not so wide that the rims of neighbouring ports meet.
	width := min(max(1.3/p.scale, 0.34), 0.6)
	r := p.die/2 + 0.25 + width/2 + 1.4*width*float64(k.out)
	stroke := p.stroke(int(k.voice), width)
	if len(stroke.DashMM) == 0 {
		layer.Add(&draw.Slots{Ink: stroke.Ink, WidthMM: 2*r + width, Segments: segments},
			&draw.Slots{Ink: p.theme.paper, WidthMM: 2*r - width, Segments: segments})
		return
	}
	outlines := &draw.Path{Stroke: stroke}
	for _, g := range segments {
		outlines.Capsule(g, r)
	}
	layer.Add(outlines)
}

// finest is the scale, in pixels a millimetre, below which the patterns of rims
// only look ragged.
const finest = 3

// stroke is a voice's line, solid where its pattern would not be seen.
func (p *picture) stroke(voice int, width float64) draw.Stroke {
	s := draw.VoiceStroke(voice, width)
	if p.scale < finest {
		s.DashMM = nil
	}
	return s
}

// words are title and facts above, the voices below.
func (p *picture) words(layer *draw.Layer, height float64) {
	u, up := p.unit, 12*p.unit+p.above()
	ink := func(t *draw.Text, i draw.Ink) *draw.Text { t.Ink = i; return t }
	if p.look.Title != "" {
		facts := fmt.Sprintf("%s to %s · %s m of paper", say.Clock(max(p.in.Transport.Sec(p.from), p.look.FromSec, 0), 1),
			say.Clock(p.in.Transport.Sec(p.to), 1), decimal((p.to-p.from)/1000, 2))
		f := ink(draw.Label(p.length, -up, 5*u, facts, draw.End), p.theme.second)
		t := ink(draw.Serif(0, -up, 11*u, typeface.Serif.Fit(p.title(), 11*u, p.length-f.WidthMM()-8*u), draw.Start),
			p.theme.ink)
		layer.Add(t, f)
	}
	if !p.legend() {
		return
	}
	x, y, here := 0.0, height+13*u+p.above(), p.voicesHere()
	for i, name := range p.look.Voices {
		if !here[int32(i)] {
			continue
		}
		t := ink(draw.Label(x+13*u, y, 5*u, typeface.Sans.Fit(name, 5*u, 80*u), draw.Start), p.theme.ink)
		if t.At.X+t.WidthMM() > p.length {
			layer.Add(ink(draw.Label(x, y, 5*u, "…", draw.Start), p.theme.second))
			break
		}
		sample := &draw.Path{Stroke: p.stroke(i, 1.1*u)}
		layer.Add(sample.Line(x, y-1.7*u, x+10*u, y-1.7*u), t)
		x = t.At.X + t.WidthMM() + 9*u
	}
}

// voicesHere are the voices that this stretch of the roll has slots of.
func (p *picture) voicesHere() map[int32]bool {
	here := map[int32]bool{}
	for i := range p.r.Slots {
		s := &p.r.Slots[i]
		if !p.shows(opener{s.FirstMM, s.LastMM}) {
			continue
		}
		for c := range s.Causes.All() {
			here[c.Voice] = true
		}
	}
	return here
}

// bar is the brass tracker bar across the paper at FromSec, with its ports:
// those that a hole lies on are light.
func (p *picture) bar(layer *draw.Layer) {
	row := p.in.Transport.AlongMM(p.look.FromSec)
	x := row - p.from
	half, w := p.in.Bar.HeightMM/2, p.in.Paper.WidthMM
	layer.Add((&draw.Path{Fill: draw.Brass, Stroke: draw.Stroke{Ink: draw.Hex(0x5f4719),
		WidthMM: draw.Hairline}}).Rect(draw.Box(x-4, p.top(0)-barOut, x+4, p.top(0)+w+barOut)))
	layer.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.Ink{R: 255, G: 236, B: 190, A: 110}, WidthMM: 0.6}}).Line(x-2.8,
		p.top(0)-4.5, x-2.8, p.top(0)+w+4.5))
	shut, open := &draw.Path{Fill: draw.Hex(0x2a2012)}, &draw.Path{Fill: draw.Hex(0xfff3d6)}
	for i, q := range p.in.Bar.Ports {
		y := p.y(0, q.AcrossMM)
		tall := cmp.Or(p.in.Bar.WidthMM, p.die) / 2
		ports := shut
		if p.covers(i, row) {
			ports = open
		}
		ports.Rect(draw.Box(x-half, y-tall, x+half, y+tall))
	}
	layer.Add(shut, open)
}

// covers reports whether a slot of the port lies over the row.
func (p *picture) covers(port int, row float64) bool {
	for i := range p.r.Slots {
		if s := &p.r.Slots[i]; int(s.Port) == port && s.LeadMM <= row && row <= s.TrailMM {
			return true
		}
	}
	return false
}
