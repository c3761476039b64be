package tempo

import (
	"fmt"
	"math"
	"math/big"
	"slices"
	"sort"

	"rollwright/exact"
)

// Shape is the law by which the tempo of a leg goes from one to another.
type Shape int8

// The shapes. With b of the B quarter notes of a leg gone, tempo T0 becomes
// T1 = k*T0 as
//
//	Geometric  T0 * k^(b/B)          equal ratios in each unit
//	PerUnit    T0 + (T1-T0) * b/B    equal steps in each unit
//	PerSecond  T0 + (T1-T0) * t/D    equal steps in each second, D the leg's duration
const (
	Geometric Shape = iota
	PerUnit
	PerSecond
)

// String is the shape's name in a piece file.
func (s Shape) String() string {
	switch s {
	case Geometric:
		return "geometric"
	case PerUnit:
		return "per-unit"
	case PerSecond:
		return "per-second"
	}
	return fmt.Sprintf("Shape(%d)", int8(s))
}

// Leg is a stretch of a path. Tempos are quarter notes a minute.
type Leg struct {
	From, To       exact.Real
	HasFrom, HasTo bool      // without From it goes on from the tempo before; without To it is constant
	OverUnits      exact.Rat // its length in units, if this is not 0
	OverSec        exact.Rat // or in seconds at speed 1, if this is not 0
	Shape          Shape
}

// Limits of what New accepts, far beyond what can be played. Within them no
// formula leaves the range or the precision of a float64.
const (
	MinTempo = 1e-6 // quarter notes a minute
	MaxTempo = 1e9
	MaxOver  = 1e9 // units or seconds of a leg
	MaxLegs  = 10_000
)

// Path is a tempo along a voice: seconds as a function of units. It is
// immutable. Before 0 its first tempo holds, after its last leg the last one.
type Path struct {
	unit     exact.Rat
	speed    exact.Real
	tempo    exact.Real // the tempo before the legs
	legs     []Leg
	spans    []span // the insides of the legs; none when the tempo is constant
	first    steady // before 0
	last     steady // after the last leg
	end      corner // where last begins
	constant bool
}

// Constant is the path of one tempo, in quarter notes a minute. The unit, more
// than 0, is a share of a whole note.
func Constant(quarters exact.Real, unit exact.Rat, speed exact.Real) *Path {
	s := newSteady(secondsPerUnit(quarters, unit, speed))
	return &Path{unit: unit, speed: speed, tempo: quarters, first: s, last: s, constant: true}
}

// New is the path of legs, one after the other. Before is the tempo, in
// quarter notes a minute, from which a first leg without From goes on. The
// unit, more than 0, is a share of a whole note. The error says which leg,
// counted from 1, cannot be.
func New(legs []Leg, before exact.Real, unit exact.Rat, speed exact.Real) (*Path, error) {
	if len(legs) > MaxLegs {
		return nil, fmt.Errorf("%d legs are more than %d", len(legs), MaxLegs)
	}
	resolved, err := resolve(legs, before)
	if err != nil {
		return nil, err
	}
	p := Constant(before, unit, speed)
	if len(resolved) == 0 {
		return p, nil
	}
	p.tempo, p.legs = resolved[0].From, resolved
	p.constant = !slices.ContainsFunc(resolved, func(l Leg) bool {
		return l.From.Equal(p.tempo) != exact.Yes || l.To.Equal(p.tempo) != exact.Yes
	})
	p.layOut()
	return p, nil
}

// resolve gives every leg its two tempos and checks it.
func resolve(legs []Leg, before exact.Real) ([]Leg, error) {
	resolved := slices.Clone(legs)
	for i := range resolved {
		l := &resolved[i]
		if !l.HasFrom {
			l.From = before
		}
		if !l.HasTo {
			l.To = l.From
		}
		if err := l.check(); err != nil {
			return nil, fmt.Errorf("leg %d: %w", i+1, err)
		}
		before = l.To
	}
	return resolved, nil
}

func (l *Leg) check() error {
	for _, tempo := range []exact.Real{l.From, l.To} {
		if f := tempo.Float64(); f < MinTempo || f > MaxTempo {
			return fmt.Errorf("a tempo of %.4g quarter notes a minute is not between %g and %g", f, MinTempo, MaxTempo)
		}
	}
	over := l.OverUnits
	if over.Sign() == 0 {
		over = l.OverSec
	}
	switch {
	case l.OverUnits.Sign() != 0 && l.OverSec.Sign() != 0:
		return fmt.Errorf("its length is given both in units and in seconds")
	case over.Sign() <= 0:
		return fmt.Errorf("its length is %v; it must be more than 0", over)
	case over.Float64() > MaxOver:
		return fmt.Errorf("its length of %.4g is more than %g", over.Float64(), MaxOver)
	case l.Shape < Geometric || l.Shape > PerSecond:
		return fmt.Errorf("there is no shape %v", l.Shape)
	}
	return nil
}

