package perform

import (
	"fmt"
	"math/big"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/solve"
)

// between asks that point to of a voice falls sec seconds after point from: what
// two conditions of one voice come to.
type between struct {
	r        *resolver
	voice    int
	from, to namedPoint
	sec      amount

	// What each point falls on, for messages: "2:30 s", "note 40 of slow". Empty
	// where from is the voice's own start and sec how long it lasts.
	fromWhat, toWhat string
	fromSec, toSec   amount
}

// linear reports whether every point of a voice falls at a + b*y after its
// start, for y the unknown or its inverse.
func (r *resolver) linear(v *piece.Voice) bool {
	switch v.Unknown.Kind {
	case piece.UnknownSpeed, piece.UnknownTempo:
		return true
	case piece.UnknownStretch:
		path, err := newPath(v, r.speedOf(v))
		if err != nil {
			return false
		}
		_, constant := path.SecondsPerUnit()
		return constant && v.Extent.Kind != piece.Units
	}
	return false
}

// unitOf is the number that stands for y = 1 in linear.
var unitOf = exact.Real{}

// affine are a and b of points of a voice, in seconds.
func (r *resolver) affine(i int, points []namedPoint) (a, b []solve.Number, ok bool) {
	v := r.lines[i].voice
	at, ok := r.trial(v, unitOf, points)
	if !ok {
		return nil, nil, r.failure(i)
	}
	a, b = make([]solve.Number, len(at)), make([]solve.Number, len(at))
	for j, t := range at {
		if v.Unknown.Kind == piece.UnknownStretch && points[j].Kind == piece.AtUnit {
			a[j] = number(t)
		} else {
			b[j] = number(t)
		}
	}
	return a, b, true
}

// inverse is y as the unknown itself, or the other way round.
func inverse(u piece.Unknown, y solve.Number) solve.Number {
	if u.Kind == piece.UnknownStretch {
		return y
	}
	return solve.Whole(1).Quo(y)
}

// solve finds the one number that does what is asked, or complains.
func (b *between) solve() (answer, bool) {
	all, ok := b.all()
	if !ok {
		return answer{}, false
	}
	return all[0], b.only(all)
}

// only complains when there are several.
func (b *between) only(all []answer) bool {
	if len(all) == 1 {
		return true
	}
	u := b.unknown()
	text := ""
	for i, x := range all[:min(len(all), 4)] {
		if i > 0 {
			text += " and "
		}
		text += shortAnswer(x)
	}
	return b.r.unanswered(b.voice, fmt.Sprintf("more than one %s of %q would do: %s", u.Attribute(), b.name(), text),
		fmt.Sprintf("write the one that is meant: %s = \"%s\"", u.Word(), Decimal(all[0].value)))
}

func shortAnswer(x answer) string {
	if x.exact {
		return x.value.String()
	}
	return plainNumber(x.value.Float64())
}

func (b *between) unknown() piece.Unknown { return b.r.lines[b.voice].voice.Unknown }

func (b *between) name() string { return b.r.lines[b.voice].voice.Name }

// all are the numbers that do what is asked, at least one, or a complaint.
func (b *between) all() ([]answer, bool) {
	if b.r.linear(b.r.lines[b.voice].voice) {
		x, ok := b.straight()
		return []answer{x}, ok
	}
	return b.curved()
}

// straight is a linear equation in one unknown: a + b*y = sec.
func (b *between) straight() (answer, bool) {
	a, slope, ok := b.r.affine(b.voice, []namedPoint{b.from, b.to})
	if !ok {
		return answer{}, false
	}
	rise := slope[1].Sub(slope[0])
	rest := number(b.sec).Sub(a[1].Sub(a[0]))
	if rise.Sign() == 0 {
		return answer{}, b.noPart(rest.Sign() == 0)
	}
	if y := rest.Quo(rise); y.Sign() > 0 {
		x, ok := answerOf(inverse(b.unknown(), y))
		if _, known := y.Exact(); ok && !known {
			x = b.recognise(x)
		}
		return x, ok
	}
	return answer{}, b.wrongOrder(rise.Sign() > 0)
}

