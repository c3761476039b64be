package film

import (
	"rollwright/draw"
	"rollwright/draw/raster"
)

// Painter paints the pictures of a film; pictures in order cost least. It may be
// used by one goroutine at a time, any number of them by as many.
type Painter struct {
	film   *Film
	frame  []byte
	strips []*strip
	panes  [][]byte // the papers' windows
}

// Painter makes a painter.
func (f *Film) Painter() *Painter {
	p := &Painter{film: f, frame: make([]byte, len(f.base))}
	for _, paper := range f.papers {
		p.strips = append(p.strips, &strip{paper: paper, tiles: map[int][]byte{}})
		p.panes = append(p.panes, make([]byte, 3*paper.width*paper.height))
	}
	return p
}

// Frame is picture i, from 0, as rows of red, green, blue; it is good until the next
// call.
func (p *Painter) Frame(i int) []byte {
	f, sec := p.film, p.film.SecAt(i)
	copy(p.frame, f.base)
	sounds := make([]bool, len(f.in.Voices))
	for k, s := range p.strips {
		open := s.paper.sounding(sec)
		for _, o := range open {
			for c := range o.Causes.All() {
				if int(c.Voice) < len(sounds) {
					sounds[c.Voice] = true
				}
			}
		}
		s.scroll(p.panes[k], s.paper.rowPX(sec))
		pane := &raster.Canvas{Width: s.paper.width, Rows: s.paper.height, PixelsPerMM: 1, RGB: p.panes[k]}
		pane.Over(s.paper.moving(sec, open))
		p.place(p.panes[k], s.paper)
	}
	whole := f.canvas(p.frame)
	d := &draw.Drawing{Frame: draw.Box(0, 0, float64(f.width), high)}
	l := d.Layer("now", "Now")
	for _, n := range f.names {
		l.Add(f.lamp(n, sounds[n.voice])...)
	}
	l.Add(f.clock(sec))
	if f.card != nil {
		f.card.now(whole, l, sec)
	}
	whole.Over(d)
	return p.frame
}

// place copies a window to its place in the picture.
func (p *Painter) place(pane []byte, at *paper) {
	bytes := 3 * at.width
	for y := range at.height {
		to := 3 * ((at.y+y)*p.film.width + at.x)
		copy(p.frame[to:to+bytes], pane[y*bytes:])
	}
}

// lamp is a ring in the hue and pattern of a voice; full while the voice sounds.
func (f *Film) lamp(n name, on bool) []draw.Mark {
	stroke := draw.VoiceStroke(n.voice, 3)
	ring := (&draw.Path{Stroke: stroke}).Circle(n.x, n.y, lamp)
	inner := &draw.Path{Fill: f.theme.paper}
	if on {
		inner.Fill, ring.Stroke.DashMM = stroke.Ink, nil
	}
	return []draw.Mark{inner.Circle(n.x, n.y, lamp), ring}
}
