package sheet

import (
	"math"

	"rollwright/draw"
)

// board remembers what lies where on a sheet, so that marks keep clear of
// holes and of each other. Things are kept by the rows of rowMM that they
// touch.
type board struct {
	rows map[int][]draw.Rect
}

const rowMM = 10

func (b *board) eachRow(r draw.Rect, f func(row int) bool) bool {
	for row := int(math.Floor(r.Min.Y / rowMM)); row <= int(math.Floor(r.Max.Y/rowMM)); row++ {
		if !f(row) {
			return false
		}
	}
	return true
}

// take marks r as covered.
func (b *board) take(r draw.Rect) {
	if b.rows == nil {
		b.rows = map[int][]draw.Rect{}
	}
	b.eachRow(r, func(row int) bool { b.rows[row] = append(b.rows[row], r); return true })
}

// free reports whether nothing covers any of r.
func (b *board) free(r draw.Rect) bool {
	return b.eachRow(r, func(row int) bool {
		for _, s := range b.rows[row] {
			if s.Overlaps(r) {
				return false
			}
		}
		return true
	})
}

// find is the first place among xs where a rectangle of the given size around
// (x, y) is free; found, it is taken.
func (b *board) find(xs []float64, y, w, h float64) (x float64, ok bool) {
	for _, x := range xs {
		r := draw.Box(x-w/2, y-h/2, x+w/2, y+h/2)
		if b.free(r) {
			b.take(r)
			return x, true
		}
	}
	return 0, false
}

// steps are the places from a towards b, step apart.
func steps(a, b, step float64) []float64 {
	n := int(math.Abs(b-a) / step)
	out := make([]float64, n+1)
	for i := range out {
		out[i] = a + math.Copysign(step, b-a)*float64(i)
	}
	return out
}
