package bench

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"rollwright/paper/roll"
)

// Share puts the punches inside chains on rows that are needed anyway, so that
// the crank has fewer places to stop at, and returns the roll as it is punched at
// the bench: every punch on a part of the dial. What sounds stays: the first and
// the last punch of a slot stand on the parts nearest to their places, and between
// them the chain keeps its rules, counted in parts of the dial:
//
//   - overlapping punches stand at most slot_spacing apart, rounded down;
//   - from the first punch on they overlap over the open beginning, rounded down;
//   - beyond it a web may stand between two, from web_min to what bridge_spacing
//     makes, and never wider than keeps the port open;
//   - nothing between: neither slivers nor necks.
//
// Strokes are at most 1.05 times those of the roll as it is, or a few more where a
// short roll's dial is too coarse for its chains. Of a roll that has
// begun cut holds the holes in the paper: a chain of which some are cut goes on
// from them by the rules, whatever became of the piece. A roll that is shared
// already stays as it is.
func Share(r *roll.Roll, p *Profile, cut ...Place) *roll.Roll {
	if p == nil || p.Crank.TurnMM <= 0 || p.Crank.Parts < 1 || shared(r) {
		return r
	}
	s := newSharing(r, p)
	if s == nil {
		return r
	}
	alone := s.alone()
	best := s.run(strokeCosts[0])
	for _, cost := range strokeCosts[1:] {
		if best.strokes <= s.mostStrokes {
			break
		}
		best = s.run(cost)
	}
	if best.strokes > s.mostStrokes || best.rows > s.rowsNow {
		best.chains = slices.Clone(alone)
	} else {
		s.strengthen(best.chains, alone)
	}
	s.keep(best.chains, cut)
	return s.roll(best.chains)
}

// Place is a hole in the paper of a roll that has begun.
type Place struct{ AcrossMM, AlongMM float64 }

// shared reports whether a bench has arranged the roll.
func shared(r *roll.Roll) bool { return len(r.Slots) > 0 && r.Slots[0].Own != nil }

// keep lays those chains anew of which holes are cut that the chain does not
// have: through the holes that are there, and on from the last of them.
func (s *sharing) keep(chains [][]int32, cut []Place) {
	if len(cut) == 0 {
		return
	}
	ports := s.roll0.Instrument.Bar.Ports
	byPort := make([][]int32, len(ports))
	for _, h := range cut {
		for i := range ports {
			if math.Abs(ports[i].AcrossMM-h.AcrossMM) < notchMM {
				byPort[i] = append(byPort[i], int32(s.crank.nearestPart(h.AlongMM)-s.base))
			}
		}
	}
	for i := range byPort {
		slices.Sort(byPort[i])
	}
	for i, c := range s.spans {
		var there []int32
		for _, at := range byPort[s.roll0.Slots[c.slot].Port] {
			if at >= c.first && at <= c.last {
				there = append(there, at)
			}
		}
		foreign := slices.ContainsFunc(there, func(at int32) bool { return !slices.Contains(chains[i], at) })
		if !foreign {
			continue
		}
		if there[0] != c.first {
			there = slices.Insert(there, 0, c.first)
		}
		chains[i] = s.onward(c, slices.Compact(there))
	}
}

// onward is a chain that begins with holes that are there.
func (s *sharing) onward(c span, there []int32) []int32 {
	last := there[len(there)-1]
	beginning := s.gaps.beginning
	s.gaps.beginning = max(beginning-(last-c.first), 0)
	rest := s.path(span{c.slot, last, c.last}, strokeCosts[0], nil, nil)
	s.gaps.beginning = beginning
	return append(there[:len(there)-1], rest...)
}

// strokeCosts are what a stroke more may cost beside a row more, which costs
// rowCost: cheap at first, dear where that makes too many strokes.
var strokeCosts = []int32{1, 4, 8, 16, 32}

const (
	rowCost       = 20
	mostOrders    = 4    // orders in which chains are laid, the best of which is taken
	sweeps        = 8    // how often every chain is laid again beside the others
	moreStrokes   = 1.05 // of the strokes of the roll as it is
	mostPartsRoll = 20e6 // a longer roll keeps its rows: its dial would not fit into memory
)

