package calibrate

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"rollwright/paper/instrument"
)

// kind is what was read.
type kind int8

const (
	heard     kind = iota // s, when a mark sounded
	seen                  // s, when a mark's leading edge lay on the middle of the ports
	turned                // turns of the spool at a mark, since time 0
	girthMark             // mm around the spool at a mark
	girthTurn             // mm around the spool after so many turns
)

// reading is one number that a person wrote down.
type reading struct {
	kind  kind
	along float64 // mm; of girthTurn the turns
	run   int     // whose stopwatch; heard and seen
	value float64
	sigma float64 // its precision
	name  string
}

// state is everything that may be fitted.
type state struct {
	speed, radius, thickness, delay float64
	begin                           []float64 // what the stopwatch of each run said at time 0
}

// core is the i-th of speed, radius, thickness, delay.
func (s *state) core(i int) *float64 {
	return [...]*float64{&s.speed, &s.radius, &s.thickness, &s.delay}[i]
}

// The indices of core; those after them are runs.
const (
	iSpeed = iota
	iRadius
	iThickness
	iDelay
	cores
)

// at is parameter i.
func (s *state) at(i int) *float64 {
	if i < cores {
		return s.core(i)
	}
	return &s.begin[i-cores]
}

func (s state) clone() state {
	s.begin = append([]float64(nil), s.begin...)
	return s
}

// sec is when a row lies on the bar. The spool's radius grows by the thickness
// each turn; see instrument.Transport, whose arithmetic this is, but for a
// thickness that may be negative on the way to the fit.
func (s *state) sec(along float64) float64 {
	w := s.speed / s.radius
	bend := s.thickness * w * w / (4 * math.Pi)
	return 2 * along / (s.speed + math.Sqrt(max(s.speed*s.speed+4*bend*along, 0)))
}

func (s *state) turnsAt(along float64) float64 {
	return s.speed / s.radius * s.sec(along) / (2 * math.Pi)
}

// predict is what a reading should be. A port opens when the row edge behind a
// mark's leading edge lies on its middle.
func (s *state) predict(r *reading, edge float64) float64 {
	switch r.kind {
	case heard:
		return s.begin[r.run] + s.sec(r.along+edge) + s.delay
	case seen:
		return s.begin[r.run] + s.sec(r.along)
	case turned:
		return s.turnsAt(r.along)
	case girthMark:
		return 2 * math.Pi * (s.radius + s.thickness*s.turnsAt(r.along))
	}
	return 2 * math.Pi * (s.radius + s.thickness*r.along)
}

// problem is readings to be fitted.
type problem struct {
	readings []reading
	runs     int
	edge     float64
	start    state
}

// candidates are what may be fitted at once, most first. Which of them the
// readings can tell apart is tried out: two columns of the matrix that say the
// same thing mean that they cannot.
var candidates = [][]int{
	{iSpeed, iRadius, iThickness, iDelay},
	{iSpeed, iRadius, iThickness},
	{iSpeed, iThickness, iDelay},
	{iSpeed, iThickness},
	{iSpeed, iRadius, iDelay},
	{iSpeed, iRadius},
	{iSpeed, iDelay},
	{iSpeed},
	{iRadius, iThickness},
	{iThickness},
	{iRadius},
}

var errReadings = errors.New("calibrate: the readings do not tell anything about the paper: at least two marks of one run, or the spool's girth, are wanted")

// solve fits the most that the readings tell. Where they cannot tell the
// build-up from none, it is none, unless they cannot tell it from the
// instrument's own either: then that stays.
func (p *problem) solve() (*Fit, error) {
	for _, set := range candidates {
		f, ok := p.fit(p.start, set)
		if !ok {
			continue
		}
		if f.Thickness.Fitted && f.Thickness.Value-f.Thickness.Half <= 0 {
			return p.withoutBuildUp(f, set)
		}
		return f, nil
	}
	return nil, errReadings
}

