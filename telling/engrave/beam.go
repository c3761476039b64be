package engrave

import (
	"math"

	"rollwright/draw"
	"rollwright/music/notation"
)

// Beams in spaces: how thick (SMuFL engraving defaults of the font), how far one lies from
// the next, how much one may rise, how long a stem to the nearest one has to be, and how
// long a beam of one note is (common practice, no source).
const (
	beamThick = 0.5
	beamApart = 0.75
	beamRise  = 1.0
	stemLeast = 2.5
	beamHook  = 1.1
)

// run is neighbouring columns under one beam on a staff.
type run struct {
	staff    int
	from, to int // to is not included
}

// runs are the beams among columns.
func (w *lineWriter) runs(cells []cell) []run {
	if w.line.Manner != Music {
		return nil
	}
	var out []run
	for s := range w.staves {
		for i := 0; i < len(cells); {
			k := i + 1
			for k < len(cells) && cells[k-1].beam.After > 0 && cells[k].beam.Before > 0 && cells[k-1].chords[s] != nil &&
				cells[k].chords[s] != nil && cells[k].bar == cells[k-1].bar {
				k++
			}
			if k > i+1 {
				out = append(out, run{s, i, k})
			}
			i = k
		}
	}
	return out
}

// oneWay lets the stems under each beam point the same way: to the middle line from the
// note that is farthest from it.
func (w *lineWriter) oneWay(cells []cell) {
	for _, r := range w.runs(cells) {
		low, high := math.MaxInt, math.MinInt
		for _, c := range cells[r.from:r.to] {
			notes := c.chords[r.staff].notes
			low, high = min(low, notes[0].place), max(high, notes[len(notes)-1].place)
		}
		for i := r.from; i < r.to; i++ {
			cells[i].chords[r.staff].point(4-low > high-4)
		}
	}
}

// beamed is a beam of a system: where each stem meets it.
type beamed struct {
	run
	x, y []float64
	up   bool
}

// under finds where the stems of a run end; heads are the x of the columns' heads, y the
// lowest line of the staff.
func (w *lineWriter) under(cells []cell, r run, heads []float64, y float64) *beamed {
	b := &beamed{run: r, up: cells[r.from].chords[r.staff].up}
	sign := 1.0 // stems grow that way
	if b.up {
		sign = -1
	}
	var nearest []float64 // heads at the stem's end
	n, most := r.to-r.from, 0
	for i := r.from; i < r.to; i++ {
		c := cells[i].chords[r.staff]
		notes, x := c.notes, heads[i]+stemLine*w.sp/2
		at := notes[0].place
		if b.up {
			at, x = notes[len(notes)-1].place, heads[i]+w.width(head(cells[i].value))-stemLine*w.sp/2
		}
		nearest = append(nearest, w.at(y, at))
		b.x = append(b.x, x)
		most = max(most, cells[i].beam.Own)
	}
	// The beam goes with the outer notes, unless one between them reaches beyond both.
	rise := nearest[n-1] - nearest[0]
	for _, h := range nearest[1 : n-1] {
		if sign*(h-nearest[0]) > 0 && sign*(h-nearest[n-1]) > 0 {
			rise = 0
		}
	}
	rise = min(max(rise*0.5, -beamRise*w.sp), beamRise*w.sp)
	slope := rise / (b.x[n-1] - b.x[0])
	// As near the heads as the shortest stem allows, and at the middle line at least.
	least := (stemLeast + beamApart*float64(most-1) + beamThick) * w.sp
	base := math.Inf(-1)
	for i, h := range nearest {
		base = max(base, sign*(h-slope*(b.x[i]-b.x[0]))+least, sign*(w.at(y, 4)-slope*(b.x[i]-b.x[0])))
	}
	for i := range n {
		end := sign*base + slope*(b.x[i]-b.x[0])
		b.y = append(b.y, end)
		c := cells[r.from+i].chords[r.staff]
		c.beamed, c.end = true, end
	}
	return b
}

// beams draws the beams of a run.
func (w *lineWriter) beams(cells []cell, b *beamed) {
	path := &draw.Path{Fill: w.look.Ink}
	inward := 1.0 // towards the heads
	if !b.up {
		inward = -1
	}
	slope := (b.y[len(b.y)-1] - b.y[0]) / (b.x[len(b.x)-1] - b.x[0])
	half := stemLine * w.sp / 2
	bar := func(level int, from, to float64) {
		y := func(x float64) float64 {
			return b.y[0] + slope*(x-b.x[0]) + inward*beamApart*float64(level-1)*w.sp
		}
		thick := inward * beamThick * w.sp
		path.Polygon(draw.Point{X: from, Y: y(from)}, draw.Point{X: to, Y: y(to)}, draw.Point{X: to, Y: y(to) + thick},
			draw.Point{X: from, Y: y(from) + thick})
	}
	for i := range b.x {
		beam := cells[b.from+i].beam
		before, after := beam.Before, beam.After
		if i == 0 {
			before = 0
		}
		if i+1 == len(b.x) {
			after = 0
		}
		for level := 1; level <= beam.Own; level++ {
			switch {
			case after >= level:
				bar(level, b.x[i]-half, b.x[i+1]+half)
			case before >= level: // drawn from the note before
			case before > 0:
				bar(level, b.x[i]-beamHook*w.sp, b.x[i]+half)
			default:
				bar(level, b.x[i]-half, b.x[i]+beamHook*w.sp)
			}
		}
	}
	w.l.Add(path)
}

// metreWidth is the room that a time signature takes, in millimetres.
func (w *lineWriter) metreWidth(m notation.Metre) float64 {
	if m.Value == 0 {
		return 0
	}
	return max(w.numberWidth(m.Count), w.numberWidth(m.Value)) + 0.9*w.sp
}

func (w *lineWriter) numberWidth(n int64) float64 {
	width := 0.0
	for _, r := range metreDigits(n) {
		width += w.width(r)
	}
	return width
}

// metreDigits are the signs of a number in a time signature.
func metreDigits(n int64) []rune {
	if n < 10 {
		return []rune{timeDigit + rune(n)}
	}
	return append(metreDigits(n/10), timeDigit+rune(n%10))
}

// metre draws a time signature from x on the staff whose lowest line is at y.
func (w *lineWriter) metre(x, y float64, m notation.Metre) {
	width := w.metreWidth(m) - 0.9*w.sp
	for i, n := range []int64{m.Count, m.Value} {
		at := x + (width-w.numberWidth(n))/2
		for _, r := range metreDigits(n) {
			w.sign(at, y-(3-2*float64(i))*w.sp, r, w.look.Ink, 1)
			at += w.width(r)
		}
	}
}
