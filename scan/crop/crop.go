// Package crop cuts pieces out of the pictures that a roll was read from.
//
// The input is a read.Reading and windows in millimetres of the roll as read; the
// output a PNG of each, upright: the start of the roll at the left, the bass above.
// Where a window lies in a picture is reckoned from the holes near it. Every
// picture is read once, in rows; pixels are skipped, not averaged.
package crop

import (
	"bytes"
	"cmp"
	"errors"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"slices"

	"rollwright/scan/read"
)

// Window is a stretch of the roll as it was read, between two places across from
// the bass edge, in millimetres.
type Window struct{ FromMM, ToMM, AcrossFromMM, AcrossToMM float64 }

// The numbers of a piece: as many pixels a millimetre at most, at most so many in
// all, and how many holes around it say where it lies.
const (
	perMM      = 6
	mostPixels = 1 << 21
	around     = 32
)

// Cut cuts the windows out; nil where too few holes are near to say where one
// lies. The errors are those of reading the pictures.
func Cut(r *read.Reading, windows []Window) ([][]byte, error) {
	out := make([][]byte, len(windows))
	byPicture := make([][]*piece, len(r.Pictures))
	for i, w := range windows {
		if p, picture := locate(r, w); p != nil {
			p.to = &out[i]
			byPicture[picture] = append(byPicture[picture], p)
		}
	}
	for i, pieces := range byPicture {
		if len(pieces) == 0 {
			continue
		}
		if err := collect(r, i, pieces); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// piece is a window on its way.
type piece struct {
	at       plane
	window   Window
	scale    float64 // pixels of the piece a millimetre
	x, y     [2]int  // the box of it in the picture, from and to before
	step     int     // every so manyth pixel of it is kept
	channels int
	pixels   []byte // those, row by row
	to       *[]byte
}

// plane takes millimetres along and across to pixels of a picture.
type plane struct{ x, y [3]float64 } // constant, along, across

func (p *plane) pixel(along, across float64) (x, y float64) {
	return p.x[0] + p.x[1]*along + p.x[2]*across, p.y[0] + p.y[1]*along + p.y[2]*across
}

// locate finds where a window lies, by the holes near it.
func locate(r *read.Reading, w Window) (*piece, int) {
	centre := (w.FromMM + w.ToMM) / 2
	i, _ := slices.BinarySearchFunc(r.Slots, centre, func(s read.Slot,
		at float64) int {
		return cmp.Compare(s.LeadMM, at)
	})
	near := slices.Clone(r.Slots[max(i-around, 0):min(i+around, len(r.Slots))])
	if len(near) == 0 {
		return nil, 0
	}
	slices.SortStableFunc(near, func(a, b read.Slot) int {
		return cmp.Compare(math.Abs(a.LeadMM-centre), math.Abs(b.LeadMM-centre))
	})
	picture := near[0].Picture
	near = slices.DeleteFunc(near, func(s read.Slot) bool { return s.Picture != picture || s.CutLow || s.CutHigh })
	at, ok := fit(r, near[:min(len(near), around)])
	if !ok {
		return nil, 0
	}
	p := &piece{at: at, window: w}
	p.box(r.Pictures[picture].Width, r.Pictures[picture].Height)
	if p.x[0] >= p.x[1] || p.y[0] >= p.y[1] {
		return nil, 0
	}
	return p, picture
}

// box is what of the picture a piece needs.
func (p *piece) box(width, height int) {
	low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, along := range []float64{p.window.FromMM, p.window.ToMM} {
		for _, across := range []float64{p.window.AcrossFromMM, p.window.AcrossToMM} {
			x, y := p.at.pixel(along, across)
			low[0], high[0] = min(low[0], x), max(high[0], x)
			low[1], high[1] = min(low[1], y), max(high[1], y)
		}
	}
	p.x = [2]int{max(int(low[0]), 0), min(int(high[0])+1, width)}
	p.y = [2]int{max(int(low[1]), 0), min(int(high[1])+1, height)}
	density := math.Hypot(p.at.x[1], p.at.y[1])
	p.step = max(int(density/perMM), 1)
	p.scale = min(density/float64(p.step), perMM)
}

// fit is the plane of least squares through the middles of some holes.
func fit(r *read.Reading, slots []read.Slot) (plane, bool) {
	ports := r.Instrument.Bar.Ports
	var m [3][3]float64
	var bx, by [3]float64
	for _, s := range slots {
		v := [3]float64{1, (s.LeadMM + s.TrailMM) / 2, ports[s.Port].AcrossMM}
		x, y := (s.Box.X0+s.Box.X1)/2, (s.Box.Y0+s.Box.Y1)/2
		for i := range 3 {
			for k := range 3 {
				m[i][k] += v[i] * v[k]
			}
			bx[i] += v[i] * x
			by[i] += v[i] * y
		}
	}
	x, ok := solve(m, bx)
	y, also := solve(m, by)
	return plane{x, y}, ok && also && len(slots) >= 3
}

// solve solves three equations by elimination with pivots.
func solve(m [3][3]float64, b [3]float64) (out [3]float64, ok bool) {
	for i := range 3 {
		best := i
		for k := i + 1; k < 3; k++ {
			if math.Abs(m[k][i]) > math.Abs(m[best][i]) {
				best = k
			}
		}
		m[i], m[best], b[i], b[best] = m[best], m[i], b[best], b[i]
		if math.Abs(m[i][i]) < 1e-6 {
			return out, false // the holes lie on one line
		}
		for k := i + 1; k < 3; k++ {
			f := m[k][i] / m[i][i]
			for j := i; j < 3; j++ {
				m[k][j] -= f * m[i][j]
			}
			b[k] -= f * b[i]
		}
	}
	for i := 2; i >= 0; i-- {
		out[i] = b[i]
		for j := i + 1; j < 3; j++ {
			out[i] -= m[i][j] * out[j]
		}
		out[i] /= m[i][i]
	}
	return out, true
}

// collect reads a picture from above and gives each piece its pixels.
func collect(r *read.Reading, index int, pieces []*piece) error {
	picture, err := r.Open(index)
	if err != nil {
		return err
	}
	defer picture.Close()
	slices.SortStableFunc(pieces, func(a, b *piece) int { return cmp.Compare(a.y[0], b.y[0]) })
	line := make([]byte, picture.RowBytes())
	var open []*piece
	for y := 0; len(pieces)+len(open) > 0; y++ {
		switch n, err := picture.Read(line); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		case n == 0:
			return nil
		}
		for len(pieces) > 0 && pieces[0].y[0] <= y {
			pieces[0].channels = picture.Channels
			open, pieces = append(open, pieces[0]), pieces[1:]
		}
		for _, p := range open {
			p.take(y, line)
		}
		open = slices.DeleteFunc(open, func(p *piece) bool { return y+1 >= p.y[1] && p.finish() })
	}
	return nil
}

// take keeps what a piece needs of row y.
func (p *piece) take(y int, line []byte) {
	if (y-p.y[0])%p.step != 0 {
		return
	}
	for x := p.x[0]; x < p.x[1]; x += p.step {
		p.pixels = append(p.pixels, line[x*p.channels:(x+1)*p.channels]...)
	}
}

// finish draws the piece upright; it always reports true.
func (p *piece) finish() bool {
	width := int((p.window.ToMM - p.window.FromMM) * p.scale)
	height := int((p.window.AcrossToMM - p.window.AcrossFromMM) * p.scale)
	if width < 1 || height < 1 || width*height > mostPixels {
		return true
	}
	columns := (p.x[1] - p.x[0] + p.step - 1) / p.step
	rows := len(p.pixels) / max(columns*p.channels, 1)
	out := image.NewRGBA(image.Rect(0, 0, width, height))
	for v := range height {
		for u := range width {
			x, y := p.at.pixel(p.window.FromMM+(float64(u)+0.5)/p.scale, p.window.AcrossFromMM+(float64(v)+0.5)/p.scale)
			i, k := int(math.Floor((x-float64(p.x[0]))/float64(p.step))), int(math.Floor((y-float64(p.y[0]))/float64(p.step)))
			if i < 0 || k < 0 || i >= columns || k >= rows {
				out.SetRGBA(u, v, color.RGBA{0x80, 0x80, 0x80, 0xff}) // beyond the picture
				continue
			}
			at := p.pixels[(k*columns+i)*p.channels:]
			if p.channels == 1 {
				out.SetRGBA(u, v, color.RGBA{at[0], at[0], at[0], 0xff})
			} else {
				out.SetRGBA(u, v, color.RGBA{at[0], at[1], at[2], 0xff})
			}
		}
	}
	p.pixels = nil
	var b bytes.Buffer
	if err := png.Encode(&b, out); err == nil { // a buffer takes all
		*p.to = b.Bytes()
	}
	return true
}