func (p *problem) withoutBuildUp(full *Fit, set []int) (*Fit, error) {
	start := p.start.clone()
	if full.Thickness.Half < math.Abs(start.thickness) || start.thickness == 0 {
		start.thickness = 0
	}
	rest := without(set, iThickness)
	if f, ok := p.fit(start, rest); ok {
		return f, nil
	}
	if f, ok := p.fit(start, without(rest, iRadius)); ok { // nothing but the build-up told the radius
		return f, nil
	}
	return full, nil
}

func without(set []int, drop int) []int {
	return slices.DeleteFunc(slices.Clone(set), func(i int) bool { return i == drop })
}

// active adds the runs that have readings to a set of core parameters.
func (p *problem) active(set []int) []int {
	used := make([]bool, p.runs)
	for i := range p.readings {
		if r := &p.readings[i]; r.kind == heard || r.kind == seen {
			used[r.run] = true
		}
	}
	out := append([]int(nil), set...)
	for run, is := range used {
		if is {
			out = append(out, cores+run)
		}
	}
	return out
}

// worstCondition is how alike the columns of the matrix may be: beyond it two
// parameters have the same effect on all readings.
const worstCondition = 1e6

// mostRounds is far more than a fit of this kind needs: it takes four or five.
const mostRounds = 60

// fit is the method of Gauss and Newton, each step halved until it does not
// make things worse. It reports false when the readings cannot tell the set.
func (p *problem) fit(start state, set []int) (*Fit, bool) {
	set = p.active(set)
	n, m := len(p.readings), len(set)
	if n < m || m == 0 {
		return nil, false
	}
	s := start.clone()
	p.setClocks(&s)
	var jacobian, inverse *mat.Dense
	for range mostRounds {
		var off *mat.VecDense
		jacobian, off = p.linear(&s, set)
		step, inv, ok := leastSquares(jacobian, off)
		if !ok {
			return nil, false
		}
		inverse = inv
		moved, ok := p.advance(&s, set, step)
		if !ok {
			return nil, false
		}
		if moved < 1e-12 {
			break
		}
	}
	return p.result(&s, set, inverse, n-m), true
}

// setClocks begins each run's stopwatch where its first reading says.
func (p *problem) setClocks(s *state) {
	done := make([]bool, p.runs)
	for i := range p.readings {
		r := &p.readings[i]
		if (r.kind == heard || r.kind == seen) && !done[r.run] {
			s.begin[r.run] = 0
			s.begin[r.run] = r.value - s.predict(r, p.edge)
			done[r.run] = true
		}
	}
}

// linear is the matrix of slopes and the vector of distances of all readings,
// each by its precision.
func (p *problem) linear(s *state, set []int) (*mat.Dense, *mat.VecDense) {
	j := mat.NewDense(len(p.readings), len(set), nil)
	off := mat.NewVecDense(len(p.readings), nil)
	for i := range p.readings {
		r := &p.readings[i]
		off.SetVec(i, (r.value-s.predict(r, p.edge))/r.sigma)
	}
	for k, which := range set {
		up, down := s.clone(), s.clone()
		step := 1e-5 * max(math.Abs(*s.at(which)), 1e-2)
		*up.at(which) += step
		*down.at(which) -= step
		for i := range p.readings {
			r := &p.readings[i]
			j.Set(i, k, (up.predict(r, p.edge)-down.predict(r, p.edge))/(2*step*r.sigma))
		}
	}
	return j, off
}

// leastSquares solves j*x = off in the least-squares sense by QR, columns
// scaled to length 1, and returns the inverse of j'j as well.
func leastSquares(j *mat.Dense, off *mat.VecDense) (x *mat.VecDense, inverse *mat.Dense, ok bool) {
	n, m := j.Dims()
	scaled, scale := mat.NewDense(n, m, nil), make([]float64, m)
	for k := range m {
		scale[k] = mat.Norm(j.ColView(k), 2)
		if scale[k] == 0 {
			return nil, nil, false
		}
		for i := range n {
			scaled.Set(i, k, j.At(i, k)/scale[k])
		}
	}
	var qr mat.QR
	qr.Factorize(scaled)
	if !(qr.Cond() < worstCondition) {
		return nil, nil, false
	}
	x = mat.NewVecDense(m, nil)
	if err := qr.SolveVecTo(x, false, off); err != nil {
		return nil, nil, false
	}
	var normal mat.Dense
	normal.Mul(scaled.T(), scaled)
	inverse = mat.NewDense(m, m, nil)
	if err := inverse.Inverse(&normal); err != nil {
		return nil, nil, false
	}
	for k := range m {
		x.SetVec(k, x.AtVec(k)/scale[k])
		for l := range m {
			inverse.Set(k, l, inverse.At(k, l)/(scale[k]*scale[l]))
		}
	}
	return x, inverse, true
}