// span is a slot on the dial: its ends, from the lowest dial of the roll.
type span struct {
	slot        int
	first, last int32
}

// sharing is the work of Share.
type sharing struct {
	roll0  *roll.Roll
	crank  Crank
	base   int64 // the lowest dial
	spans  []span
	used   []int32 // by dial: strokes there, ends of slots counted for good
	gaps   gaps
	cost   []int32 // of the paths of one chain
	from   []int32
	now    [][]int64 // the chains as the roll has them
	length int

	mostStrokes, rowsNow int
}

// gaps are what the rules of a chain allow between two punches, in parts.
type gaps struct {
	open          int32 // overlapping: 1 to open
	webLow, webUp int32 // over a web; none where webUp is 0
	beginning     int32 // the open beginning
}

// laid is one try.
type laid struct {
	chains        [][]int32 // by span, from the lowest dial
	rows, strokes int
}

func newSharing(r *roll.Roll, p *Profile) *sharing {
	s := &sharing{roll0: r, crank: p.Crank, now: make([][]int64, len(r.Slots))}
	low, high := int64(math.MaxInt64), int64(math.MinInt64)
	for i := range r.Slots {
		for mm := range r.Punches(&r.Slots[i]) {
			if !(math.Abs(mm) < mostMM) {
				return nil
			}
			dial := p.Crank.nearestPart(mm)
			if n := len(s.now[i]); n == 0 || s.now[i][n-1] != dial {
				s.now[i] = append(s.now[i], dial)
			}
		}
		low, high = min(low, s.now[i][0]), max(high, s.now[i][len(s.now[i])-1])
	}
	if len(r.Slots) == 0 || float64(high-low) > mostPartsRoll {
		return nil
	}
	s.base, s.length = low, int(high-low)+1
	s.gaps = gapsOf(r, p.Crank)
	rows, strokes := make([]bool, s.length), 0
	for i := range r.Slots {
		chain := s.now[i]
		s.spans = append(s.spans, span{i, int32(chain[0] - low), int32(chain[len(chain)-1] - low)})
		strokes += len(chain)
		for _, dial := range chain {
			if !rows[dial-low] {
				rows[dial-low] = true
				s.rowsNow++
			}
		}
	}
	slices.SortFunc(s.spans, func(a, b span) int {
		return cmp.Or(cmp.Compare(a.first, b.first), cmp.Compare(b.last, a.last), cmp.Compare(a.slot, b.slot))
	})
	s.mostStrokes = int(moreStrokes * float64(strokes))
	return s
}

// gapsOf are the rules of a chain on a dial.
func gapsOf(r *roll.Roll, c Crank) gaps {
	in, part := r.Instrument, c.PartMM()
	parts := func(mm float64) int32 { return int32(math.Floor(mm/part + noiseParts)) }
	g := gaps{open: max(parts(in.Chain.SlotSpacingMM), 1)}
	if !in.Chain.Bridged {
		return g
	}
	d := in.Die.DiameterMM
	g.beginning = parts(max(in.Chain.OpenFirstMM-d, 0))
	nearest := int32(math.Ceil(in.BridgeMM()/part - noiseParts))
	g.webUp = max(min(parts(d+in.WebMaxMM()+webNoiseMM), nearest), parts(in.BridgeMM()))
	g.webLow = min(int32(math.Ceil((d+in.Chain.WebMinMM)/part-noiseParts)), g.webUp)
	if g.webLow <= g.open || float64(g.webUp)*part < d { // bridges that overlap are open slots
		g.open, g.webLow, g.webUp = max(g.open, g.webUp), 0, 0
	}
	return g
}

// webNoiseMM is by how much a web may be wider than keeps a port open: see
// Plan.WebTooWide.
const webNoiseMM = 0.01

// run lays all chains, each by the cheapest path beside the others, a few times
// over.
func (s *sharing) run(strokeCost int32) laid {
	var best laid
	for seed := range s.orders() {
		if one := s.try(strokeCost, seed); best.chains == nil || one.rows < best.rows || one.rows == best.rows &&
			one.strokes < best.strokes {
			best = one
		}
	}
	return best
}

// orders is how many orders there is time for: with 1 s in mind, more for a short
// roll than for a long one.
func (s *sharing) orders() int {
	parts := 1
	for _, c := range s.spans {
		parts += int(c.last - c.first)
	}
	return min(max(partsInTime/parts, 1), mostOrders)
}