// secondsPerUnit is 60 / tempo * 4 * unit / speed.
func secondsPerUnit(tempo exact.Real, unit exact.Rat, speed exact.Real) exact.Real {
	return exact.Frac(240, 1).Mul(exact.Frac(unit.Num(), unit.Den())).Quo(tempo.Mul(speed))
}

// layOut finds where each leg begins and ends, once, at high precision, and
// prepares the formulas of its inside in float64.
func (p *Path) layOut() {
	at := bound{units: new(big.Float).SetPrec(boundBits), seconds: new(big.Float).SetPrec(boundBits)}
	p.spans = make([]span, 0, len(p.legs))
	for _, l := range p.legs {
		next := at.after(l, p.unit, p.speed, boundBits)
		p.spans = append(p.spans, newSpan(l, at, next, p.unit, p.speed))
		at = next
	}
	p.first = newSteady(secondsPerUnit(p.legs[0].From, p.unit, p.speed))
	p.last = newSteady(secondsPerUnit(p.legs[len(p.legs)-1].To, p.unit, p.speed))
	p.end = newCorner(at)
	if p.constant {
		p.spans, p.end, p.last = nil, corner{}, p.first
	}
}

// Seconds is the time at a place, in seconds from the voice's start.
//
// For a path of one tempo it is wrong by less than 2^-52 of itself; otherwise
// by less than 2^-48 of the time at the end of the leg, an eighth of a
// nanosecond in ten hours. It never decreases while units grow by more than
// 2^-48 of the units at the end of the leg.
func (p *Path) Seconds(units float64) float64 {
	if len(p.spans) == 0 || units <= 0 {
		return p.first.seconds(units)
	}
	if past := p.end.unitsSince(units); past >= 0 {
		return p.end.sec.hi + (p.last.seconds(past) + p.end.sec.lo)
	}
	i := sort.Search(len(p.spans), func(i int) bool { return p.spans[i].end.unitsSince(units) < 0 })
	return p.spans[i].seconds(units)
}

// Units is the place at a time, in units from the voice's start: the inverse
// of Seconds. It is as precise, in units: 2^-48 of the units at the end of the
// leg, and what 2^-48 of the time at the end of the leg is in units there.
func (p *Path) Units(seconds float64) float64 {
	if len(p.spans) == 0 || seconds <= 0 {
		return p.first.units(seconds)
	}
	if past := p.end.secondsSince(seconds); past >= 0 {
		return p.end.unit.hi + (p.last.units(past) + p.end.unit.lo)
	}
	i := sort.Search(len(p.spans), func(i int) bool { return p.spans[i].end.secondsSince(seconds) < 0 })
	return p.spans[i].units(seconds)
}

// Tempo is the tempo at a place in quarter notes a minute, the voice's speed
// included, within 2^-48 of itself. Where it jumps, it is the new one.
func (p *Path) Tempo(units float64) float64 {
	secondsPerUnit := p.first.hi
	switch {
	case len(p.spans) == 0 || units < 0:
	case p.end.unitsSince(units) >= 0:
		secondsPerUnit = p.last.hi
	default:
		i := sort.Search(len(p.spans), func(i int) bool { return p.spans[i].end.unitsSince(units) < 0 })
		secondsPerUnit = p.spans[i].slope(units)
	}
	return 240 * p.unit.Float64() / secondsPerUnit
}

// SecondsPerUnit is the exact duration of a unit, when the path has one
// constant tempo.
func (p *Path) SecondsPerUnit() (exact.Real, bool) {
	if !p.constant {
		return exact.Real{}, false
	}
	return secondsPerUnit(p.tempo, p.unit, p.speed), true
}

// Faster is the path with all its times divided by factor.
func (p *Path) Faster(factor exact.Real) *Path {
	faster := *p
	faster.speed = p.speed.Mul(factor)
	if len(p.legs) == 0 {
		return Constant(p.tempo, p.unit, faster.speed)
	}
	faster.layOut()
	return &faster
}

// steady is a constant tempo: seconds per unit as a float64 and what that
// leaves of the exact value, and the same for units per second.
type steady struct {
	hi, lo         float64
	perSec, restOf float64
}

func newSteady(secondsPerUnit exact.Real) steady {
	var s steady
	s.hi, s.lo = twoFloats(secondsPerUnit.Float(boundBits))
	s.perSec, s.restOf = twoFloats(secondsPerUnit.Inv().Float(boundBits))
	return s
}

func (s steady) seconds(units float64) float64 { return math.FMA(units, s.hi, units*s.lo) }

func (s steady) units(seconds float64) float64 { return math.FMA(seconds, s.perSec, seconds*s.restOf) }

// twoFloats is x as the sum of its nearest float64 and the float64 nearest to
// the rest.
func twoFloats(x *big.Float) (hi, lo float64) {
	hi, _ = x.Float64()
	if math.IsInf(hi, 0) {
		return hi, 0
	}
	lo, _ = new(big.Float).SetPrec(x.Prec()).Sub(x, new(big.Float).SetFloat64(hi)).Float64()
	return hi, lo
}