// advance takes the step, or half of it, or a quarter, ..., whichever first
// does not make the sum of squares larger, and returns by how large a share it
// moved.
func (p *problem) advance(s *state, set []int, step *mat.VecDense) (moved float64, ok bool) {
	before := p.squares(s)
	for share := 1.0; share > 1e-9; share /= 2 {
		next := s.clone()
		moved = 0
		for k, which := range set {
			*next.at(which) += share * step.AtVec(k)
			moved = max(moved, math.Abs(share*step.AtVec(k))/max(math.Abs(*s.at(which)), 1e-3))
		}
		if after := p.squares(&next); after <= before && next.speed > 0 && next.radius > 0 {
			*s = next
			return moved, true
		}
	}
	return 0, !math.IsNaN(before) // it cannot get better: rounding alone is left
}

func (p *problem) squares(s *state) float64 {
	sum := 0.0
	for i := range p.readings {
		r := &p.readings[i]
		off := (r.value - s.predict(r, p.edge)) / r.sigma
		sum += off * off
	}
	return sum
}

// result states the fit with its ranges. With freedom left the scatter of the
// readings themselves says how precise they are; without, what they are
// assumed to be.
func (p *problem) result(s *state, set []int, inverse *mat.Dense, freedom int) *Fit {
	f := &Fit{Readings: len(p.readings), Freedom: freedom, Scatter: 1, factor: 1.959964} // normal distribution, 97.5 %
	if freedom > 0 {
		f.Scatter = math.Sqrt(p.squares(s) / float64(freedom))
		f.factor = f.Scatter * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(freedom)}.Quantile(0.975)
	}
	values := [cores]*Value{&f.Speed, &f.Radius, &f.Thickness, &f.Delay}
	for i, v := range values {
		v.Value = *s.core(i)
	}
	for k, which := range set {
		if which >= cores {
			continue
		}
		values[which].Fitted = true
		values[which].Half = f.factor * math.Sqrt(max(inverse.At(k, k), 0))
		for l, other := range set {
			if other < cores {
				f.covariance[which][other] = inverse.At(k, l)
			}
		}
	}
	p.findWorst(s, f)
	return f
}

// findWorst is the reading that lies farthest off.
func (p *problem) findWorst(s *state, f *Fit) {
	most := -1.0
	for i := range p.readings {
		r := &p.readings[i]
		off := r.value - s.predict(r, p.edge)
		if by := math.Abs(off) / r.sigma; by > most {
			most = by
			f.Worst = &Residual{r.name, off, [...]string{"s", "s", "turns", "mm", "mm"}[r.kind]}
		}
	}
}

// assumedRadiusMM is the radius of a spool of which nothing is known: a
// circumference of 5.25 inches (B. Jelen, Mechanical Music Digest
// 1995.06.13.02). The layout needs thickness over radius squared alone, which
// times at marks do tell.
const assumedRadiusMM = 5.25 * 25.4 / (2 * math.Pi)

// newProblem is readings of an instrument.
func newProblem(in *instrument.Instrument, lever float64, readings []reading, runs int) *problem {
	t := in.Transport.AtLever(lever)
	p := &problem{readings: readings, runs: runs, edge: in.EdgeShiftMM()}
	p.start = state{speed: t.SpeedMMPerSec(), radius: t.RadiusMM, thickness: t.ThicknessMM, delay: in.Action.DelaySec, begin: make([]float64, runs)}
	if !t.Spool {
		p.start.thickness = 0
	}
	if p.start.radius == 0 {
		p.start.radius = assumedRadiusMM
	}
	return p
}
