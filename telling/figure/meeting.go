package figure

import (
	"fmt"
	"math"
	"strings"

	"rollwright/draw"
	"rollwright/music/piece"
	"rollwright/music/plan"
	"rollwright/text/choice"
	"rollwright/text/words"
)

// curveSteps is into how many straight pieces a curve along a tempo path is cut.
const curveSteps = 240

// meeting is the units of each voice of a canon against time: lines that meet
// at the canon's point. Its layers are "axes", "lines", "points" and "names".
type meeting struct {
	heard    bool // by an audience
	in       *Input
	voices   []int
	from, to float64
	name     string // of the canon; empty: none
	at       float64
	point    float64 // units of each voice at that instant
}

func newMeeting(in *Input, o *Options) (view, error) {
	index, voices, err := in.canon(o)
	if err != nil {
		return nil, err
	}
	if len(voices) > maxLines {
		return nil, choice.Errorf("the piece has %d voices and no canon; one figure holds %d: choose with {voice} or {pair}",
			len(voices), maxLines)
	}
	if p := in.Performance.Piece; index < 0 && len(voices) == 1 && len(p.Voices) > 1 {
		return nil, choice.Errorf("voice %q is in no canon, and a figure of meeting needs two voices: choose two with {pair}%s", p.Voices[voices[0]].Name, canonVoices(p))
	}
	m := &meeting{in: in, voices: voices, heard: o.Heard}
	if m.from, m.to, err = in.stretch(o, voices); err != nil {
		return nil, err
	}
	if index >= 0 {
		l := in.Performance.Lines[voices[0]]
		c := in.Plan().Canons[index]
		m.name, m.at = c.Name, c.At.Decimal
		m.point = l.UnitsAt(m.at)
	}
	return m, nil
}

func (m *meeting) title(t *words.Talk) string {
	if m.name == "" {
		return t.Book().Say("meeting.title-voices", words.Args{"voices": len(m.voices)})
	}
	return t.Book().Say("meeting.title", words.Args{"canon": m.name, "at": t.Book().Decimal(clock(m.at, 1))})
}

func (m *meeting) caption(t *words.Talk, short bool) string {
	var say []string
	if !short || m.name == "" {
		say = append(say, t.Say("meeting.read", nil))
	}
	cross := sayCrossings(m.in, t, m.in.crossings(m.voices), m.from, m.to)
	if m.name == "" {
		say = append(say, cross...)
		if len(m.voices) == 1 {
			say = append(say, t.Say("meeting.alone", nil))
		}
		return strings.Join(say, " ")
	}
	say = append(say, t.Say("meeting.all", words.Args{"canon": m.name, "point": t.Book().Decimal(significant(m.point, 6)),
		"at": t.Book().Decimal(fixed(m.at, places(m.at)))}))
	say = append(say, cross...)
	if sound := m.in.sound(m.voices); sound != "" {
		key := "meeting.silent"
		if m.heard {
			key = "meeting.silent-heard"
		}
		say = append(say, t.Say(key, words.Args{"sound": sound}))
	}
	first, last := m.voices[0], m.voices[0]
	for _, v := range m.voices {
		if m.in.Performance.Lines[v].StartSec < m.in.Performance.Lines[first].StartSec {
			first = v
		}
		if m.in.Performance.Lines[v].StartSec > m.in.Performance.Lines[last].StartSec {
			last = v
		}
	}
	spoken := []int{first, last}
	if short || first == last {
		spoken = spoken[1:]
	}
	for _, v := range spoken {
		at, need, start := difference(m.at, m.in.Performance.Lines[v].StartSec)
		if need == "0" || strings.Trim(need, "0.") == "" {
			continue // it begins there
		}
		say = append(say, t.Say("meeting.start", words.Args{
			"voice": m.in.Performance.Piece.Voices[v].Name, "at": t.Book().Decimal(at), "need": t.Book().Decimal(need),
			"start": t.Book().Decimal(start),
		}))
	}
	return strings.Join(say, " ")
}

// difference writes at, at - start and start with as many decimals each, so that
// the sum holds as it is written.
func difference(at, start float64) (atText, needText, startText string) {
	n := max(places(at), places(start))
	unit := math.Pow(10, float64(n))
	need := math.Round(at*unit)/unit - math.Round(start*unit)/unit
	return fixed(math.Round(at*unit)/unit, n), fixed(need, n), fixed(math.Round(start*unit)/unit, n)
}

