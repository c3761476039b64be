package perform

import (
	"fmt"

	"rollwright/music/piece"
	"rollwright/music/solve"
)

// together is a group of voices whose unknowns and starts depend on each other,
// as linear equations: voice j of the group has its start, in seconds, as
// unknown 2j and what it asks for, or its inverse, as 2j+1.
type together struct {
	r      *resolver
	voices []int
	place  map[int]int // in the group, by voice
	system *solve.System
	said   []said
}

// said is a condition with the voice that has it and its equation.
type said struct {
	voice     int
	condition piece.Condition
	sum       sum // has to be 0
	verdict   solve.Verdict
}

// sum is a constant and multiples of the group's unknowns.
type sum struct {
	coef  []solve.Number
	extra solve.Number
}

func (g *together) zero() sum { return sum{coef: make([]solve.Number, 2*len(g.voices))} }

func (s sum) plus(t sum) sum {
	out := sum{make([]solve.Number, len(s.coef)), s.extra.Add(t.extra)}
	for i := range out.coef {
		out.coef[i] = s.coef[i].Add(t.coef[i])
	}
	return out
}

func (s sum) minus(t sum) sum {
	out := sum{make([]solve.Number, len(s.coef)), s.extra.Sub(t.extra)}
	for i := range out.coef {
		out.coef[i] = s.coef[i].Sub(t.coef[i])
	}
	return out
}

// findTogether finds what the voices of a circle ask for.
func (r *resolver) findTogether(voices []int) bool {
	g := &together{r: r, voices: voices, place: map[int]int{}, system: solve.NewSystem(2 * len(voices))}
	for j, i := range voices {
		g.place[i] = j
		v := r.lines[i].voice
		if v.Unknown.Kind == piece.NoUnknown {
			continue
		}
		for _, c := range v.Copied {
			if !r.take(v, c) {
				return false
			}
		}
		if !r.linear(v) {
			return r.unanswered(i, fmt.Sprintf("%s of %q depends on other unknowns, and they on it", v.Unknown.Attribute(),
				v.Name),
				"together only speeds, tempos and stretches of one tempo can be found: let this one not depend on the others")
		}
	}
	for _, i := range voices {
		if !g.say(i) {
			return false
		}
	}
	return g.answer()
}

// say adds what voice i says of itself.
func (g *together) say(i int) bool {
	v := g.r.lines[i].voice
	if v.Unknown.Kind == piece.NoUnknown {
		g.system.Add(only(2*len(g.voices), 2*g.place[i]+1)) // its number is known
		return g.add(i, piece.Condition{Place: v.Place, Places: v.Places})
	}
	lastsOnly := true
	for _, c := range v.Conditions {
		lastsOnly = lastsOnly && c.Lasts.Set
		if !g.add(i, c) {
			return false
		}
	}
	return !lastsOnly || g.add(i, piece.Condition{Places: v.Places}) // start is 0
}

// only is the equation that one unknown is 1.
func only(n, unknown int) solve.Equation {
	e := solve.Equation{Coef: make([]solve.Number, n), Right: solve.Whole(1)}
	e.Coef[unknown] = solve.Whole(1)
	return e
}

func (g *together) add(i int, c piece.Condition) bool {
	left, right, ok := g.sides(i, c)
	if !ok {
		return false
	}
	s := left.minus(right)
	verdict := g.system.Add(solve.Equation{Coef: s.coef, Right: s.extra.Neg()})
	g.said = append(g.said, said{i, c, s, verdict})
	return true
}

// sides are the two instants, or lengths, that a condition makes equal.
func (g *together) sides(i int, c piece.Condition) (left, right sum, ok bool) {
	if c.Lasts.Set {
		return g.lasting(i, c)
	}
	left, ok = g.instantOf(i, namedPoint{mine(c.Place), c.Places}, "meet.mine")
	if !ok {
		return left, right, false
	}
	p, section := c.Place, g.r.lines[i].voice.Section
	if _, inside := g.place[p.Ref.Voice]; !inside || !names(p) {
		right = g.zero()
		at, ok := g.r.instant(g.r.lines[i], p, c.Places)
		right.extra = number(at)
		return left, right, ok
	}
	theirs, attribute := namedPoint{p.Theirs, c.Places}, "meet.theirs"
	by := g.r.laterBy(section, &p)
	if p.Kind != piece.MeetWith {
		theirs.Point, attribute = piece.Point{}, "start"
		by = g.r.time(section, p.At, p.Units)
	}
	if p.Kind == piece.After {
		theirs.Kind = piece.AtEnd
	}
	right, ok = g.instantOf(p.Ref.Voice, theirs, attribute)
	right.extra = right.extra.Add(number(by))
	return left, right, ok
}

