package perform

import (
	"fmt"
	"math"
	"slices"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/solve"
)

// crossings is a canon whose voices are at one place of the tune, two and two,
// at given instants. The place of voice j in the tune, in units, runs straight
// along time: q*t + b, with q as unknown 2j and b as 2j+1 of linear equations.
type crossings struct {
	r      *resolver
	canon  *piece.Canon
	place  map[int]int // in the canon, by voice
	system *solve.System
	out    []contradiction
	base   amount // where times of the canon's section count from
	placed bool   // a voice says where it stands
}

// contradiction is an equation that the others do not allow: nearest is the
// instant, or the length, that they would allow instead.
type contradiction struct {
	places  piece.Places
	what    string
	asked   amount
	nearest func() (solve.Number, bool)
}

// findCrossings finds the speeds that are asked for in such a canon, and where
// its voices start.
func (r *resolver) findCrossings(i int) bool {
	g := &crossings{r: r, canon: &r.piece.Canons[i], place: map[int]int{}}
	g.system = solve.NewSystem(2 * len(g.canon.Voices))
	for j, voice := range g.canon.Voices {
		g.place[voice] = j
	}
	var ok bool
	if g.base, ok = r.base(g.canon.Section); !ok {
		return false
	}
	for _, voice := range g.canon.Voices {
		if !g.speed(voice) {
			return false
		}
	}
	for _, voice := range g.canon.Voices {
		for _, c := range r.lines[voice].voice.Conditions {
			if !g.say(voice, c) {
				return false
			}
		}
	}
	for k := range g.canon.Cross {
		if !g.cross(&g.canon.Cross[k]) {
			return false
		}
	}
	return g.agree() && g.begin() && g.answer(i)
}

// speed says how fast a voice is that does not ask for it.
func (g *crossings) speed(voice int) bool {
	l := g.r.lines[voice]
	switch v := l.voice; {
	case len(v.Path) > 0 || v.EachNote.Equal(exact.Real{}) != exact.Yes:
		g.r.complain(v.Places, []string{"tempo_path", "each_note"},
			fmt.Sprintf("%q cannot be made to cross others: its tempo moves", v.Name),
			"voices that cross keep one tempo each")
		return false
	case v.Unknown.Kind == piece.UnknownSpeed || v.Unknown.Kind == piece.UnknownTempo:
		return true
	case v.Unknown.Kind != piece.NoUnknown:
		return g.r.unanswered(voice, fmt.Sprintf("%s of %q cannot be found where voices cross", v.Unknown.Attribute(),
			v.Name), "ask for its speed or tempo")
	}
	if !g.r.need(node{speedOf, voice}) {
		return false
	}
	perUnit := l.clock.perUnit.Mul(l.voice.Stretch)
	g.add(g.row(term{2 * g.place[voice], solve.Whole(1)}), solve.Exactly(exact.SumOf(perUnit.Inv())))
	return true
}

// term is one unknown with its coefficient.
type term struct {
	unknown int
	coef    solve.Number
}

func (g *crossings) row(terms ...term) []solve.Number {
	out := make([]solve.Number, 2*len(g.canon.Voices))
	for _, t := range terms {
		out[t.unknown] = out[t.unknown].Add(t.coef)
	}
	return out
}

func (g *crossings) add(coef []solve.Number, right solve.Number) solve.Verdict {
	return g.system.Add(solve.Equation{Coef: coef, Right: right})
}

