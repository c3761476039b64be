package read

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rollwright/paper/instrument"
	"rollwright/text/choice"
)

// Rows is the step of the perforator that cut the roll: leading edges lie on one
// lattice, trailing edges on another of the same step.
type Rows struct {
	StepMM   float64 // as seen; 0: no step was found
	MasterMM float64 // as it was meant: a whole number of rows an inch where it is near to one
	AnInch   int     // that number; 0 where there is none
	Share    float64 // of the edges that lie within WithinMM of their row
	WithinMM float64
	Edges    int

	lead, trail curve // where the rows lie: fractions of a step, along the roll
	dieMM       float64
}

// What counts as rows: from 18 to 100 an inch; coarser and finer ones were not
// built (20 to 45: R. Rhodes, Mechanical Music Digest 1997.09.13.05; steppers to 200
// are continuous to a scanner).
const (
	leastStep  = 0.254
	mostStep   = 1.42
	rowsWindow = 300.0 // mm over which the paper's stretch may be left out
	rowsNear   = 0.08
)

// findRows looks for the step. Where paper stretches, rows are only followed, so
// windows are looked at each by itself. Steps of
// less than about two pixels are the picture's own.
func findRows(slots []Slot, in *instrument.Instrument, pixelMM float64) Rows {
	leads, trails := edgesOf(slots)
	if len(leads) < 24 {
		return Rows{}
	}
	windows := fullest(leads, trails)
	best, step := strongest(windows, max(leastStep, 2.2*pixelMM))
	if best < 0.5 {
		return Rows{}
	}
	r := Rows{StepMM: step, WithinMM: rowsNear, dieMM: in.Die.DiameterMM}
	r.follow(leads, trails)
	r.measure(leads, trails)
	if r.Share < 0.75 || r.Share < 3*2*rowsNear/r.StepMM*0.75 && r.Share < 0.9 {
		return Rows{}
	}
	r.MasterMM = r.StepMM
	if n := math.Round(25.4 / r.StepMM); abs(25.4/r.StepMM-n) < 0.012*n {
		r.AnInch, r.MasterMM = int(n), 25.4/n
	}
	return r
}

// edgesOf are the edges of all openings that are whole, in order.
func edgesOf(slots []Slot) (leads, trails []float64) {
	for _, s := range slots {
		if s.Certainty < 0.6 {
			continue
		}
		for i := 0; i < len(s.OpenMM); i += 2 {
			if i > 0 || !s.CutLow {
				leads = append(leads, s.OpenMM[i])
			}
			if i+2 < len(s.OpenMM) || !s.CutHigh {
				trails = append(trails, s.OpenMM[i+1])
			}
		}
	}
	slices.Sort(leads)
	slices.Sort(trails)
	return leads, trails
}

// fullest are up to 16 lists of edges: leading and trailing ones of stretches of
// rowsWindow all along the roll, bounded in number.
func fullest(leads, trails []float64) [][]float64 {
	from, to := leads[0], leads[len(leads)-1]
	count := max(int((to-from)/rowsWindow), 1)
	var out [][]float64
	for k := range min(count, 8) {
		at := from + float64(k*count/min(count, 8))*rowsWindow
		for _, list := range [][]float64{leads, trails} {
			i, _ := slices.BinarySearch(list, at)
			j, _ := slices.BinarySearch(list, at+rowsWindow)
			if j-i >= 8 {
				out = append(out, list[i:min(j, i+200)])
			}
		}
	}
	return out
}

// strongest is the step at which the edges lie best on lattices, a lattice a list,
// and how well: 1 is exactly. Frequencies are taken in parts of a size, on all cores.
func strongest(lists [][]float64, least float64) (best, step float64) {
	const delta = 0.15 / rowsWindow
	const part = 1024
	total := 0
	for _, list := range lists {
		total += len(list)
	}
	steps := int((1/least-1/mostStep)/delta) + 1
	if total == 0 || steps < 1 {
		return 0, 0
	}
	type found struct{ best, step float64 }
	parts := make([]found, (steps+part-1)/part)
	inParallel(len(parts), func(i int) {
		p := &parts[i]
		p.best, p.step = strongestOf(lists, total, 1/mostStep+float64(i*part)*delta, delta, min(part, steps-i*part))
	})
	for _, p := range parts {
		if p.best > best {
			best, step = p.best, p.step
		}
	}
	return best, step
}

// strongestOf is strongest at n frequencies. From one to the next each edge turns by
// an angle of its own, which is reckoned once.
func strongestOf(lists [][]float64, total int, from, delta float64, n int) (best, step float64) {
	var now, turn [][]complex128
	for _, list := range lists {
		a, b := make([]complex128, len(list)), make([]complex128, len(list))
		for i, s := range list {
			a[i], b[i] = direction(s*from), direction(s*delta)
		}
		now, turn = append(now, a), append(turn, b)
	}
	for i := range n {
		r := 0.0
		for k := range lists {
			var sum complex128
			for i := range now[k] {
				sum += now[k][i]
				now[k][i] *= turn[k][i]
			}
			n := float64(len(now[k]))
			r += n * math.Sqrt(max((real(sum)*real(sum)+imag(sum)*imag(sum))/(n*n)-1/n, 0))
		}
		if r /= float64(total); r > best {
			best, step = r, 1/(from+float64(i)*delta)
		}
	}
	return best, step
}

