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
	least float64 // the last place in which it is written
	name  string
}

// state is everything that may be fitted.
type state struct {
	speed, radius, thickness, delay, slowing float64
	// the row up to which the motor slows by as much as it would along the paper, but with the radius; 0: along the paper
	byRadius float64
	begin    []float64 // what the stopwatch of each run said at time 0
}

// core is the i-th of speed, radius, thickness, delay, slowing.
func (s *state) core(i int) *float64 {
	return [...]*float64{&s.speed, &s.radius, &s.thickness, &s.delay, &s.slowing}[i]
}

// The indices of core; those after them are runs.
const (
	iSpeed = iota
	iRadius
	iThickness
	iDelay
	iSlowing
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

// widening is the radius at a row as a multiple of that at 0. The spool's radius
// grows by the thickness each turn; see instrument.Transport, whose arithmetic
// this is, but for a thickness and a slowing that may be negative on the way to
// the fit.
func (s *state) widening(along float64) float64 {
	return math.Sqrt(max(1+s.thickness/(math.Pi*s.radius*s.radius)*along, 0))
}

// sec is when a row lies on the bar.
func (s *state) sec(along float64) float64 {
	if s.byRadius > 0 && s.thickness > 0 {
		return s.secByRadius(along)
	}
	growth := s.thickness / (math.Pi * s.radius * s.radius)
	q := along / (1 + s.widening(along) - s.slowing*along)
	return 2 / s.speed * q * atanhShare(q*q*s.slowing*(s.slowing+growth))
}

// secByRadius is when a row lies on the bar of a motor that slows in proportion
// to the growth of the radius, by as much up to byRadius as it would along the
// paper: by Simpson's rule, which is right to a microsecond here.
func (s *state) secByRadius(along float64) float64 {
	const steps = 32
	full := s.widening(s.byRadius) - 1
	slow := func(at float64) float64 {
		u := s.widening(at)
		return 1 / (s.speed * u * (1 - s.slowing*s.byRadius*(u-1)/full))
	}
	w, sum := along/steps, 0.0
	for i := range steps {
		at := float64(i) * w
		sum += slow(at) + 4*slow(at+w/2) + slow(at+w)
	}
	return sum * w / 6
}

// atanhShare is atanh(x)/x where square is x squared, and atan(x)/x where it is
// that, negative.
func atanhShare(square float64) float64 {
	x := math.Sqrt(math.Abs(square))
	switch {
	case x < 1e-4:
		return 1 + square/3
	case square > 0:
		return math.Atanh(x) / x
	}
	return math.Atan(x) / x
}

func (s *state) turnsAt(along float64) float64 {
	return along / (math.Pi * s.radius * (1 + s.widening(along)))
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

// solve fits the most that the readings tell. A motor that slows is fitted only
// where they ask for it: where its range leaves out none.
func (p *problem) solve() (*Fit, error) {
	if f := p.slowing(); f != nil {
		p.doubt(f, p.otherLaw(f))
		return f, nil
	}
	f, err := p.steady()
	if err == nil {
		f.Together = f.Thickness.Fitted && !f.Radius.Fitted && !slices.ContainsFunc(p.readings, reading.tellsSpool)
		if f.Together {
			p.doubt(f, p.unseen(f))
		}
	}
	return f, err
}

// otherLaw is the same fit of a motor that slows with the radius of what is
// wound, and not along the paper: nobody knows which it does.
func (p *problem) otherLaw(f *Fit) *Fit {
	start := p.start.clone()
	start.byRadius = p.farthest()
	other, _ := p.fit(start, f.set)
	return other
}

// unseenSlowing is what a motor may slow over the marks without anybody seeing
// it from times alone (a measured spool's motor "slows a little", B. Jelen,
// Mechanical Music Digest 1995.06.13.02; how much is common practice, no source).
const unseenSlowing = 0.04

// unseen is the same fit of a motor that slows by so much, or by less where the
// times themselves leave less.
func (p *problem) unseen(f *Fit) *Fit {
	start := p.start.clone()
	start.slowing = unseenSlowing / p.farthest()
	if free, ok := p.fit(p.start, append(slices.Clone(f.set), iSlowing)); ok {
		start.slowing = min(start.slowing, max(free.Slowing.Value+free.Slowing.Half, 0))
	}
	other, _ := p.fit(start, f.set)
	return other
}

// farthest is the last row at which something was read.
func (p *problem) farthest() float64 {
	most := 1.0
	for i := range p.readings {
		if r := &p.readings[i]; r.kind != girthTurn {
			most = max(most, r.along)
		}
	}
	return most
}

// wider is half a range, widened by how far off another model would be. Of two
// laws either may be true, and the difference, squared, is added to the square
// of the range. Of slowing that nobody sees anything between none and that may
// be true: a bias that is not taken out, which is added in full (GUM F.2.4.5), so that
// the range is wide enough for a motor that slows and too wide for one that does
// not.
func (f *Fit) wider(half, off float64) float64 {
	if f.Together {
		return max(half, math.Abs(off)+half*oneSided/normal95)
	}
	return math.Hypot(half, off)
}

// normal95 is the 97.5 % quantile of the normal distribution, oneSided the 95 %
// quantile: beside a bias the other side hardly counts.
const (
	normal95 = 1.959964
	oneSided = 1.644854
)

// doubt widens ranges by what another model makes of the same readings.
func (p *problem) doubt(f, other *Fit) {
	if other == nil {
		return
	}
	f.other = &state{speed: other.Speed.Value, radius: other.Radius.Value, thickness: other.Thickness.Value,
		slowing: other.Slowing.Value, byRadius: other.byRadius}
	widen := func(v *Value, with Value) {
		if v.Fitted {
			v.Half = f.wider(v.Half, with.Value-v.Value)
		}
	}
	widen(&f.Speed, other.Speed)
	widen(&f.Radius, other.Radius)
	widen(&f.Thickness, other.Thickness)
	widen(&f.Slowing, other.Slowing)
}

// tellsSpool reports whether a reading is of the spool itself, and not of times.
func (r reading) tellsSpool() bool {
	return r.kind == turned || r.kind == girthMark || r.kind == girthTurn
}

// slowing is the fit with a motor that slows; nil where the readings do not ask
// for it.
func (p *problem) slowing() *Fit {
	for _, set := range candidates {
		if set[0] != iSpeed {
			break
		}
		f, ok := p.fit(p.start, append(slices.Clone(set), iSlowing))
		if !ok {
			continue
		}
		if f.Slowing.Value > p.askedFor()*f.Slowing.Half && f.Slowing.Value < mostSlowing &&
			!(f.Thickness.Fitted && f.Thickness.Value < 0) && f.Freedom > 0 {
			return f
		}
		return nil
	}
	return nil
}

// askedFor is how many times half its range a slowing must be to be taken for
// real: 2.7 standard uncertainties where something tells the spool, 4.5 where
// times alone do, for there build-up and slowing look nearly the same.
func (p *problem) askedFor() float64 {
	if slices.ContainsFunc(p.readings, reading.tellsSpool) {
		return 1.4
	}
	return 2.3
}

// mostSlowing is what an instrument's file takes: 2 % a metre.
const mostSlowing = 2e-5

// steady is the fit with a motor that does not slow. Where the readings cannot
// tell the build-up from none, it is none, unless they cannot tell it from the
// instrument's own either: then that stays.
func (p *problem) steady() (*Fit, error) {
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
func (p *problem) fit(start state, core []int) (*Fit, bool) {
	set := p.active(core)
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
	f := p.result(&s, set, inverse, n-m)
	f.set = core
	return f, true
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
		step := stepOf(which, *s.at(which))
		*up.at(which) += step
		*down.at(which) -= step
		for i := range p.readings {
			r := &p.readings[i]
			j.Set(i, k, (up.predict(r, p.edge)-down.predict(r, p.edge))/(2*step*r.sigma))
		}
	}
	return j, off
}

// stepOf is a step for the slope of a parameter: small beside it, or beside what
// it usually is.
func stepOf(which int, value float64) float64 {
	if which == iSlowing {
		return 1e-8
	}
	return 1e-5 * max(math.Abs(value), 1e-2)
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
			moved = max(moved, math.Abs(share*step.AtVec(k))/max(math.Abs(*s.at(which)), 1e2*stepOf(which, 0)))
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
	least := p.leastScatter()
	f := &Fit{byRadius: s.byRadius, Readings: len(p.readings), Freedom: freedom, Scatter: 1,
		factor: normal95 * max(1, least)}
	if freedom > 0 {
		f.Scatter = math.Sqrt(p.squares(s) / float64(freedom))
		f.factor = max(f.Scatter, least) * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(freedom)}.Quantile(0.975)
	}
	values := [cores]*Value{&f.Speed, &f.Radius, &f.Thickness, &f.Delay, &f.Slowing}
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
	f.Lack = p.lack(s, len(set))
	return f
}

// leastScatter is how much readings scatter at least, as a share of what their
// precision says: a number written to a last place may be anything within half
// of it, which counts as the place over sqrt(12) (GUM, F.2.2.1). However well
// readings agree, a range is no smaller than that.
func (p *problem) leastScatter() float64 {
	var finest [girthTurn + 1]float64 // of each kind: a person who writes 24.6 means 25.0 by 25
	for i := range p.readings {
		r := &p.readings[i]
		if finest[r.kind] == 0 || r.least < finest[r.kind] {
			finest[r.kind] = r.least
		}
	}
	sum := 0.0
	for i := range p.readings {
		r := &p.readings[i]
		by := finest[r.kind] / math.Sqrt(12) / r.sigma
		sum += by * by
	}
	return math.Sqrt(sum / float64(len(p.readings)))
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
	p.start = state{speed: t.SpeedMMPerSec(), radius: t.RadiusMM, thickness: t.ThicknessMM, delay: in.Action.DelaySec,
		begin: make([]float64, runs)}
	if !t.Spool {
		p.start.thickness = 0
	}
	if p.start.radius == 0 {
		p.start.radius = assumedRadiusMM
	}
	return p
}