// say adds a condition of one voice: that a point of it falls at an instant, or
// that it lasts so long.
func (g *crossings) say(voice int, c piece.Condition) bool {
	l, q := g.r.lines[voice], 2*g.place[voice]
	if c.Lasts.Set {
		sec, ok := g.r.lastsSec(l.voice.Section, c.Lasts)
		end, ok2 := g.units(voice, piece.Point{Kind: piece.AtEnd}, c.Places, "lasts")
		if !ok || !ok2 {
			return false
		}
		if g.add(g.row(term{q, number(sec)}), end) == solve.Contradicts {
			g.out = append(g.out, contradiction{c.Places, fmt.Sprintf("%q last", l.voice.Name), sec,
				func() (solve.Number, bool) {
					speed, ok := g.system.Value(q)
					return ratioOf(end, speed, ok)
				}})
		}
		return true
	}
	g.placed = true
	if p := c.Place; names(p) {
		if slices.ContainsFunc(g.r.voicesOf(p.Ref), func(i int) bool { _, inside := g.place[i]; return inside }) {
			return g.r.conditionError(c, fmt.Sprintf("%q meets a voice of its own canon, where voices cross", l.voice.Name),
				"say when they cross, or let it meet a time: at = \"30 s\"")
		}
	}
	at, ok := g.r.instant(l, c.Place, c.Places)
	units, ok2 := g.units(voice, mine(c.Place), c.Places, "meet.mine")
	if !ok || !ok2 {
		return false
	}
	if g.add(g.row(term{q, number(at)}, term{q + 1, solve.Whole(1)}), units) == solve.Contradicts {
		what := fmt.Sprintf("%s of %q fall", pointText(mine(c.Place)), l.voice.Name)
		g.out = append(g.out, contradiction{c.Places, what, at, func() (solve.Number, bool) {
			speed, ok1 := g.system.Value(q)
			b, ok2 := g.system.Value(q + 1)
			return ratioOf(units.Sub(b), speed, ok1 && ok2)
		}})
	}
	return true
}

// ratioOf is a/b, where both are known and b is not 0.
func ratioOf(a, b solve.Number, ok bool) (solve.Number, bool) {
	if !ok || b.Sign() == 0 {
		return solve.Number{}, false
	}
	return a.Quo(b), true
}

// units is the place of a point in the tune, in units before the voice's
// stretch.
func (g *crossings) units(voice int, p piece.Point, places piece.Places, attribute string) (solve.Number, bool) {
	l := g.r.lines[voice]
	units, problem, ok := g.r.point(l, p)
	if problem != "" {
		g.r.complain(places, []string{attribute, "meet"}, problem, "")
	}
	return number(units.mulReal(l.voice.Stretch.Inv())), ok
}

// cross adds that two voices are at one place of the tune.
func (g *crossings) cross(c *piece.Cross) bool {
	at := g.base.add(g.r.time(g.canon.Section, c.At, c.Units))
	i, j := 2*g.place[c.Voices[0]], 2*g.place[c.Voices[1]]
	t, one := number(at), solve.Whole(1)
	if g.add(g.row(term{i, t}, term{i + 1, one}, term{j, t.Neg()}, term{j + 1, one.Neg()}),
		solve.Number{}) == solve.Contradicts {
		g.out = append(g.out, contradiction{c.Places, fmt.Sprintf("%s and %s cross", g.r.voiceName(c.Voices[0]),
			g.r.voiceName(c.Voices[1])), at,
			func() (solve.Number, bool) { return g.crossing(g.system, i, j) }})
	}
	return true
}

// crossing is when two voices cross.
func (g *crossings) crossing(s *solve.System, i, j int) (solve.Number, bool) {
	qi, ok1 := s.Value(i)
	qj, ok2 := s.Value(j)
	bi, ok3 := s.Value(i + 1)
	bj, ok4 := s.Value(j + 1)
	if !ok1 || !ok2 || !ok3 || !ok4 {
		return solve.Number{}, false
	}
	return ratioOf(bj.Sub(bi), qi.Sub(qj), true)
}

// agree complains about the first condition that the others do not allow.
// Speeds of 18 digits that were written into the text are as good as exact.
func (g *crossings) agree() bool {
	if len(g.out) == 0 {
		return true
	}
	open := g.system
	g.system = g.closed()
	defer func() { g.system = open }()
	for _, c := range g.out {
		nearest, ok := c.nearest()
		if ok && math.Abs(amountOf(nearest).sub(c.asked).float64()) < kept {
			continue
		}
		hint := "with the others it never happens"
		if ok {
			hint = "nearest comes " + secText(amountOf(nearest).sub(g.base))
		}
		return g.r.conditionError(piece.Condition{Places: c.places},
			fmt.Sprintf("the other conditions do not let %s at %s", c.what, secText(c.asked.sub(g.base))), hint)
	}
	return true
}

