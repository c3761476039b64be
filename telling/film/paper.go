package film

import (
	"math"
	"slices"
	"sort"

	"rollwright/draw"
	"rollwright/draw/raster"
	"rollwright/paper/roll"
)

// paper is one roll in its window, with places in pixels: across from the window's
// left edge, along as the paper lies, so that a row at length mm is at -mm*scale of a
// paper that goes down, at mm*scale of one that goes up.
type paper struct {
	roll  *roll.Roll
	theme theme

	x, y, width, height int // the window

	scale   float64 // pixels a millimetre
	from    float64 // millimetres across at the window's bass edge
	across  float64 // millimetres that the window shows
	bar     float64 // the bar's middle, from the window's top
	forward float64 // 1 of a paper that goes up, else -1

	longest float64 // of a slot, in millimetres
}

// newPaper shows the ports that are in use, or all of the paper where they are most
// of it, as the lecture page does.
func newPaper(r *roll.Roll, t theme, x, y, width, height int) *paper {
	in := r.Instrument
	p := &paper{roll: r, theme: t, x: x, y: y, width: width, height: height, forward: -1, bar: 0.76 * float64(height)}
	if in.Paper.TravelsUp {
		p.forward, p.bar = 1, 0.24*float64(height)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for i := range r.Slots {
		across := in.Bar.Ports[r.Slots[i].Port].AcrossMM
		low, high = min(low, across), max(high, across)
		p.longest = max(p.longest, r.Slots[i].TrailMM-r.Slots[i].LeadMM)
	}
	const beside = 6
	w := in.Paper.WidthMM
	p.across = max(high-low+24, min(w, 130))
	p.from = max(-beside, min(w+beside-p.across, (low+high-p.across)/2))
	if p.across > 0.8*w {
		p.from, p.across = -beside, w+2*beside
	}
	p.scale = float64(width) / p.across
	return p
}

// acrossPX is the place of a length across.
func (p *paper) acrossPX(mm float64) float64 {
	if p.roll.Instrument.Paper.Bass != 0 {
		return (p.from + p.across - mm) * p.scale
	}
	return (mm - p.from) * p.scale
}

func (p *paper) portPX(port int32) float64 {
	return p.acrossPX(p.roll.Instrument.Bar.Ports[port].AcrossMM)
}

// alongPX is the place of a length along.
func (p *paper) alongPX(mm float64) float64 { return p.forward * mm * p.scale }

// rowPX is the place along of what lies on the bar at a time.
func (p *paper) rowPX(sec float64) float64 {
	return p.alongPX(p.roll.Instrument.Transport.AlongMM(sec))
}

// diePX is how wide a hole is shown: as wide as it is, and wide enough to be seen.
func (p *paper) diePX() float64 { return max(3, p.roll.Instrument.Die.DiameterMM*p.scale) }

// rim is how far a voice's hue reaches beyond a hole: outside, and where it begins.
const (
	rimOut = 2.8
	rimIn  = 0.6
	glow   = 5 // of a hole that sounds
)

// seen calls f for the slots that have a part between two places along, in
// millimetres, in order.
func (p *paper) seen(from, to float64, f func(s *roll.Slot)) {
	slots := p.roll.Slots
	first := sort.Search(len(slots), func(i int) bool { return slots[i].LeadMM >= from-p.longest })
	for i := first; i < len(slots) && slots[i].LeadMM <= to; i++ {
		if s := &slots[i]; s.TrailMM >= from {
			f(s)
		}
	}
}

// segments are the openings of a slot, moved by so much along.
func (p *paper) segments(s *roll.Slot, by float64, to []draw.Segment) []draw.Segment {
	x := p.portPX(s.Port)
	for o := range p.roll.Openings(s) {
		to = append(to, draw.Segment{X1: x, Y1: p.alongPX(o.FirstMM) + by, X2: x, Y2: p.alongPX(o.LastMM) + by})
	}
	return to
}

// whole is a slot from its first to its last punch.
func (p *paper) whole(s *roll.Slot, by float64) draw.Segment {
	x := p.portPX(s.Port)
	return draw.Segment{X1: x, Y1: p.alongPX(s.FirstMM) + by, X2: x, Y2: p.alongPX(s.LastMM) + by}
}

// voiceOf is the voice that a slot is shown in: -1 for what no note asks for.
func voiceOf(s *roll.Slot) int {
	if s.Causes.First.Note > 0 {
		return int(s.Causes.First.Voice)
	}
	return -1
}

// tile is the drawing of the paper between two places, the first of them at 0.
func (p *paper) tile(first, rows int) *draw.Drawing {
	width, height := float64(p.width), float64(rows)
	d := &draw.Drawing{Frame: draw.Box(0, 0, width, height), Ground: p.theme.bench}
	l := d.Layer("paper", "Paper")
	left, right := p.acrossPX(0), p.acrossPX(p.roll.Instrument.Paper.WidthMM)
	l.Add((&draw.Path{Fill: p.theme.paper}).Rect(draw.Box(min(left, right), 0, max(left, right), height)))
	lines := &draw.Path{Stroke: draw.Stroke{Ink: p.theme.line, WidthMM: 1}}
	for i := 0; i < len(p.roll.Instrument.Bar.Ports); i += 12 {
		x := p.portPX(int32(i))
		lines.Line(x, 0, x, height)
	}
	l.Add(lines)
	p.holes(d.Layer("holes", "Holes"), float64(first), height)
	return d
}

// holes are the slots between two places with the rims of their voices.
func (p *paper) holes(l *draw.Layer, first, height float64) {
	a, b := p.forward*first/p.scale, p.forward*(first+height)/p.scale
	reach := (p.diePX() + glow) / p.scale
	rims := map[int][]draw.Segment{}
	var voices []int
	var holes []draw.Segment
	p.seen(min(a, b)-reach, max(a, b)+reach, func(s *roll.Slot) {
		v := voiceOf(s)
		if _, ok := rims[v]; !ok {
			voices = append(voices, v)
		}
		rims[v] = append(rims[v], p.whole(s, -first))
		holes = p.segments(s, -first, holes)
	})
	slices.Sort(voices)
	die := p.diePX()
	for _, v := range voices {
		if v < 0 {
			continue
		}
		stroke := draw.VoiceStroke(v, rimOut-rimIn)
		if len(stroke.DashMM) == 0 {
			l.Add(&draw.Slots{Ink: stroke.Ink, WidthMM: die + 2*rimOut, Segments: rims[v]})
			continue
		}
		outlines := &draw.Path{Stroke: stroke}
		for _, s := range rims[v] {
			outlines.Capsule(s, die/2+(rimIn+rimOut)/2)
		}
		l.Add(outlines)
	}
	var inner []draw.Segment
	for _, v := range voices {
		if v >= 0 {
			inner = append(inner, rims[v]...)
		}
	}
	l.Add(&draw.Slots{Ink: p.theme.paper, WidthMM: die + 2*rimIn, Segments: inner},
		&draw.Slots{Ink: p.theme.hole, WidthMM: die, Segments: holes})
}

// sounding are the slots over the bar at a time.
func (p *paper) sounding(sec float64) (open []*roll.Slot) {
	row := p.roll.Instrument.Transport.AlongMM(sec)
	p.seen(row, row, func(s *roll.Slot) { open = append(open, s) })
	return open
}

// moving is what changes on the paper from picture to picture, in places of the
// window: holes that sound, and the bar with its ports.
func (p *paper) moving(sec float64, open []*roll.Slot) *draw.Drawing {
	d := &draw.Drawing{Frame: draw.Box(0, 0, float64(p.width), float64(p.height))}
	l := d.Layer("moving", "Moving")
	by := p.bar - p.rowPX(sec)
	die := p.diePX()
	lit := map[int32]bool{}
	for _, s := range open {
		lit[s.Port] = true
		if v := voiceOf(s); v >= 0 {
			l.Add(&draw.Slots{Ink: draw.VoiceHue(v), WidthMM: die + 2*glow, Segments: []draw.Segment{p.whole(s, by)}})
		}
		l.Add(&draw.Slots{Ink: draw.Hex(0xfff6df), WidthMM: die, Segments: p.segments(s, by, nil)})
	}
	p.brass(l, lit)
	return d
}

// brass is the bar, darker downwards, and its ports: those that are open are lit.
func (p *paper) brass(l *draw.Layer, lit map[int32]bool) {
	in := p.roll.Instrument
	height := max(14, in.Bar.HeightMM*p.scale*2.2)
	top := p.bar - height/2
	shades := [...]struct {
		at  float64
		ink draw.Ink
	}{{0, draw.Hex(0xe3c88d)}, {0.5, draw.Hex(0xb8924a)}, {1, draw.Hex(0x77571f)}}
	const rows = 8
	for i := range rows {
		at := (float64(i) + 0.5) / rows
		k := 0
		if at > 0.5 {
			k = 1
		}
		share := (at - shades[k].at) / (shades[k+1].at - shades[k].at)
		ink := between(shades[k].ink, shades[k+1].ink, share)
		ink.A = 230
		l.Add((&draw.Path{Fill: ink}).Rect(draw.Box(0, top+height*float64(i)/rows, float64(p.width),
			top+height*float64(i+1)/rows)))
	}
	size := max(3, in.Bar.HeightMM*p.scale)
	shut, open := &draw.Path{Fill: draw.Hex(0x2b2118)}, &draw.Path{Fill: draw.Hex(0xfffbe9)}
	for i := range in.Bar.Ports {
		x, half, path := p.portPX(int32(i)), size/2, shut
		if lit[int32(i)] {
			half, path = 0.8*size, open
		}
		path.Rect(draw.Box(x-half, p.bar-half, x+half, p.bar+half))
	}
	l.Add(shut, open)
}

// between mixes two inks; share is of the second.
func between(a, b draw.Ink, share float64) draw.Ink {
	mix := func(x, y uint8) uint8 { return uint8(math.Round(float64(x) + share*(float64(y)-float64(x)))) }
	return draw.Ink{R: mix(a.R, b.R), G: mix(a.G, b.G), B: mix(a.B, b.B), A: 255}
}

// tileRows is how much of the paper is painted at once.
const tileRows = 512

// strip is the paper, painted as far as it is needed.
type strip struct {
	paper *paper
	tiles map[int][]byte
	order []int // of tiles, the oldest first
}

// rows is the tile that holds row at, and which of its rows that is.
func (s *strip) row(at int) []byte {
	k := at / tileRows
	if at < 0 && at%tileRows != 0 {
		k--
	}
	bytes := 3 * s.paper.width
	tile, ok := s.tiles[k]
	if !ok {
		tile = s.paint(k)
	}
	at -= k * tileRows
	return tile[at*bytes : (at+1)*bytes]
}

// paint makes a tile, in the place of the oldest where there are enough.
func (s *strip) paint(k int) []byte {
	var tile []byte
	if keep := s.paper.height/tileRows + 3; len(s.order) >= keep {
		tile = s.tiles[s.order[0]]
		delete(s.tiles, s.order[0])
		s.order = s.order[1:]
	} else {
		tile = make([]byte, 3*s.paper.width*tileRows)
	}
	c := &raster.Canvas{Width: s.paper.width, Rows: tileRows, PixelsPerMM: 1, RGB: tile}
	c.Paint(s.paper.tile(k*tileRows, tileRows))
	s.tiles[k] = tile
	s.order = append(s.order, k)
	return tile
}

// scroll fills the window with the paper as it lies when the place along is on the
// bar. A row between two of the paper is their mixture, in 256 steps to nearest.
func (s *strip) scroll(window []byte, place float64) {
	first := place - s.paper.bar // the place along of the window's top
	whole := math.Floor(first)
	share := int(math.Round((first - whole) * 256))
	bytes := 3 * s.paper.width
	above := s.row(int(whole))
	for y := range s.paper.height {
		below := s.row(int(whole) + y + 1)
		to := window[y*bytes : (y+1)*bytes]
		switch share {
		case 0:
			copy(to, above)
		default:
			mixRows(to, above, below, share)
		}
		above = below
	}
}

// mixRows is two rows mixed, share of 256 of the second.
func mixRows(to, a, b []byte, share int) {
	_, _ = a[len(to)-1], b[len(to)-1]
	for i := range to {
		x := int(a[i])
		to[i] = byte(x + ((int(b[i])-x)*share+128)>>8)
	}
}