// canonVoices names voices that are in a canon, for the end of a hint.
func canonVoices(p *piece.Piece) string {
	if len(p.Canons) == 0 {
		return ""
	}
	return fmt.Sprintf(", or a voice of a canon, such as %q", p.Voices[p.Canons[0].Voices[0]].Name)
}

func (m *meeting) draw(c *canvas, f *Figure) {
	const left, head, right = 14.0, labelSize * 2.4, 47.0
	bottom := c.height - timeAxisRoom
	if c.size == Page {
		bottom = head + 84
	}
	h := newChart(c, left, head, c.width-right, bottom)
	h.x.From, h.x.To = m.from, m.to
	for _, v := range m.voices {
		h.y.To = max(h.y.To, m.in.Performance.Lines[v].Length)
	}
	f.Time, f.Units = &h.x, &h.y
	book := c.talk.Book()
	h.timeAxis(book.Say("axis.time", nil))
	h.valueAxis(book.Say("axis.units", nil), roundTicks(0, h.y.To, (bottom-head)/(labelSize*3)))
	plot := draw.Box(h.x.FromMM-0.6, h.y.ToMM-0.6, h.x.ToMM+0.6, h.y.FromMM+0.6)
	c.layer("lines").Clip = &plot
	var flags []flag
	for _, v := range m.voices {
		flags = append(flags, m.line(h, v))
	}
	m.legend(c, h, flags)
	if m.name != "" && m.at >= m.from && m.at <= m.to {
		x, y := h.x.At(m.at), h.y.At(m.point)
		l := c.layer("points")
		l.Add(line(x, h.y.FromMM, x, y, draw.Stroke{Ink: c.accent(), WidthMM: 0.25, DashMM: []float64{1, 1}}))
		ring := disc(x, y, 1.6, draw.Ink{}, draw.Stroke{Ink: c.accent(), WidthMM: 0.7})
		ring.ID = "meeting-point"
		l.Add(ring)
		l.Add(bold(named(label(x-2.4, y-1.4, labelSize, book.Decimal(clock(m.at, 1)), c.accent(), draw.End), "meeting-time")))
	}
	ringCrossings(c, m.in.crossings(m.voices), m.from, m.to, func(p plan.SamePlace) draw.Point {
		return draw.Point{X: h.x.At(float64(p.From)), Y: h.y.At(p.Unit)}
	})
	c.used = bottom + timeAxisRoom
}

// line draws a voice from its first unit to its last.
func (m *meeting) line(h *chart, v int) flag {
	l := m.in.Performance.Lines[v]
	p := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("line-%d", v+1)}, Stroke: h.c.stroke(v, draw.MainLine)}
	steps := curveSteps
	if l.Steady() {
		steps = 1
	}
	var points []draw.Point
	for i := range steps + 1 {
		u := l.Length * float64(i) / float64(steps)
		points = append(points, draw.Point{X: h.x.At(l.SecondsAt(u)), Y: h.y.At(u)})
	}
	h.c.layer("lines").Add(p.Polyline(points...))
	return flag{y: points[len(points)-1].Y, voice: v, text: m.in.Performance.Piece.Voices[v].Name}
}

// legend lists the voices with where they begin and end.
func (m *meeting) legend(c *canvas, h *chart, flags []flag) {
	l := c.layer("names")
	x := h.x.ToMM + 4
	book := c.talk.Book()
	step := min(labelSize*2.9, (h.y.FromMM-h.y.ToMM)/float64(max(1, len(flags))))
	size := min(labelSize, step*0.9)
	for i, f := range flags {
		y := h.y.ToMM + labelSize + step*float64(i)
		l.Add(line(x, y-capHalf(labelSize), x+6, y-capHalf(labelSize), c.stroke(f.voice, 0.6)))
		line := m.in.Performance.Lines[f.voice]
		times := book.Decimal(clock(line.StartSec, 1)) + "–" + book.Decimal(clock(line.EndSec, 1))
		l.Add(fit(label(x+7.5, y, size, f.text, draw.InkDark, draw.Start), c.width))
		if step >= labelSize*2.3 {
			l.Add(named(label(x+7.5, y+labelSize*1.2, labelSize, times, draw.InkSecond, draw.Start),
				fmt.Sprintf("times-%d", f.voice+1)))
		}
	}
}
