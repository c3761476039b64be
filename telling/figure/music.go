package figure

import (
	"fmt"
	"slices"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/exact"
	"rollwright/music/notation"
	"rollwright/telling/engrave"
	"rollwright/text/words"
)

// music is the color, the talea and the first statements of a voice in
// notation. Its layers are "color", "talea", "statements" and "heads".
type music struct {
	*cycle
	part  *notation.Part
	color notation.Bar // the members of the color once through
	talea notation.Bar
	units string // length of the talea
}

// mostNotes bounds what is engraved: more would not fit a figure.
const mostNotes = 400

func newMusic(in *Input, o *Options) (view, error) {
	c, err := newCycle(in, o)
	if err != nil {
		return nil, err
	}
	m := &music{cycle: c, part: notation.Of(in.Performance, c.index)}
	if len(m.part.Bars) == 0 {
		return nil, fmt.Errorf("voice %q has no notes to write", c.voice.Name)
	}
	// Both series are shown in the order of writing, whichever way they are played.
	bars := notation.Statements(in.Performance, c.index).Bars
	if c.backward {
		bars = turned(bars)
	}
	m.talea = bars[0]
	for _, b := range bars {
		for _, n := range b.Notes {
			if !n.Rest() && len(m.color.Notes) < len(c.color) {
				n.First = false
				m.color.Notes = append(m.color.Notes, n)
			}
		}
	}
	var units exact.Rat
	for _, d := range c.talea {
		units, _ = units.Add(d.Units)
	}
	m.units = units.String()
	return m, nil
}

// turned is bars and their notes from the last to the first.
func turned(bars []notation.Bar) []notation.Bar {
	out := slices.Clone(bars)
	slices.Reverse(out)
	for i := range out {
		out[i].Notes = slices.Clone(out[i].Notes)
		slices.Reverse(out[i].Notes)
	}
	return out
}

func (m *music) args() words.Args {
	args := m.cycle.args()
	args["units"] = m.units
	return args
}

// given reports whether the bars are the piece's own.
func (m *music) given() bool { return m.part.Bars[0].Given }

func (m *music) title(t *words.Talk) string { return t.Book().Say("notation.title", m.args()) }

func (m *music) caption(t *words.Talk, short bool) string {
	if short {
		return t.Say("notation.short", m.args())
	}
	read := "notation.read"
	if m.given() {
		read += "-bars"
	}
	text := t.Say(read, m.args())
	if m.voice.Bar.Given() && !m.given() {
		text += " " + t.Say("notation.no-bars", m.args())
	}
	if m.part.Manner != notation.AsPerformed {
		text += " " + t.Say("notation.stretched", m.args())
	}
	return text
}

func (m *music) draw(c *canvas, _ *Figure) {
	space := 1.5
	if c.size == Slide {
		space = 1.15
	}
	look := engrave.NewLook(space)
	look.Accent, look.Hue, look.SmallMM = c.accent(), c.hue(m.index), c.small
	m.talea.Notes = cut(m.talea.Notes)
	m.color.Notes = cut(m.color.Notes)
	talea := "notation.talea"
	if len(m.cycle.talea) > len(m.strokes) {
		talea = "notation.talea-silent"
	}
	y := m.heading(c, 0, c.talk.Book().Say("notation.color", m.args()))
	limit := 0
	if c.size == Slide {
		limit = 1
	}
	high, more := engrave.Draw(c.layer("color"), &engrave.Line{Part: m.part, Manner: engrave.Pitches,
		Bars: []notation.Bar{m.color}}, look, 0, y, c.width, limit)
	m.rest(c, y, high, more)
	y = m.heading(c, y+high, c.talk.Book().Say(talea, m.args()))
	high, more = engrave.Draw(c.layer("talea"), &engrave.Line{Part: m.part, Manner: engrave.Rhythm,
		Bars: []notation.Bar{m.talea}}, look, 0, y, c.width, limit)
	m.rest(c, y, high, more)
	together := "notation.statements"
	if m.given() {
		together += "-bars"
	}
	if c.size == Slide {
		together += "-short"
	}
	x := c.width
	if tempo, ok := m.part.OneTempo(); ok {
		text := "= " + c.talk.Book().Decimal(significant(tempo, 6))
		x -= engrave.Tempo(c.layer("hidden"), look, 0, 0, text)
		c.drawing.Layers = c.drawing.Layers[:len(c.drawing.Layers)-1]
		engrave.Tempo(c.layer("heads"), look, x, y+high+labelSize*1.5, text)
	}
	y = m.heading(c, y+high, typeface.Sans.Fit(c.talk.Book().Say(together, m.args()), labelSize, x-4))
	bars, notes := m.part.Bars, 0
	for i, b := range bars {
		if notes += len(b.Notes); notes > mostNotes && i > 0 {
			bars = bars[:i]
			break
		}
	}
	room := c.height - y
	if c.size == Page {
		room = 110
	}
	trial := draw.Layer{}
	line := &engrave.Line{Part: m.part, Manner: engrave.Music, Bars: bars, Labels: true}
	one, _ := engrave.Draw(&trial, line, look, 0, y, c.width, 1)
	high, more = engrave.Draw(c.layer("statements"), line, look, 0, y, c.width, max(1, int(room/one)))
	m.rest(c, y, high, more || len(bars) < len(m.part.Bars))
	c.used = y + high
}

// cut keeps what can be engraved of a long series.
func cut(notes []notation.Note) []notation.Note {
	return notes[:min(len(notes), mostNotes)]
}

// heading writes a line of words from y and returns where music may begin.
func (m *music) heading(c *canvas, y float64, text string) float64 {
	c.layer("heads").Add(label(0, y+labelSize*1.5, labelSize, text, draw.InkSecond, draw.Start))
	return y + labelSize*2
}

// rest says that a series goes on.
func (m *music) rest(c *canvas, y, high float64, more bool) {
	if more {
		c.layer("heads").Add(label(c.width, y+high, labelSize, "…", draw.InkSecond, draw.End))
	}
}