// partsInTime is how many parts of chains are laid in most of a second.
const partsInTime = 2_500_000

// try lays all chains in one order after another.
func (s *sharing) try(strokeCost int32, seed int) laid {
	s.used = make([]int32, s.length)
	for _, c := range s.spans {
		s.used[c.first]++
		s.used[c.last]++
	}
	out := laid{chains: make([][]int32, len(s.spans))}
	order := make([]int, len(s.spans))
	for i := range order {
		order[i] = i
	}
	rng := rand.New(rand.NewPCG(uint64(seed), 1))
	for range sweeps {
		if seed > 0 {
			rng.Shuffle(len(order), func(a, b int) { order[a], order[b] = order[b], order[a] })
		} else {
			slices.Reverse(order)
		}
		for _, i := range order {
			c := s.spans[i]
			for _, at := range inner(out.chains[i]) {
				s.used[at]--
			}
			out.chains[i] = s.path(c, strokeCost, nil, out.chains[i][:0])
			for _, at := range inner(out.chains[i]) {
				s.used[at]++
			}
		}
	}
	for _, n := range s.used {
		if n > 0 {
			out.rows++
		}
	}
	for _, c := range out.chains {
		out.strokes += len(c)
	}
	return out
}

// inner are the punches of a chain between its ends.
func inner(chain []int32) []int32 {
	if len(chain) < 3 {
		return nil
	}
	return chain[1 : len(chain)-1]
}

// path is the cheapest chain from one end of a slot to the other: every stroke
// costs something, a row that nobody else needs more, and a place as much beside as
// avoid says, by place from the beginning of the slot; nil: nothing.
func (s *sharing) path(c span, strokeCost int32, avoid, into []int32) []int32 {
	n := c.last - c.first
	if n == 0 {
		return append(into, c.first)
	}
	if int(n) >= len(s.cost) {
		s.cost, s.from = make([]int32, 2*n+1), make([]int32, 2*n+1)
	}
	cost, from := s.cost[:n+1], s.from[:n+1]
	const never = math.MaxInt32 / 2
	for i := range cost {
		cost[i] = never
	}
	cost[0] = 0
	reach := func(at, to, by int32) {
		if to > n {
			return
		}
		if by < cost[to] || by == cost[to] && at > from[to] {
			cost[to], from[to] = by, at
		}
	}
	for at := range n {
		if cost[at] >= never {
			continue
		}
		for to := at + 1; to <= at+s.gaps.open && to <= n; to++ {
			reach(at, to, cost[at]+strokeCost+s.rowAt(c.first+to)+besides(avoid, to))
		}
		if at >= s.gaps.beginning && s.gaps.webUp > 0 {
			for to := at + s.gaps.webLow; to <= at+s.gaps.webUp && to <= n; to++ {
				reach(at, to, cost[at]+strokeCost+s.rowAt(c.first+to)+besides(avoid, to))
			}
		}
	}
	for at := n; at > 0; at = from[at] {
		into = append(into, c.first+at)
	}
	into = append(into, c.first)
	slices.Reverse(into)
	return into
}

func (s *sharing) rowAt(dial int32) int32 {
	if s.used == nil || s.used[dial] > 0 {
		return 0
	}
	return rowCost
}

// besides is what a place costs by a list that may be nil.
func besides(avoid []int32, at int32) int32 {
	if avoid == nil {
		return 0
	}
	return avoid[at]
}

// roll is the roll with its chains as laid.
func (s *sharing) roll(chains [][]int32) *roll.Roll {
	own := make([][]int64, len(s.roll0.Slots))
	for i, c := range s.spans {
		for _, at := range chains[i] {
			own[c.slot] = append(own[c.slot], s.base+int64(at))
		}
	}
	return s.standing(own)
}

// asItIs is the roll with every punch on the part nearest to its place.
func (s *sharing) asItIs() *roll.Roll { return s.standing(s.now) }

