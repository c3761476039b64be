package report

import (
	"fmt"
	"image"
	"image/color"

	"rollwright/scan/read"
	"rollwright/scan/row"
)

// shrinker makes a picture smaller by a whole number, the mean of squares of
// pixels, as its rows go by.
type shrinker struct {
	less, channels int
	sums           []int
	rows           int
	out            *image.RGBA
	y              int
}

// mostSmall bounds the small picture's pixels; what lies beyond is left out.
const mostSmall = 120 << 20

func newShrinker(p *row.Picture, less int) *shrinker {
	w, h := max(p.Width/less, 1), max(p.Height/less, 1)
	h = min(h, max(mostSmall/4/w, 1))
	return &shrinker{less: less, channels: p.Channels, sums: make([]int, w*p.Channels),
		out: image.NewRGBA(image.Rect(0, 0, w, h))}
}

func (s *shrinker) row(line []byte) {
	w := s.out.Rect.Dx()
	if s.y >= s.out.Rect.Dy() {
		return
	}
	for x := range w {
		for i := range s.less {
			for c := range s.channels {
				if k := (x*s.less+i)*s.channels + c; k < len(line) {
					s.sums[x*s.channels+c] += int(line[k])
				}
			}
		}
	}
	if s.rows++; s.rows < s.less {
		return
	}
	n := s.less * s.less
	for x := range w {
		v := s.sums[x*s.channels : (x+1)*s.channels]
		c := color.RGBA{byte(v[0] / n), byte(v[0] / n), byte(v[0] / n), 255}
		if s.channels == 3 {
			c.G, c.B = byte(v[1]/n), byte(v[2]/n)
		}
		s.out.SetRGBA(x, s.y, c)
	}
	clear(s.sums)
	s.rows = 0
	s.y++
}

func (s *shrinker) picture() image.Image { return s.out }

// cropper cuts the surroundings of a doubtful slot out of the rows.
type cropper struct {
	slot read.Slot
	at   image.Rectangle
	out  *image.RGBA
}

// cropsOf are croppers for the doubtful slots of a picture.
func cropsOf(r *read.Reading, index int, p *row.Picture) []*cropper {
	var out []*cropper
	for _, s := range r.Doubtful() {
		if s.Picture != index || len(out) > 2*mostCrops {
			continue
		}
		x, y := int((s.Box.X0+s.Box.X1)/2), int((s.Box.Y0+s.Box.Y1)/2)
		half := max(cropPixels/2, int(max(s.Box.X1-s.Box.X0, s.Box.Y1-s.Box.Y0)/2)+20)
		half = min(half, 2*cropPixels)
		at := image.Rect(x-half, y-half, x+half, y+half).Intersect(image.Rect(0, 0, p.Width, p.Height))
		out = append(out, &cropper{slot: s, at: at, out: image.NewRGBA(at)})
	}
	return out
}

func (c *cropper) row(y int, line []byte, channels int) {
	if y < c.at.Min.Y || y >= c.at.Max.Y {
		return
	}
	for x := c.at.Min.X; x < c.at.Max.X; x++ {
		v := line[x*channels : (x+1)*channels]
		k := color.RGBA{v[0], v[0], v[0], 255}
		if channels == 3 {
			k.G, k.B = v[1], v[2]
		}
		c.out.SetRGBA(x, y, k)
	}
}

func (c *cropper) doubt(r *read.Reading) (doubt, error) {
	s := c.slot
	d := doubt{Width: c.at.Dx(), Height: c.at.Dy(), Picture: s.Picture + 1, AtX: int((s.Box.X0 + s.Box.X1) / 2),
		AtY:  int((s.Box.Y0 + s.Box.Y1) / 2),
		Port: read.PortName(r.Instrument, s.Port), Lead: fmt.Sprintf("%.1f", s.LeadMM), Trail: fmt.Sprintf("%.1f", s.TrailMM),
		Share: int(100*s.Certainty + 0.5), Reason: s.Reason,
		X: int(s.Box.X0) - c.at.Min.X - 3, Y: int(s.Box.Y0) - c.at.Min.Y - 3, W: int(s.Box.X1-s.Box.X0) + 6,
		H: int(s.Box.Y1-s.Box.Y0) + 6}
	var err error
	d.Image, err = inline(c.out)
	return d, err
}
