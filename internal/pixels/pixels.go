// Package pixels finds dark shapes in a picture: holes of a roll, as another
// program has drawn them. It is for tests alone.
//
// Places are millimetres from the picture's upper left corner. A shape's centre
// is the mean of its pixels weighted by their darkness, so it is found to a
// small part of a pixel.
package pixels

import (
	"bytes"
	"image"
	"image/draw"
	_ "image/png" // the format that every judge writes
	"testing"
)

// Shape is dark pixels that touch.
type Shape struct {
	X, Y           float64 // centre, in millimetres
	X0, Y0, X1, Y1 float64 // edges, in millimetres, where half a pixel is dark
	Area           float64 // in square millimetres
}

// Dark are the shapes of img, from top to bottom and left to right by their
// first pixels. Pixels with less than a quarter of full darkness are ground.
func Dark(img image.Image, pixelsPerMM float64) []Shape {
	p := newPlane(img)
	var shapes []Shape
	for i := range p.dark {
		if p.dark[i] >= threshold && !p.seen[i] {
			shapes = append(shapes, p.fill(i, pixelsPerMM))
		}
	}
	return shapes
}

const threshold = 0.25

type plane struct {
	w, h int
	dark []float32
	seen []bool
	todo []int
}

func newPlane(img image.Image) *plane {
	b := img.Bounds()
	p := &plane{w: b.Dx(), h: b.Dy(), dark: make([]float32, b.Dx()*b.Dy()), seen: make([]bool, b.Dx()*b.Dy())}
	// Nothing is as good as white.
	flat := image.NewRGBA(image.Rect(0, 0, p.w, p.h))
	draw.Draw(flat, flat.Bounds(), image.White, image.Point{}, draw.Src)
	draw.Draw(flat, flat.Bounds(), img, b.Min, draw.Over)
	for i := range p.dark {
		q := flat.Pix[4*i : 4*i+3]
		p.dark[i] = 1 - float32(int(q[0])+int(q[1])+int(q[2]))/(3*255)
	}
	return p
}

// fill gathers the shape that holds pixel first.
func (p *plane) fill(first int, scale float64) Shape {
	p.todo = append(p.todo[:0], first)
	p.seen[first] = true
	var sum, mx, my, full float64
	x0, y0, x1, y1 := p.w, p.h, 0, 0
	for len(p.todo) > 0 {
		i := p.todo[len(p.todo)-1]
		p.todo = p.todo[:len(p.todo)-1]
		x, y, d := i%p.w, i/p.w, float64(p.dark[i])
		sum, mx, my = sum+d, mx+d*(float64(x)+0.5), my+d*(float64(y)+0.5)
		full = max(full, d)
		x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x+1), max(y1, y+1)
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				nx, ny := x+dx, y+dy
				if nx < 0 || ny < 0 || nx >= p.w || ny >= p.h {
					continue
				}
				if j := ny*p.w + nx; !p.seen[j] && p.dark[j] > 0.02 {
					p.seen[j] = true
					p.todo = append(p.todo, j)
				}
			}
		}
	}
	return Shape{
		X: mx / sum / scale, Y: my / sum / scale,
		X0: float64(x0) / scale, Y0: float64(y0) / scale, X1: float64(x1) / scale, Y1: float64(y1) / scale,
		Area: sum / full / scale / scale,
	}
}

// Decode reads a picture.
func Decode(t testing.TB, data []byte) image.Image {
	t.Helper()
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return img
}