// standing is the roll with its punches on these parts of the dial.
func (s *sharing) standing(dials [][]int64) *roll.Roll {
	out := *s.roll0
	out.Slots = slices.Clone(s.roll0.Slots)
	radius := out.Instrument.Die.DiameterMM / 2
	for i := range out.Slots {
		slot := &out.Slots[i]
		slot.Own = make([]float64, len(dials[i]))
		for k, dial := range dials[i] {
			slot.Own[k] = s.crank.MM(dial)
		}
		slot.Punches = int32(len(slot.Own))
		slot.FirstMM, slot.LastMM = slot.Own[0], slot.Own[len(slot.Own)-1]
		slot.LeadMM, slot.TrailMM = slot.FirstMM-radius, slot.LastMM+radius
	}
	out.Sort()
	return &out
}

// LeastRows is a number of rows that no arrangement of a roll's chains can be
// under, and why: every end of a slot needs its row. Between two such rows a slot
// that goes on across both has to get from the one to the other by gaps that its
// rules allow; the fewest rows that this takes beside the ends of all slots, found
// by trying all ways, nobody can save. Stretches that do not overlap add up, and
// the best way to part the roll into stretches is taken. What two slots want of
// one stretch counts once, so the bound may be too low.
func LeastRows(r *roll.Roll, p *Profile) int {
	s := newSharing(r, p)
	if s == nil {
		return 0
	}
	s.used = make([]int32, s.length)
	ends := make([]int32, 0, 2*len(s.spans))
	for _, c := range s.spans {
		ends = append(ends, c.first, c.last)
		s.used[c.first]++
		s.used[c.last]++
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	across := make([][]span, len(ends)) // the slots that go on after each end
	for _, c := range s.spans {
		for i, _ := slices.BinarySearch(ends, c.first); ends[i] < c.last; i++ {
			across[i] = append(across[i], c)
		}
	}
	most := make([]int32, len(ends)) // rows that are wanted up to each end, beside the ends
	for i := range ends {
		if i > 0 {
			most[i] = max(most[i], most[i-1])
		}
		for _, c := range across[i] {
			s.wanted(c, ends, i, most)
			most[i+1] = max(most[i+1], most[i]+s.gaps.between(ends[i]-c.first, ends[i+1]-c.first))
		}
	}
	return len(ends) + int(most[len(ends)-1])
}

// wanted raises most at the ends after end i by what one slot wants from there
// on, wherever its last punch before was.
func (s *sharing) wanted(c span, ends []int32, i int, most []int32) {
	far := max(s.gaps.webUp, s.gaps.open)
	low := max(c.first, ends[i]-far+1)
	n := c.last - low
	if int(n) >= len(s.cost) {
		s.cost, s.from = make([]int32, 2*n+1), make([]int32, 2*n+1)
	}
	cost := s.cost[:n+1]
	const never = math.MaxInt32 / 2
	for k := range cost {
		cost[k] = never
		if low+int32(k) <= ends[i] {
			cost[k] = 0
		}
	}
	for k := range n {
		if cost[k] >= never {
			continue
		}
		s.gaps.each(low+k-c.first, c.last-c.first, func(to int32) {
			dial := c.first + to
			by := cost[k]
			if s.used[dial] == 0 && dial > ends[i] {
				by++
			}
			cost[dial-low] = min(cost[dial-low], by)
		})
	}
	for j := i + 1; j < len(ends) && ends[j] <= c.last; j++ {
		least := int32(never)
		for at := max(ends[j]-far+1, low); at <= ends[j]; at++ {
			least = min(least, cost[at-low])
		}
		most[j] = max(most[j], most[i]+least)
	}
}

// each yields where the punch after one at may stand, counted from the first of
// the slot, whose last is at n.
func (g gaps) each(at, n int32, yield func(to int32)) {
	for to := at + 1; to <= at+g.open && to <= n; to++ {
		yield(to)
	}
	if at >= g.beginning && g.webUp > 0 {
		for to := at + g.webLow; to <= at+g.webUp && to <= n; to++ {
			yield(to)
		}
	}
}

// between is how many punches a slot needs at least after one place and before
// another, both counted from its first punch and both punched or better.
func (g gaps) between(from, to int32) int32 {
	n, far := int32(0), max(g.webUp, g.open)
	for at := from; ; n++ {
		if at < g.beginning {
			at += g.open
		} else {
			at += far
		}
		if at >= to {
			return n
		}
	}
}