// noPart complains where the unknown does not move one point against the other.
func (b *between) noPart(anyDoes bool) bool {
	u := b.unknown()
	switch {
	case anyDoes:
		return b.r.unanswered(b.voice, fmt.Sprintf("any %s of %q would do: its two conditions hold whatever it is",
			u.Attribute(), b.name()),
			"let one of them name another point, or write a number")
	case b.from.Point == b.to.Point && b.toWhat != "":
		return b.complain(fmt.Sprintf("%s of %q cannot fall on %s as well: it falls on %s", pointText(b.to.Point), b.name(),
			b.toWhat, b.fromWhat),
			fmt.Sprintf("that is %s and %s; let one of the two name another point", secText(b.fromSec), secText(b.toSec)))
	}
	return b.r.unanswered(b.voice, fmt.Sprintf("no %s of %q does it: %s and %s lie where it changes nothing",
		u.Attribute(), b.name(), pointText(b.from.Point), pointText(b.to.Point)), "name points that it moves")
}

// wrongOrder complains where the later point would have to be the earlier one.
func (b *between) wrongOrder(toIsLater bool) bool {
	first, last := pointText(b.from.Point), pointText(b.to.Point)
	firstWhat, lastWhat, firstSec, lastSec := b.fromWhat, b.toWhat, b.fromSec, b.toSec
	if !toIsLater {
		first, last, firstWhat, lastWhat, firstSec, lastSec = last, first, lastWhat, firstWhat, lastSec, firstSec
	}
	if b.toWhat == "" {
		return b.complain(fmt.Sprintf("no %s of %q makes it last %s", b.unknown().Attribute(), b.name(), secText(b.sec)),
			"ask for more")
	}
	order := "before"
	if b.sec.cmp(amount{}) == 0 {
		order = "together with"
	}
	return b.complain(fmt.Sprintf("no %s of %q does both: %s would have to come %s %s", b.unknown().Attribute(), b.name(),
		last, order, first),
		fmt.Sprintf("%s falls on %s, and %s on %s;\nit has to be later than %s", first, withTime(firstWhat, firstSec),
			last, withTime(lastWhat, lastSec), secText(firstSec)))
}

// withTime adds to what something falls on when that is, unless it is a time.
func withTime(what string, sec amount) string {
	if at := secText(sec); at != what {
		return what + ", at " + at
	}
	return what
}

// complain is a complaint at the unknown; the conditions are named in it.
func (b *between) complain(problem, hint string) bool { return b.r.unanswered(b.voice, problem, hint) }

// curved looks for the numbers by trying.
func (b *between) curved() ([]answer, bool) {
	if _, ok := b.r.trial(b.r.lines[b.voice].voice, b.middle(), []namedPoint{b.from, b.to}); !ok {
		return nil, b.r.failure(b.voice)
	}
	low, high := b.unknown().Bounds()
	roots := solve.Find(b, low, high)
	if len(roots.Found) == 0 {
		if roots.Flat {
			return nil, b.noPart(roots.Rest == 0)
		}
		return nil, b.nearest(roots)
	}
	var out []answer
	for _, x := range roots.Found {
		if b.unknown().Kind == piece.UnknownOver {
			out = append(out, b.recognise(overAnswer(x)))
		} else {
			out = append(out, b.recognise(roundedAnswer(x)))
		}
	}
	return out, true
}

// overAnswer is a length in units as a fraction of 64 bits: 18 digits, and no
// more than 17 behind the point.
func overAnswer(x *big.Float) answer {
	a := roundedAnswer(x)
	if r, ok := a.value.Rat(); ok {
		if _, fits := exact.FromBig(r); fits {
			return a
		}
	}
	r, _ := new(big.Rat).SetString(x.Text('f', 17))
	value, err := exact.FromRat(r)
	if err != nil {
		value = a.value
	}
	return answer{value: value}
}

// middle is a number that the unknown may well be, to try whether anything can
// be said at all.
func (b *between) middle() exact.Real {
	switch b.unknown().Kind {
	case piece.UnknownFrom, piece.UnknownTo, piece.UnknownTempo:
		return exact.Frac(120, 1)
	case piece.UnknownOver:
		return exact.Frac(16, 1)
	}
	return exact.Real{}
}

