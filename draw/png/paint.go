package png

import (
	"math"

	"rollwright/draw"
)

// band is some rows of the picture. Places in it are in pixels from the
// picture's upper left corner; the centre of the first pixel is at one half.
type band struct {
	width, rows int
	top         int
	scale       float64
	origin      draw.Point
	rgb         []byte
	area        area
}

func (b *band) paint(d *draw.Drawing) {
	white := draw.White
	for i := 0; i < len(b.rgb); i += 3 {
		b.rgb[i], b.rgb[i+1], b.rgb[i+2] = white.R, white.G, white.B
	}
	if d.Ground.A > 0 {
		b.path(&draw.Path{Fill: d.Ground, Steps: (&draw.Path{}).Rect(d.Frame.Grow(1)).Steps}, b.bounds(nil))
	}
	for _, l := range d.Layers {
		if l.Off {
			continue
		}
		clip := b.bounds(l.Clip)
		for _, m := range l.Marks {
			switch m := m.(type) {
			case *draw.Slots:
				b.slots(m, clip)
			case *draw.Path:
				b.path(m, clip)
			case *draw.Text:
				if b.sees(m.Bounds().Grow(m.SizeMM)) {
					b.path(m.Outline(), clip)
				}
			}
		}
	}
}

// window is the pixels x0 <= x < x1, y0 <= y < y1 of the picture.
type window struct{ x0, y0, x1, y1 int }

// bounds is the band, cut to the pixels whose centres lie in r.
func (b *band) bounds(r *draw.Rect) window {
	w := window{0, b.top, b.width, b.top + b.rows}
	if r == nil {
		return w
	}
	x0, y0 := b.at(r.Min)
	x1, y1 := b.at(r.Max)
	return window{max(w.x0, pixel(x0)), max(w.y0, pixel(y0)), min(w.x1, pixel(x1)), min(w.y1, pixel(y1))}
}

// pixel is the first pixel whose centre is not before v.
func pixel(v float64) int { return int(math.Ceil(math.Min(math.Max(v, -1e9), 1e9) - 0.5)) }

func (b *band) at(p draw.Point) (x, y float64) {
	return (p.X - b.origin.X) * b.scale, (p.Y - b.origin.Y) * b.scale
}

func (b *band) sees(r draw.Rect) bool {
	_, y0 := b.at(r.Min)
	_, y1 := b.at(r.Max)
	return y1 >= float64(b.top)-1 && y0 <= float64(b.top+b.rows)+1
}

// slots paints each segment by the distance of the pixels' centres from it: a
// pixel whose centre lies d inside the edge is covered by 1/2 + d.
func (b *band) slots(s *draw.Slots, clip window) {
	if s.Ink.A == 0 {
		return
	}
	r, thin := s.WidthMM/2*b.scale, 1.0
	if r < 0.5 { // thinner than a pixel: one pixel wide and paler
		r, thin = 0.5, 2*r
	}
	for _, g := range s.Segments {
		x1, y1 := b.at(draw.Point{X: g.X1, Y: g.Y1})
		x2, y2 := b.at(draw.Point{X: g.X2, Y: g.Y2})
		reach := r + 0.5
		top, bottom := min(y1, y2)-reach, max(y1, y2)+reach
		if bottom < float64(clip.y0) || top > float64(clip.y1) {
			continue
		}
		w := window{max(clip.x0, pixel(min(x1, x2)-reach)), max(clip.y0, pixel(top)),
			min(clip.x1, pixel(max(x1, x2)+reach)+1), min(clip.y1, pixel(bottom)+1)}
		dx, dy := x2-x1, y2-y1
		square := dx*dx + dy*dy
		for y := w.y0; y < w.y1; y++ {
			cy := float64(y) + 0.5 - y1
			for x := w.x0; x < w.x1; x++ {
				cx := float64(x) + 0.5 - x1
				t := 0.0
				if square > 0 {
					t = min(max((cx*dx+cy*dy)/square, 0), 1)
				}
				ex, ey := cx-t*dx, cy-t*dy
				if d := ex*ex + ey*ey; d < reach*reach {
					b.mix(x, y, s.Ink, thin*min(1, reach-math.Sqrt(d)))
				}
			}
		}
	}
}

// mix lays ink over a pixel that it covers by the given share.
func (b *band) mix(x, y int, ink draw.Ink, share float64) {
	i := 3 * ((y-b.top)*b.width + x)
	a := int32(share*float64(ink.A)*256/255 + 0.5) // 0 to 256
	p := b.rgb[i : i+3 : i+3]
	for k, c := range [3]uint8{ink.R, ink.G, ink.B} {
		p[k] = uint8((int32(p[k])*(256-a) + int32(c)*a + 128) >> 8)
	}
}

func (b *band) path(p *draw.Path, clip window) {
	bounds, ok := p.Bounds()
	if !ok || !b.sees(bounds) || clip.x0 >= clip.x1 || clip.y0 >= clip.y1 {
		return
	}
	lines := p.Flatten(0.1 / b.scale)
	for _, l := range lines {
		for i, q := range l.Points {
			l.Points[i].X, l.Points[i].Y = b.at(q)
		}
	}
	if p.Fill.A > 0 {
		b.area.begin(clip)
		for _, l := range lines {
			b.area.polygon(l.Points)
		}
		b.area.fill(p.EvenOdd, func(x, y int, share float64) { b.mix(x, y, p.Fill, share) })
	}
	if p.Stroke.Ink.A > 0 && p.Stroke.WidthMM > 0 {
		b.area.begin(clip)
		pen := pen{area: &b.area, r: p.Stroke.WidthMM / 2 * b.scale, round: p.Stroke.Cap == draw.Round}
		dash := make([]float64, len(p.Stroke.DashMM))
		for i, d := range p.Stroke.DashMM {
			dash[i] = d * b.scale
		}
		for _, l := range lines {
			for _, part := range draw.Dashes(l, dash) {
				pen.line(part)
			}
		}
		b.area.fill(false, func(x, y int, share float64) { b.mix(x, y, p.Stroke.Ink, share) })
	}
}
