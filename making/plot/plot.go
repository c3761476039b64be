// Package plot writes the beds of a cutting plan as files for plotters that drag a
// knife.
//
// The words are those of HP-GL, the language of pen plotters (Hewlett-Packard, The
// HP-GL/2 and HP RTL Reference Guide, 1997, chapters 3 to 5): IN, PA, VS, SP, PU, PD,
// with places in plotter units of 1/40 mm, each rounded once. A dragged blade trails
// the middle of its holder by its offset, so the holder goes ahead of the path by it,
// and swings about the blade where the path turns; a closed path is cut beyond its
// beginning by the overcut. There is no word for comments: what a person must know is
// said beside the file.
package plot

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"rollwright/making/bed"
	"rollwright/making/machine"
)

// UnitsPerMM is how many plotter units a millimetre has.
const UnitsPerMM = 40

// Encode writes the file of one bed of p for a knife. It returns the first error of w,
// or that the profile is no knife's.
func Encode(w io.Writer, p *bed.Plan, b *bed.Bed) error {
	if p.Profile.Tool != machine.Knife {
		return fmt.Errorf("plot: %s is no knife", p.Profile.Name)
	}
	e := &encoder{w: bufio.NewWriterSize(w, 64<<10), plan: p}
	fmt.Fprintf(e.w, "IN;PA;SP1;VS%d;PU;\n", speed(p.Profile.Head.FeedMMPerSec))
	p.Run(b, e)
	x, y := e.at(point{p.Profile.Park.AlongMM, p.Profile.Park.AcrossMM})
	fmt.Fprintf(e.w, "PU%d,%d;SP0;\n", x, y)
	if err := e.w.Flush(); err != nil {
		return fmt.Errorf("plot: %w", err)
	}
	return nil
}

// speed is in whole centimetres a second, rounded down, as VS wants it; at least 1.
func speed(mmPerSec float64) int { return max(int(mmPerSec/10+1e-9), 1) }

type point struct{ x, y float64 }

// encoder gathers a path while the knife is down, and writes it when it is lifted.
type encoder struct {
	w    *bufio.Writer
	plan *bed.Plan
	path []point
	here point
	down bool
}

// Travel goes to a place with the knife up.
func (e *encoder) Travel(x, y float64) { e.here = point{x, y} }

// On lowers the knife.
func (e *encoder) On() { e.path, e.down = append(e.path[:0], e.here), true }

// Mark is never asked of a knife.
func (e *encoder) Mark() {}

// Line cuts straight to a place.
func (e *encoder) Line(x, y float64) {
	e.here = point{x, y}
	e.path = append(e.path, e.here)
}

// chordMM is how far a chord may lie beside its arc: half a plotter unit.
const chordMM = 0.5 / UnitsPerMM

// Arc cuts round cx, cy, counter-clockwise, in chords.
func (e *encoder) Arc(x, y, cx, cy float64) {
	r := math.Hypot(e.here.x-cx, e.here.y-cy)
	from, to := math.Atan2(e.here.y-cy, e.here.x-cx), math.Atan2(y-cy, x-cx)
	if to <= from+1e-12 {
		to += 2 * math.Pi
	}
	step := 2 * math.Acos(1-min(chordMM/max(r, chordMM), 1))
	n := max(int(math.Ceil((to-from)/step)), 1)
	for i := 1; i < n; i++ {
		a := from + (to-from)*float64(i)/float64(n)
		e.path = append(e.path, point{cx + r*math.Cos(a), cy + r*math.Sin(a)})
	}
	e.Line(x, y)
}

// Off lifts the knife: the path is complete.
func (e *encoder) Off() {
	if !e.down {
		return
	}
	e.down = false
	path := e.overcut(distinct(e.path))
	if len(path) < 2 {
		return // a knife that stands still cuts nothing
	}
	ahead := e.plan.Profile.Head.OffsetMM
	d := direction(path[0], path[1])
	x, y := e.at(moved(path[0], d, ahead))
	fmt.Fprintf(e.w, "PU%d,%d;PD", x, y)
	last, first := [2]int64{x, y}, true
	put := func(p point) {
		x, y := e.at(p)
		if last == [2]int64{x, y} {
			return
		}
		if !first {
			e.w.WriteByte(',')
		}
		fmt.Fprintf(e.w, "%d,%d", x, y)
		last, first = [2]int64{x, y}, false
	}
	for i := 1; i < len(path); i++ {
		put(moved(path[i], d, ahead))
		if i+1 < len(path) {
			next := direction(path[i], path[i+1])
			for _, a := range swing(d, next) {
				put(moved(path[i], a, ahead))
			}
			d = next
		}
	}
	e.w.WriteString(";PU;\n")
}

// distinct leaves out points that are where the one before is.
func distinct(path []point) []point {
	var out []point
	for _, p := range path {
		if n := len(out); n == 0 || math.Hypot(p.x-out[n-1].x, p.y-out[n-1].y) > 1e-9 {
			out = append(out, p)
		}
	}
	return out
}

// overcut goes on along the beginning of a path that is closed.
func (e *encoder) overcut(path []point) []point {
	left := e.plan.Profile.Head.OvercutMM
	n := len(path)
	if n < 3 || left <= 0 || math.Hypot(path[0].x-path[n-1].x, path[0].y-path[n-1].y) > 1e-6 {
		return path
	}
	for i := 1; i < n && left > 0; i++ {
		a, b := path[i-1], path[i]
		long := math.Hypot(b.x-a.x, b.y-a.y)
		if long > left {
			path = append(path, moved(a, direction(a, b), left))
			break
		}
		path, left = append(path, b), left-long
	}
	return path
}

// direction is the angle from one place to another.
func direction(a, b point) float64 { return math.Atan2(b.y-a.y, b.x-a.x) }

func moved(p point, angle, by float64) point {
	return point{p.x + by*math.Cos(angle), p.y + by*math.Sin(angle)}
}

// swingStep is how far the blade turns from one place of the holder to the next.
const swingStep = 15 * math.Pi / 180

// swing are the directions between two, the shorter way round, both left out but the
// last in.
func swing(from, to float64) []float64 {
	turn := math.Remainder(to-from, 2*math.Pi)
	n := int(math.Ceil(math.Abs(turn)/swingStep - 1e-9))
	var out []float64
	for i := 1; i <= n; i++ {
		out = append(out, from+turn*float64(i)/float64(n))
	}
	return out
}

// at is a place of the bed in plotter units on the plotter's axes.
func (e *encoder) at(p point) (x, y int64) {
	xMM, yMM := e.plan.Axes(p.x, p.y)
	return int64(math.Floor(xMM*UnitsPerMM + 0.5)), int64(math.Floor(yMM*UnitsPerMM + 0.5))
}
