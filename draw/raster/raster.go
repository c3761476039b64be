// Package raster paints a drawing as rows of red, green, blue.
//
// Edges are smoothed by the share of each pixel that a mark covers: exact for
// round-ended slots to about 1/100 of a pixel, in eighths of a row and exact
// along it for everything else. Pixels are sRGB of 8 bits and are mixed as such.
package raster

import (
	"math"

	"rollwright/draw"
)

// Canvas is some whole rows of a picture. Places in the picture are in pixels from
// its upper left corner; the centre of the first pixel is at one half.
type Canvas struct {
	Width, Rows int        // in pixels, each at least 1
	Top         int        // the picture's row that is the canvas' first
	PixelsPerMM float64    // more than 0
	Origin      draw.Point // the place of a drawing, in millimetres, that is the picture's upper left corner
	RGB         []byte     // 3 bytes a pixel, row by row: at least 3*Width*Rows

	area area
}

// Paint paints the drawing on its ground, or on white when it has none.
func (c *Canvas) Paint(d *draw.Drawing) {
	white := draw.White
	rgb := c.RGB[:3*c.Width*c.Rows]
	for i := 0; i < len(rgb); i += 3 {
		rgb[i], rgb[i+1], rgb[i+2] = white.R, white.G, white.B
	}
	if d.Ground.A > 0 {
		c.path(&draw.Path{Fill: d.Ground, Steps: (&draw.Path{}).Rect(d.Frame.Grow(1)).Steps}, c.bounds(nil))
	}
	c.Over(d)
}

// Over paints the marks of the drawing over what the canvas holds.
func (c *Canvas) Over(d *draw.Drawing) {
	for _, l := range d.Layers {
		if l.Off {
			continue
		}
		clip := c.bounds(l.Clip)
		for _, m := range l.Marks {
			switch m := m.(type) {
			case *draw.Slots:
				c.slots(m, clip)
			case *draw.Path:
				c.path(m, clip)
			case *draw.Text:
				if c.sees(m.Bounds().Grow(m.SizeMM)) {
					c.path(m.Outline(), clip)
				}
			}
		}
	}
}

// window is the pixels x0 <= x < x1, y0 <= y < y1 of the picture.
type window struct{ x0, y0, x1, y1 int }

// bounds is the band, cut to the pixels whose centres lie in r.
func (c *Canvas) bounds(r *draw.Rect) window {
	w := window{0, c.Top, c.Width, c.Top + c.Rows}
	if r == nil {
		return w
	}
	x0, y0 := c.at(r.Min)
	x1, y1 := c.at(r.Max)
	return window{max(w.x0, pixel(x0)), max(w.y0, pixel(y0)), min(w.x1, pixel(x1)), min(w.y1, pixel(y1))}
}

// pixel is the first pixel whose centre is not before v.
func pixel(v float64) int { return int(math.Ceil(math.Min(math.Max(v, -1e9), 1e9) - 0.5)) }

func (c *Canvas) at(p draw.Point) (x, y float64) {
	return (p.X - c.Origin.X) * c.PixelsPerMM, (p.Y - c.Origin.Y) * c.PixelsPerMM
}

func (c *Canvas) sees(r draw.Rect) bool {
	_, y0 := c.at(r.Min)
	_, y1 := c.at(r.Max)
	return y1 >= float64(c.Top)-1 && y0 <= float64(c.Top+c.Rows)+1
}

// slots paints each segment by the distance of the pixels' centres from it: a
// pixel whose centre lies d inside the edge is covered by 1/2 + d.
func (c *Canvas) slots(s *draw.Slots, clip window) {
	if s.Ink.A == 0 {
		return
	}
	r, thin := s.WidthMM/2*c.PixelsPerMM, 1.0
	if r < 0.5 { // thinner than a pixel: one pixel wide and paler
		r, thin = 0.5, 2*r
	}
	for _, g := range s.Segments {
		x1, y1 := c.at(draw.Point{X: g.X1, Y: g.Y1})
		x2, y2 := c.at(draw.Point{X: g.X2, Y: g.Y2})
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
					c.mix(x, y, s.Ink, thin*min(1, reach-math.Sqrt(d)))
				}
			}
		}
	}
}

// mix lays ink over a pixel that it covers by the given share.
func (c *Canvas) mix(x, y int, ink draw.Ink, share float64) {
	i := 3 * ((y-c.Top)*c.Width + x)
	a := int32(share*float64(ink.A)*256/255 + 0.5) // 0 to 256
	p := c.RGB[i : i+3 : i+3]
	if a == 256 { // most pixels: grounds and slots
		p[0], p[1], p[2] = ink.R, ink.G, ink.B
		return
	}
	for k, v := range [3]uint8{ink.R, ink.G, ink.B} {
		p[k] = uint8((int32(p[k])*(256-a) + int32(v)*a + 128) >> 8)
	}
}

func (c *Canvas) path(p *draw.Path, clip window) {
	bounds, ok := p.Bounds()
	if !ok || !c.sees(bounds) || clip.x0 >= clip.x1 || clip.y0 >= clip.y1 {
		return
	}
	lines := p.Flatten(0.1 / c.PixelsPerMM)
	for _, l := range lines {
		for i, q := range l.Points {
			l.Points[i].X, l.Points[i].Y = c.at(q)
		}
	}
	if p.Fill.A > 0 {
		c.area.begin(clip)
		for _, l := range lines {
			c.area.polygon(l.Points)
		}
		c.area.fill(p.EvenOdd, func(x, y int, share float64) { c.mix(x, y, p.Fill, share) })
	}
	if p.Stroke.Ink.A > 0 && p.Stroke.WidthMM > 0 {
		c.area.begin(clip)
		pen := pen{area: &c.area, r: p.Stroke.WidthMM / 2 * c.PixelsPerMM, round: p.Stroke.Cap == draw.Round}
		dash := make([]float64, len(p.Stroke.DashMM))
		for i, d := range p.Stroke.DashMM {
			dash[i] = d * c.PixelsPerMM
		}
		for _, l := range lines {
			for _, part := range draw.Dashes(l, dash) {
				pen.line(part)
			}
		}
		c.area.fill(false, func(x, y int, share float64) { c.mix(x, y, p.Stroke.Ink, share) })
	}
}