func (g *together) lasting(i int, c piece.Condition) (left, right sum, ok bool) {
	end := namedPoint{piece.Point{Kind: piece.AtEnd}, c.Places}
	if left, ok = g.offset(i, end, "lasts"); !ok {
		return left, right, false
	}
	if as := c.Lasts.As; c.Lasts.Sec.Sign() <= 0 && as.Voice >= 0 {
		if _, inside := g.place[as.Voice]; inside {
			right, ok = g.offset(as.Voice, end, "lasts")
			return left, right, ok
		}
	}
	right = g.zero()
	sec, ok := g.r.lastsSec(g.r.lines[i].voice.Section, c.Lasts)
	right.extra = number(sec)
	return left, right, ok
}

// instantOf is when a point of a voice of the group falls.
func (g *together) instantOf(i int, p namedPoint, attribute string) (sum, bool) {
	s, ok := g.offset(i, p, attribute)
	if ok {
		start := g.zero()
		start.coef[2*g.place[i]] = solve.Whole(1)
		s = s.plus(start)
	}
	return s, ok
}

// offset is how long after a voice's start a point of it falls.
func (g *together) offset(i int, p namedPoint, attribute string) (sum, bool) {
	s := g.zero()
	if g.r.lines[i].voice.Unknown.Kind == piece.NoUnknown {
		at, ok := g.r.offsetFor(g.r.lines[i], p.Point, p.places, attribute)
		s.extra = number(at)
		return s, ok
	}
	a, b, ok := g.r.affine(i, []namedPoint{p})
	if ok {
		s.extra, s.coef[2*g.place[i]+1] = a[0], b[0]
	}
	return s, ok
}

// answer reads the answers out of the system, or complains.
func (g *together) answer() bool {
	for _, s := range g.said {
		if s.verdict == solve.Contradicts {
			return g.contradicts(s)
		}
	}
	for j, i := range g.voices {
		v := g.r.lines[i].voice
		if v.Unknown.Kind == piece.NoUnknown {
			continue
		}
		y, ok := g.system.Value(2*j + 1)
		if !ok {
			return g.r.unanswered(i, fmt.Sprintf("the conditions leave %s of %q open", v.Unknown.Attribute(), v.Name),
				"one of them says what others say already: let it name another point")
		}
		if y.Sign() <= 0 {
			return g.r.unanswered(i, fmt.Sprintf("no %s of %q does it: %s", v.Unknown.Attribute(), v.Name, g.order(i)),
				"let one of its conditions name a later instant, or another point")
		}
		x, ok := answerOf(inverse(v.Unknown, y))
		if !ok || !g.r.settle(i, x) {
			return false
		}
	}
	return true
}

// order says which points of a voice would have to change places.
func (g *together) order(i int) string {
	var points []string
	var at []float64
	for _, s := range g.said {
		if s.voice != i || s.condition.Lasts.Set {
			continue
		}
		t, ok := g.value(s.sum.minus(g.own(i, s)))
		if !ok {
			return "its points would have to come in another order"
		}
		points, at = append(points, pointText(mine(s.condition.Place))), append(at, -t.Float64())
	}
	if len(points) != 2 {
		return "it would have to last less than nothing"
	}
	if at[0] > at[1] {
		points[0], points[1] = points[1], points[0]
	}
	return fmt.Sprintf("%s would have to come before %s", points[0], points[1])
}

// own is the side of a condition that its own voice has.
func (g *together) own(i int, s said) sum {
	left, _, _ := g.sides(i, s.condition)
	return left
}

// value is what a sum comes to with the answers of the system.
func (g *together) value(s sum) (solve.Number, bool) {
	total := s.extra
	for i, c := range s.coef {
		if c.Sign() == 0 {
			continue
		}
		x, ok := g.system.Value(i)
		if !ok {
			return solve.Number{}, false
		}
		total = total.Add(c.Mul(x))
	}
	return total, true
}

// contradicts complains about a condition that the others do not allow.
func (g *together) contradicts(s said) bool {
	what := "this"
	if !s.condition.Lasts.Set {
		what = fmt.Sprintf("%s of %q on %s", pointText(mine(s.condition.Place)), g.r.lines[s.voice].voice.Name,
			g.r.meetsWhat(s.condition.Place))
	}
	hint := "let it name another point or instant"
	if late, ok := g.value(s.sum); ok && !s.condition.Lasts.Set {
		hint = "with the others it falls " + g.r.offBy(amountOf(late), s.condition.Place)
		if s.condition.Place.Kind == piece.MeetAt || s.condition.Place.Kind == piece.StartAt {
			at, _ := g.r.instant(g.r.lines[s.voice], s.condition.Place, s.condition.Places)
			hint = "nearest comes " + secText(at.add(amountOf(late)))
		}
	}
	return g.r.conditionError(s.condition, "the other conditions do not allow "+what, hint)
}

// amountOf is a number of package solve as an amount.
func amountOf(n solve.Number) amount {
	if s, ok := n.Exact(); ok {
		return exactly(s)
	}
	return about(n.Float())
}
