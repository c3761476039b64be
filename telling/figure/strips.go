package figure

import (
	"fmt"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/words"
)

// strips is the talea as a strip of paper, once a row, and under it the strip
// of the color as it slides along: each pitch lies under the duration that it
// is given. Its layers are "talea", "color" and "heads".
type strips struct {
	*cycle
	starts []float64 // of the members of the talea, in units
	length float64   // of a statement
}

func newStrips(in *Input, o *Options) (view, error) {
	c, err := newCycle(in, o)
	if err != nil {
		return nil, err
	}
	s := &strips{cycle: c}
	for _, d := range c.talea {
		s.starts = append(s.starts, s.length)
		s.length += d.Units.Float64()
	}
	return s, nil
}

func (s *strips) title(t *words.Talk) string { return t.Book().Say("strips.title", s.args()) }

func (s *strips) caption(t *words.Talk, short bool) string {
	return s.explain(t, "strips.read", short)
}

// rows are the statements of the talea that are shown, from 0; -1 stands for
// those between the first ones and the last.
func (s *strips) rows(room int) []int {
	all := (min(s.notes, s.played) + len(s.strokes) - 1) / len(s.strokes)
	var rows []int
	for i := range all {
		if all > room && i == room-1 {
			return append(rows, -1, all-1)
		}
		rows = append(rows, i)
	}
	return rows
}

func (s *strips) draw(c *canvas, _ *Figure) {
	row, strip, head := 12.2, 4.4, labelSize*2.2
	if c.size == Slide {
		row, strip, head = 10.4, 3.6, labelSize*1.9
	}
	left := 9.0
	scale := (c.width - left - 2) / s.length
	room := max(3, int((c.height-head)/row))
	if c.size == Page {
		room = min(int((c.height-head-5)/row), 14)
	}
	for _, id := range []string{"talea", "color"} {
		c.layer(id) // below the heads
	}
	l := c.layer("heads")
	book := c.talk.Book()
	l.Add(label(left, labelSize, labelSize, book.Say("strips.heads", s.args()), draw.InkSecond, draw.Start))
	y := head
	for _, n := range s.rows(room) {
		if n < 0 {
			l.Add(label(left-1.5, y+labelSize*0.4, labelSize, "…", draw.InkSecond, draw.End))
			y += labelSize * 1.2
			continue
		}
		l.Add(named(label(left-1.5, y+strip*0.5+capHalf(labelSize), labelSize, strconv.Itoa(n+1), draw.InkDark, draw.End),
			fmt.Sprintf("talea-%d", n+1)))
		s.statement(c, n, left, y, strip, scale)
		y += row
	}
	if c.size == Page {
		l.Add(bold(named(label(left, y+labelSize, labelSize, s.counts(c.talk), draw.InkDark, draw.Start), "counts")))
		y += labelSize * 1.4
	}
	c.used = y
}

// statement draws one time through the talea with the pitches under it.
func (s *strips) statement(c *canvas, n int, left, y, strip, scale float64) {
	talea, color, heads := c.layer("talea"), c.layer("color"), c.layer("heads")
	thin := draw.Stroke{Ink: c.hue(s.index), WidthMM: draw.Hairline}
	note := n * len(s.strokes)
	for i, d := range s.talea {
		x0, x1 := left+s.starts[i]*scale, left+s.end(i)*scale
		fill := draw.White
		if d.Silent {
			fill = draw.Hex(0xe6e2da)
		}
		talea.Add(box(draw.Box(x0, y, x1, y+strip), fill, thin))
		s.inBox(talea, x0, x1, y+strip/2, s.duration(i), draw.InkDark)
		if d.Silent {
			continue
		}
		if note < min(s.notes, s.played) {
			s.pitch(c, color, heads, note, x0, left+s.reach(i)*scale, y+strip, strip)
		}
		note++
	}
}

// end is where member i of the talea ends, in units.
func (s *strips) end(i int) float64 {
	if i+1 < len(s.starts) {
		return s.starts[i+1]
	}
	return s.length
}

// reach is where the pitch of member i gives way to the next, in units:
// silences belong to the note before them.
func (s *strips) reach(i int) float64 {
	for i+1 < len(s.talea) && s.talea[i+1].Silent {
		i++
	}
	return s.end(i)
}

// pitch draws one pitch; statements of the color alternate in tint, and each
// begins with a flag that counts it.
func (s *strips) pitch(c *canvas, color, heads *draw.Layer, note int, x0, x1, y, strip float64) {
	place, statement := note%len(s.color), note/len(s.color)
	share := 0.12
	if statement%2 == 1 {
		share = 0.34
	}
	b := box(draw.Box(x0, y, x1, y+strip), c.tint(s.index, share), draw.Stroke{Ink: c.hue(s.index), WidthMM: 0.15})
	b.ID = fmt.Sprintf("pitch-%d", note+1)
	color.Add(b)
	s.inBox(color, x0, x1, y+strip/2, s.color[place], draw.InkDark)
	if place == 0 {
		heads.Add(line(x0, y-0.4, x0, y+strip+1, draw.Stroke{Ink: c.accent(), WidthMM: 0.9}))
		if w := x1 - x0; typeface.Sans.Width(strconv.Itoa(statement+1), c.small) < w+4 {
			heads.Add(named(label(x0+0.8, y+strip+c.small*0.85, c.small, strconv.Itoa(statement+1), c.accent(), draw.Start),
				fmt.Sprintf("color-%d", statement+1)))
		}
	}
}

// inBox writes text in the middle of a box as large as it may be, or not at all.
func (s *strips) inBox(l *draw.Layer, x0, x1, y float64, text string, ink draw.Ink) {
	size := min(labelSize, (x1-x0-0.5)/typeface.Sans.Width(text, 1))
	if size >= 1.7 {
		l.Add(middle((x0+x1)/2, y, size, text, ink))
	}
}