// nearest complains where no number does it, and says which comes nearest.
func (b *between) nearest(roots solve.Roots) bool {
	u := b.unknown()
	problem := fmt.Sprintf("no %s of %q does both", u.Attribute(), b.name())
	if b.toWhat == "" {
		problem = fmt.Sprintf("no %s of %q makes it last %s", u.Attribute(), b.name(), secText(b.sec))
	}
	late := exact.SumRat(new(big.Rat).SetFloat64(roots.Rest))
	size, side := exactly(late), "after"
	if roots.Rest < 0 {
		size, side = exactly(late.Neg()), "before"
	}
	hint := fmt.Sprintf("nearest comes %s: %s is then %s %s %s", plainNumber(roots.Nearest), pointText(b.to.Point),
		secText(size), side, b.toWhat)
	if b.toWhat == "" {
		hint = fmt.Sprintf("nearest comes %s: it then lasts %s", plainNumber(roots.Nearest),
			secText(b.sec.add(exactly(late))))
	}
	return b.complain(problem, hint)
}

// Near is how much too late the second point is, in seconds, to what a float64
// gives.
func (b *between) Near(x float64) (float64, bool) {
	r := new(big.Rat).SetFloat64(x)
	if r == nil {
		return 0, false
	}
	value, err := exact.FromRat(r)
	if err != nil {
		return 0, false
	}
	at, ok := b.r.trialOf(b.r.lines[b.voice].voice, value, []namedPoint{b.from, b.to}, func(l *Line, units amount) amount {
		return about(newFloat().SetFloat64(l.clock.seconds(ddBig(units.value())).hi))
	})
	if !ok {
		return 0, false
	}
	return at[1].float64() - at[0].float64() - b.sec.float64(), true
}

// At is the same to 256 bits.
func (b *between) At(x exact.Rat) (*big.Float, bool) {
	value, err := exact.FromRat(x.Big())
	if err != nil {
		return nil, false
	}
	return b.restAt(value)
}

func (b *between) restAt(x exact.Real) (*big.Float, bool) {
	at, ok := b.r.trial(b.r.lines[b.voice].voice, x, []namedPoint{b.from, b.to})
	if !ok {
		return nil, false
	}
	return at[1].sub(at[0]).sub(b.sec).value(), true
}

// recognise is a number that came out of trying or of amounts that are not
// exact, as the fraction or the root of one that it is, if it is one: if the
// condition then holds to the last bit that can be looked at.
func (b *between) recognise(x answer) answer {
	if x.exact {
		return x
	}
	for power := int64(1); power <= mostRoot; power++ {
		candidate, ok := simplest(x.value.Pow(exact.Int(power)))
		if !ok {
			continue
		}
		candidate = candidate.Pow(exact.NewRat(1, power))
		if b.unknown().Kind == piece.UnknownOver && power > 1 {
			return x
		}
		if rest, ok := b.restAt(candidate); ok && (rest.Sign() == 0 || exponentOf(rest) < leastRest) {
			return answer{candidate, true}
		}
	}
	return x
}

const (
	mostRoot  = 32  // that is recognised
	plainBits = 36  // of numerator and denominator together: no number is so near to one by chance
	nearBits  = 50  // that a number and the fraction share at least
	leastRest = -70 // binary exponent of seconds: below it a condition holds
)

// simplest is the first convergent of x that agrees with it to nearBits, when
// it is a plain fraction.
func simplest(x exact.Real) (exact.Real, bool) {
	value := x.Float(workPrec)
	for _, c := range x.Convergents(plainBits) {
		if c.Sign() <= 0 {
			continue
		}
		if c.Num().BitLen()+c.Denom().BitLen() > plainBits {
			return exact.Real{}, false
		}
		d := newFloat().Sub(value, newFloat().SetRat(c))
		if d.Sign() == 0 || exponentOf(d) < exponentOf(value)-nearBits {
			r, err := exact.FromRat(c)
			return r, err == nil
		}
	}
	return exact.Real{}, false
}
