package calibrate

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Lack is readings that agree with each other better than with the fit: what
// moved the paper is something that the fit does not have.
type Lack struct {
	Mark        string  // where they lie farthest off
	OffSec      float64 // mean of the runs there, reading less fit
	Probability float64 // of so much by chance, were the fit right
}

// unlikely is how improbable a lack of fit must be before it is told.
const unlikely = 0.01

// Text says what a person should look for.
func (l *Lack) Text() string {
	return fmt.Sprintf("all runs lie off alike, at %s by %+.2g s: the paper moved in a way that speed, build-up and slowing do not say; "+
		"look for a slipping belt, a brake, a mark in the wrong place, and trust the ranges less", l.Mark, l.OffSec)
}

// times are the readings of one kind, with the place of each in the tables of
// runs and marks.
type times struct {
	list  []*reading
	marks map[float64]int
	runs  map[int]int
	names []string
}

func (p *problem) timesOf(k kind) *times {
	t := &times{marks: map[float64]int{}, runs: map[int]int{}}
	for i := range p.readings {
		r := &p.readings[i]
		if r.kind != k {
			continue
		}
		t.list = append(t.list, r)
		if _, ok := t.marks[r.along]; !ok {
			t.marks[r.along] = len(t.marks)
			t.names = append(t.names, "mark "+plain(r.along)+" mm")
		}
		if _, ok := t.runs[r.run]; !ok {
			t.runs[r.run] = len(t.runs)
		}
	}
	return t
}

// lack compares what the runs disagree about, each with a beginning of its own,
// with what all of them hold against the fit: the F test for lack of fit with
// repeated readings (Draper and Smith, Applied Regression Analysis; NIST/SEMATECH
// e-Handbook of Statistical Methods, 4.4.4.6; both from memory). One run tells
// nothing.
func (p *problem) lack(s *state, fitted int) *Lack {
	t := p.timesOf(heard)
	marks, runs := len(t.marks), len(t.runs)
	pureFreedom := len(t.list) - (marks + runs - 1)
	lackFreedom := marks - 1 - (fitted - runs)
	if runs < 2 || pureFreedom < 3 || lackFreedom < 2 {
		return nil
	}
	pure, ok := t.pureSquares()
	if !ok || pure <= 0 {
		return nil
	}
	all, off := 0.0, make([]float64, marks)
	count := make([]float64, marks)
	for _, r := range t.list {
		d := r.value - s.predict(r, p.edge)
		all += d * d
		off[t.marks[r.along]] += d
		count[t.marks[r.along]]++
	}
	f := max(all-pure, 0) / float64(lackFreedom) / (pure / float64(pureFreedom))
	chance := distuv.F{D1: float64(lackFreedom), D2: float64(pureFreedom)}.Survival(f)
	if math.IsNaN(chance) || chance > unlikely {
		return nil
	}
	worst := &Lack{Probability: chance}
	for i := range off {
		if mean := off[i] / count[i]; math.Abs(mean) > math.Abs(worst.OffSec) {
			worst.Mark, worst.OffSec = t.names[i], mean
		}
	}
	return worst
}

// pureSquares is what is left of the readings when every mark and every run has
// a number of its own, whatever the fit says.
func (t *times) pureSquares() (float64, bool) {
	n, m := len(t.list), len(t.marks)+len(t.runs)-1
	j, y := mat.NewDense(n, m, nil), mat.NewVecDense(n, nil)
	for i, r := range t.list {
		y.SetVec(i, r.value)
		j.Set(i, t.marks[r.along], 1)
		if run := t.runs[r.run]; run > 0 {
			j.Set(i, len(t.marks)+run-1, 1)
		}
	}
	x, _, ok := leastSquares(j, y)
	if !ok {
		return 0, false
	}
	var fit mat.VecDense
	fit.MulVec(j, x)
	sum := 0.0
	for i := range n {
		d := y.AtVec(i) - fit.AtVec(i)
		sum += d * d
	}
	return sum, true
}