// direction is a number of turns as a point of the unit circle.
func direction(turns float64) complex128 {
	_, t := math.Modf(turns)
	sin, cos := math.Sincos(2 * math.Pi * t)
	return complex(cos, sin)
}

// resultant is the mean of the edges as directions on a circle of circumference
// 1/f: its length, less what chance gives, and its direction as a share of a turn.
func resultant(list []float64, f float64) (length, turn float64) {
	var x, y float64
	for _, s := range list {
		_, t := math.Modf(s * f)
		sin, cos := math.Sincos(2 * math.Pi * t)
		x, y = x+cos, y+sin
	}
	n := float64(len(list))
	square := (x*x+y*y)/(n*n) - 1/n
	return math.Sqrt(max(square, 0)), math.Atan2(y, x) / (2 * math.Pi)
}

// follow sharpens the step and follows the rows along the roll.
func (r *Rows) follow(leads, trails []float64) {
	f := 1 / r.StepMM
	from, to := leads[0], max(leads[len(leads)-1], trails[len(trails)-1])
	var slope float64
	for range 3 {
		r.lead, slope = phases(leads, f, from, to)
		f += slope
	}
	r.lead, _ = phases(leads, f, from, to)
	r.trail, _ = phases(trails, f, from, to)
	r.StepMM = 1 / f
}

// phases are the directions of edges along the roll, unrolled, and their mean slope
// in turns a millimetre.
func phases(list []float64, f, from, to float64) (curve, float64) {
	const step = rowsWindow / 3
	c := curve{from: from, step: step}
	last := math.NaN()
	for at := from; at <= to+step; at += step {
		i, _ := slices.BinarySearch(list, at-rowsWindow/2)
		j, _ := slices.BinarySearch(list, at+rowsWindow/2)
		turn := math.NaN()
		if j-i >= 6 {
			if length, t := resultant(list[i:j], f); length > 0.3 {
				turn = t
				if !math.IsNaN(last) {
					turn += math.Round(last - t)
				}
				last = turn
			}
		}
		c.at = append(c.at, turn)
	}
	var p []point
	for i, v := range c.at {
		if !math.IsNaN(v) {
			p = append(p, point{from + float64(i)*step, v})
		}
	}
	bridge(c.at)
	if len(p) < 3 {
		return c, 0
	}
	return c, fitLine(p).b
}

// row is the row nearest to an edge, and how far off the edge is in millimetres.
func (r *Rows) row(at float64, phase curve) (row, off float64) {
	t := at/r.StepMM - phase.value(at)
	row = math.Round(t)
	return row, (t - row) * r.StepMM
}

func (r *Rows) measure(leads, trails []float64) {
	near := 0
	for _, s := range leads {
		if _, off := r.row(s, r.lead); abs(off) <= rowsNear {
			near++
		}
	}
	for _, s := range trails {
		if _, off := r.row(s, r.trail); abs(off) <= rowsNear {
			near++
		}
	}
	r.Edges = len(leads) + len(trails)
	r.Share = float64(near) / float64(r.Edges)
}

// shift is how many rows lie between a leading edge and a trailing edge of the same
// number: the die, in steps, made whole by what both lattices say.
func (r *Rows) shift(at float64) float64 {
	die := r.dieMM / r.StepMM
	part := r.trail.value(at) - r.lead.value(at)
	return math.Round(die-part) + part
}

// Snap puts all edges on the perforator's rows: the master, not the tired paper. The
// first slot of a note stays at 0.
func (r *Reading) Snap() error {
	if r.Rows.StepMM == 0 {
		return choice.Errorf("no rows of a perforator are found in its edges, so there is nothing to put them on; read it without {snap}")
	}
	zero, _ := r.Rows.row(0, r.Rows.lead)
	die := r.Instrument.Die.DiameterMM
	for i := range r.Slots {
		s := &r.Slots[i]
		lead, _ := r.Rows.row(s.LeadMM, r.Rows.lead)
		// On the leading edges' lattice, a trailing edge lies a die after its row.
		trail := math.Round(s.TrailMM/r.Rows.StepMM - r.Rows.lead.value(s.TrailMM) - r.Rows.shift(s.TrailMM))
		s.LeadMM = (lead - zero) * r.Rows.MasterMM
		s.TrailMM = max((trail-zero)*r.Rows.MasterMM, s.LeadMM) + die
	}
	slices.SortStableFunc(r.Slots, func(a, b Slot) int { return cmp.Or(cmp.Compare(a.LeadMM, b.LeadMM), a.Port-b.Port) })
	return nil
}

// String says what was found.
func (r Rows) String() string {
	if r.StepMM == 0 {
		return "no rows of a perforator are found"
	}
	inch := ""
	if r.AnInch > 0 {
		inch = fmt.Sprintf(" (%d an inch)", r.AnInch)
	}
	return fmt.Sprintf("cut in rows of %.4f mm%s, %.0f %% within %.2f mm", r.MasterMM, inch, 100*r.Share, r.WithinMM)
}