// closed is the system with something for what its equations leave open: where
// voices cross does not depend on it when all that is left is a scale.
func (g *crossings) closed() *solve.System {
	s := g.system.Clone()
	for i := 0; s.Free() > 0 && i < 2*len(g.canon.Voices); i++ {
		some := number(exactlyRat(exact.NewRat(int64(7+5*i), int64(3+2*i))))
		s.Add(solve.Equation{Coef: g.row(term{i, solve.Whole(1)}), Right: some})
	}
	return s
}

// begin lets the voice that begins first begin at the start of the section,
// where no voice says when it starts.
func (g *crossings) begin() bool {
	if g.system.Free() == 0 || g.placed {
		return true
	}
	var found []*solve.System
	for _, voice := range g.canon.Voices {
		s := g.system.Clone()
		q := 2 * g.place[voice]
		s.Add(solve.Equation{Coef: g.row(term{q, number(g.base)}, term{q + 1, solve.Whole(1)})})
		if s.Free() == 0 && g.plays(s) && !slices.ContainsFunc(found, func(t *solve.System) bool { return g.alike(s, t) }) {
			found = append(found, s)
		}
	}
	switch {
	case len(found) == 1:
		g.system = found[0]
	case len(found) > 1:
		return g.open("more than one set of speeds keeps these crossings",
			"say where one of the voices starts: start = \"0 s\"")
	case g.system.Free() == 1:
		return g.open("no speeds keep these crossings: with the first voice at 0, one would have to go backward or begin earlier",
			"say where one of the voices starts, or change an instant")
	}
	return true
}

// plays reports whether every voice goes forward and none begins before the
// section.
func (g *crossings) plays(s *solve.System) bool {
	for _, voice := range g.canon.Voices {
		q, _ := s.Value(2 * g.place[voice])
		b, _ := s.Value(2*g.place[voice] + 1)
		if q.Sign() <= 0 || number(g.base).Mul(q).Add(b).Sign() > 0 {
			return false
		}
	}
	return true
}

func (g *crossings) alike(s, t *solve.System) bool {
	for i := range 2 * len(g.canon.Voices) {
		x, _ := s.Value(i)
		y, _ := t.Value(i)
		if x.Sub(y).Sign() != 0 {
			return false
		}
	}
	return true
}

// open complains about the canon's crossings as a whole.
func (g *crossings) open(problem, hint string) bool {
	g.r.complain(g.canon.Cross[0].Places, nil, problem, hint)
	return false
}

// answer reads speeds and starts out of the system.
func (g *crossings) answer(canon int) bool {
	if n := g.system.Free(); n > 0 {
		numbers := "numbers"
		if n == 1 {
			numbers = "number"
		}
		return g.open(fmt.Sprintf("the crossings of %q leave %d %s open", g.canon.Name, n, numbers),
			"each voice has a start and a speed: give some of them, let voices meet a time, or let more of them cross")
	}
	state := &g.r.canons[canon]
	state.start = map[int]amount{}
	for _, voice := range g.canon.Voices {
		if !g.answerOf(voice, state.start) {
			return false
		}
	}
	return true
}

func (g *crossings) answerOf(voice int, start map[int]amount) bool {
	q, _ := g.system.Value(2 * g.place[voice])
	b, _ := g.system.Value(2*g.place[voice] + 1)
	v := g.r.lines[voice].voice
	if q.Sign() <= 0 {
		return g.open(fmt.Sprintf("no speeds keep these crossings: %q would have to go backward", v.Name),
			"change one of the instants")
	}
	start[voice] = amountOf(b.Neg().Quo(q))
	if v.Unknown.Kind == piece.NoUnknown {
		return true
	}
	at, ok := g.r.trial(v, unitOf, []namedPoint{{piece.Point{Kind: piece.AtUnit, X: exact.Int(1)}, v.Places}})
	if !ok {
		return g.r.failure(voice)
	}
	x, ok := answerOf(q.Mul(number(at[0].mulReal(v.Stretch))))
	return ok && g.r.settle(voice, x)
}
