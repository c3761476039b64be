package plan

import (
	"math"
	"slices"
)

// equalSpeeds finds when two voices play as many units a second, while both
// are playing. It is asked only where a tempo changes.
//
// Between the boundaries of legs the ratio of the speeds is smooth; it is
// looked at in a fixed number of places there and a change of sign is closed
// in on by halving.
func equalSpeeds(a, b *part) []EqualTime {
	out := []EqualTime{}
	if a.steady() && b.steady() || a.frame == b.frame && a.hasUnit && b.hasUnit {
		return out
	}
	r := race{a, b}
	from, to := max(a.startSec, b.startSec), min(a.endSec, b.endSec)
	if to-from < 4*legMargin {
		return out
	}
	edges := append(a.edges(), b.edges()...)
	edges = append(edges, from, to)
	slices.Sort(edges)
	edges = slices.DeleteFunc(edges, func(t float64) bool { return t < from || t > to })
	edges = slices.CompactFunc(edges, func(s, t float64) bool { return math.Abs(s-t) < 4*legMargin })
	return r.merge(r.samples(edges))
}

// steady reports whether the voice keeps one tempo.
func (p *part) steady() bool {
	return p.line.Steady()
}

// edges are the instants at which a tempo may jump or begin to change: the ends of legs of
// all tempo paths, in piece time.
func (p *part) edges() []float64 { return append(p.legEdges(), p.line.BendEdges()...) }

// legEdges are the instants at which one leg of the voice's own tempo path gives way to the
// next, in piece time.
func (p *part) legEdges() []float64 {
	var edges []float64
	units, sec := 0.0, 0.0
	speed := p.line.Speed.Float64()
	for _, leg := range p.voice.Path {
		if leg.OverUnits.Sign() > 0 {
			units += leg.OverUnits.Float64()
			sec = p.line.Path.Seconds(units)
		} else {
			sec += leg.OverSec.Float64() / speed
			units = p.line.Path.Units(sec)
		}
		edges = append(edges, p.line.SecondsAt(units))
	}
	return edges
}

// race compares the speeds of two voices in piece time.
type race struct{ a, b *part }

// lead is the logarithm of A's speed over B's at an instant.
func (r race) lead(t float64) float64 {
	return math.Log(r.b.secondsPerUnit(r.b.unitsAt(t)) / r.a.secondsPerUnit(r.a.unitsAt(t)))
}

// unitsAt is where the voice is at an instant.
func (p *part) unitsAt(t float64) float64 { return p.line.UnitsAt(t) }

// sample is the lead at an instant; at is the instant to name, which beside
// the edge of a leg is the edge.
type sample struct {
	at, t, lead float64
	edge        int // 1: right after an edge, 2: right before one
}

const (
	legMargin  = 1e-7 // seconds beside an edge
	equalLead  = 1e-11
	edgeLead   = 1e-6 // what a lead may be beside an edge and count as 0 on it
	legSamples = 64
)

// samples looks at each stretch between two edges.
func (r race) samples(edges []float64) []sample {
	var out []sample
	look := func(at, t, zero float64, edge int) {
		lead := r.lead(t)
		if math.Abs(lead) < zero {
			lead = 0
		}
		out = append(out, sample{at, t, lead, edge})
	}
	for i := 1; i < len(edges); i++ {
		from, to := edges[i-1], edges[i]
		look(from, from+legMargin, edgeLead, 1)
		for k := 1; k < legSamples; k++ {
			t := from + (to-from)*float64(k)/legSamples
			look(t, t, equalLead, 0)
		}
		look(to, to-legMargin, edgeLead, 2)
	}
	return out
}

// merge turns samples into instants and stretches of equal speed.
func (r race) merge(s []sample) []EqualTime {
	out := []EqualTime{}
	for i := 0; i < len(s); i++ {
		switch {
		case s[i].lead == 0:
			last := i
			for last+1 < len(s) && s[last+1].lead == 0 {
				last++
			}
			out = append(out, r.equal(s[i].at, s[last].at, false))
			i = last
		case i+1 < len(s) && s[i+1].lead != 0 && (s[i].lead < 0) != (s[i+1].lead < 0):
			if s[i].edge == 2 {
				out = append(out, r.equal(s[i].at, s[i].at, true))
				continue
			}
			t := r.close(s[i].t, s[i+1].t)
			out = append(out, r.equal(t, t, false))
		}
	}
	return out
}

// close halves an interval in which the lead changes its sign.
func (r race) close(from, to float64) float64 {
	negative := r.lead(from) < 0
	for range 60 {
		middle := from + (to-from)/2
		if (r.lead(middle) < 0) == negative {
			from = middle
		} else {
			to = middle
		}
	}
	return from + (to-from)/2
}

func (r race) equal(from, to float64, jump bool) EqualTime {
	return EqualTime{Seconds(sixDigits(from)), Seconds(sixDigits(to)), sixDigits(r.a.unitsAt(from)),
		sixDigits(r.b.unitsAt(from)), jump}
}

// sixDigits rounds a time or a place to a millionth of a second or unit: an
// instant found by halving is no more certain.
func sixDigits(x float64) float64 { return math.Floor(x*1e6+0.5) / 1e6 }
