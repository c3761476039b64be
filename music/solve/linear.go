package solve

// Equation says that the sum of its coefficients, each times its unknown, is
// Right. Unknowns beyond the coefficients have 0.
type Equation struct {
	Coef  []Number
	Right Number
}

// System is linear equations in a number of unknowns, taken one after the
// other.
type System struct {
	unknowns int
	rows     []row
}

// row is an equation in which one unknown, its pivot, stands alone among those
// of the other rows.
type row struct {
	Equation
	pivot int
}

// Verdict is what an equation does to those before it.
type Verdict int8

// The verdicts.
const (
	Independent Verdict = iota // it says something new
	Follows                    // the others say it already
	Contradicts                // the others say otherwise; it is left out
)

// NewSystem is a system of so many unknowns without equations.
func NewSystem(unknowns int) *System { return &System{unknowns: unknowns} }

// Add takes a further equation.
func (s *System) Add(e Equation) Verdict {
	r := row{Equation: Equation{Coef: make([]Number, s.unknowns), Right: e.Right}, pivot: -1}
	copy(r.Coef, e.Coef)
	for i := range s.rows {
		r.Equation = without(r.Equation, &s.rows[i])
	}
	if r.pivot = choose(r.Coef); r.pivot < 0 {
		if r.Right.Sign() == 0 {
			return Follows
		}
		return Contradicts
	}
	r.Equation = r.normalised(r.pivot)
	for i := range s.rows {
		s.rows[i].Equation = without(s.rows[i].Equation, &r).normalised(s.rows[i].pivot)
	}
	s.rows = append(s.rows, r)
	return Independent
}

// Free is how many unknowns the equations leave open.
func (s *System) Free() int { return s.unknowns - len(s.rows) }

// Clone is a copy that takes further equations of its own.
func (s *System) Clone() *System {
	return &System{s.unknowns, append([]row(nil), s.rows...)}
}

// Value is the unknown, and false when the equations leave it open.
func (s *System) Value(unknown int) (Number, bool) {
	for i := range s.rows {
		r := &s.rows[i]
		if r.pivot != unknown {
			continue
		}
		for j, c := range r.Coef {
			if j != unknown && c.Sign() != 0 {
				return Number{}, false
			}
		}
		return r.Right.Quo(r.Coef[unknown]), true
	}
	return Number{}, false
}

// without is e less as much of r as takes its pivot out of it. Both sides are
// multiplied by the pivot's coefficient where that is no 1, so that nothing has
// to be divided.
func without(e Equation, r *row) Equation {
	factor := e.Coef[r.pivot]
	if factor.Sign() == 0 {
		return e
	}
	own := r.Coef[r.pivot]
	out := Equation{Coef: make([]Number, len(e.Coef)), Right: e.Right.Mul(own).Sub(r.Right.Mul(factor))}
	for j := range out.Coef {
		if j != r.pivot {
			out.Coef[j] = e.Coef[j].Mul(own).Sub(r.Coef[j].Mul(factor))
		}
	}
	return out
}

// choose is the unknown to be singled out: one whose coefficient can be divided
// by exactly, if there is one; -1 where all are 0.
func choose(coef []Number) int {
	best := -1
	for j, c := range coef {
		switch {
		case c.Sign() == 0:
		case c.simple():
			return j
		case best < 0:
			best = j
		}
	}
	return best
}

// simple reports whether anything can be divided by the number exactly.
func (a Number) simple() bool { return a.approx == nil && len(a.sum.Terms()) == 1 }

// normalised is e divided so that the coefficient is 1, where that loses
// nothing.
func (e Equation) normalised(unknown int) Equation {
	by := e.Coef[unknown]
	if !by.simple() && by.approx == nil {
		return e
	}
	out := Equation{Coef: make([]Number, len(e.Coef)), Right: e.Right.Quo(by)}
	for j, c := range e.Coef {
		out.Coef[j] = c.Quo(by)
	}
	return out
}
