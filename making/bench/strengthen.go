package bench

import (
	"math"
	"slices"

	"rollwright/paper/roll"
	"rollwright/paper/tear"
)

// alone are the chains as each would be laid by itself: by the rules, as
// near to the roll's own places as these allow; where they allow the places, there.
func (s *sharing) alone() [][]int32 {
	used := s.used
	s.used = nil // no row costs anything
	defer func() { s.used = used }()
	out := make([][]int32, len(s.spans))
	for i, c := range s.spans {
		own := s.now[c.slot]
		beside := make([]int32, c.last-c.first+1)
		next := 0
		for k := range beside {
			dial := s.base + int64(c.first) + int64(k)
			for next+1 < len(own) && own[next+1] <= dial {
				next++
			}
			off := dial - own[next]
			if next+1 < len(own) {
				off = min(off, own[next+1]-dial)
			}
			beside[k] = besideCost * int32(min(off, mostBeside))
		}
		out[i] = s.path(c, 1, beside, nil)
	}
	return out
}

// besideCost is what a place costs for every part by which it stands beside the
// nearest of the roll's own, and a stroke costs 1.
const besideCost = 4

// mostBeside is farther than two places of a chain lie apart, in parts.
const mostBeside = 1000

// strengthen lays chains anew where common rows have made the weakest line of the
// roll weaker than it is with every hole on the part nearest to its place: holes that
// stand in one row leave less paper between them than holes that do not. First the
// places are made dearer through which the weak line runs; chains for which that does
// not help are laid alone: on those parts, or, where the dial is so coarse that the
// parts break a rule of the chain, as near to them as the rules allow.
func (s *sharing) strengthen(chains, alone [][]int32) {
	least, ok := tear.Weakest(s.asItIs())
	if !ok {
		return
	}
	s.countUse(chains)
	avoid := make([][]int32, len(s.spans))
	for round := 1; ; round++ {
		out := s.roll(chains)
		weaker := tear.Below(out, least.LeftMM-roll.NoiseMM)
		changed := false
		for _, line := range weaker {
			for _, at := range s.crossed(out, &line) {
				n := at.chain
				if round <= mostRounds {
					changed = s.aside(n, at.alongMM, chains, avoid) || changed
				} else if !slices.Equal(chains[n], alone[n]) {
					s.replace(chains, n, alone[n])
					changed = true
				}
			}
		}
		if !changed && (len(weaker) == 0 || round > mostRounds) {
			return
		}
	}
}

// mostRounds is how often places are made dearer before chains are laid alone.
const mostRounds = 4

// countUse counts anew what rows chains need.
func (s *sharing) countUse(chains [][]int32) {
	s.used = make([]int32, s.length)
	for i, c := range s.spans {
		s.used[c.first]++
		s.used[c.last]++
		for _, at := range inner(chains[i]) {
			s.used[at]++
		}
	}
}

// replace puts another chain in place of one.
func (s *sharing) replace(chains [][]int32, n int, by []int32) {
	for _, at := range inner(chains[n]) {
		s.used[at]--
	}
	for _, at := range inner(by) {
		s.used[at]++
	}
	chains[n] = by
}

// crossing is a chain that a line runs through, and where.
type crossing struct {
	chain   int
	alongMM []float64
}

// crossed are the chains that a line runs through.
func (s *sharing) crossed(out *roll.Roll, line *tear.Line) []crossing {
	type begin struct { // which no two slots have in common
		port  int32
		along float64
	}
	ports := out.Instrument.Bar.Ports
	byPort := map[int32][]float64{}
	for _, p := range line.Path {
		for port := range ports {
			if ports[port].AcrossMM == p.AcrossMM {
				byPort[int32(port)] = append(byPort[int32(port)], p.AlongMM)
			}
		}
	}
	begins := map[begin]bool{}
	for _, i := range line.Slots {
		begins[begin{out.Slots[i].Port, out.Slots[i].FirstMM}] = true
	}
	var found []crossing
	for n, c := range s.spans {
		port := s.roll0.Slots[c.slot].Port
		if begins[begin{port, s.crank.MM(s.base + int64(c.first))}] {
			found = append(found, crossing{n, byPort[port]})
		}
	}
	return found
}

// aside lays a chain anew with the places dearer whose holes a line runs through,
// and reports whether it has become another.
func (s *sharing) aside(n int, along []float64, chains, avoid [][]int32) bool {
	c := s.spans[n]
	if avoid[n] == nil {
		avoid[n] = make([]int32, c.last-c.first+1)
	}
	reach := s.roll0.Instrument.Die.DiameterMM/2 + roll.NoiseMM
	for _, at := range inner(chains[n]) {
		for _, mm := range along {
			if math.Abs(s.crank.MM(s.base+int64(at))-mm) <= reach {
				avoid[n][at-c.first] += rowCost
				break
			}
		}
	}
	for _, at := range inner(chains[n]) {
		s.used[at]--
	}
	before := chains[n]
	chains[n] = s.path(c, strokeCosts[0], avoid[n], nil)
	for _, at := range inner(chains[n]) {
		s.used[at]++
	}
	return !slices.Equal(before, chains[n])
}
