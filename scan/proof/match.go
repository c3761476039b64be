package proof

import (
	"cmp"
	"math"
	"slices"
)

// answerShare is how much of the shorter of two slots must lie within the other
// for them to answer each other, and answerMM at least how much.
const (
	answerShare = 1.0 / 3
	answerMM    = 0.2
)

// matcher finds which slots answer each other, and says how they differ.
type matcher struct {
	plan      *strip
	found     []slot // of the scan, with the edges on the plan; by lead
	byPort    [][]int32
	tolerance float64

	out      []Difference
	same     int
	from, to float64 // of the plan, what is in common
}

func newMatcher(p, s *strip, m *Map, toleranceMM float64) *matcher {
	c := &matcher{plan: p, tolerance: toleranceMM + 1e-9, byPort: s.byPort, from: math.Inf(1), to: math.Inf(-1)}
	c.found = slices.Clone(s.slots)
	for i := range c.found {
		t := &c.found[i]
		t.lead, t.trail = c.onPlan(m, t)
	}
	return c
}

// onPlan are the edges of a slot on the plan. One that a break crosses may have
// been cut before the paper was parted, or be whole on either side: that is taken
// which comes nearest to a planned slot.
func (c *matcher) onPlan(m *Map, t *slot) (lead, trail float64) {
	lead, trail = m.ToPlan(t.lead), m.ToPlan(t.trail)
	if len(m.pieces) < 2 {
		return lead, trail
	}
	before, after := m.at(t.lead), m.at(t.trail)
	if before == after {
		return lead, trail
	}
	off := math.Inf(1)
	for _, edges := range [][2]float64{
		{lead, t.trail + before.offset(t.trail)}, {t.lead + after.offset(t.lead), trail}, {lead, trail},
	} {
		if d := c.apart(t.port, edges[0], edges[1]); d < off-1e-9 {
			lead, trail, off = edges[0], edges[1], d
		}
	}
	return lead, trail
}

// apart is how far the edges of a port's planned slots lie off two places, of the
// nearest one, both edges together.
func (c *matcher) apart(port int32, lead, trail float64) float64 {
	list := c.plan.byPort[port]
	i, _ := slices.BinarySearchFunc(list, lead, func(j int32, at float64) int {
		return cmp.Compare(c.plan.slots[j].lead,
			at)
	})
	off := math.Inf(1)
	for _, j := range list[max(i-1, 0):min(i+1, len(list))] {
		p := &c.plan.slots[j]
		off = min(off, math.Abs(p.lead-lead)+math.Abs(p.trail-trail))
	}
	return off
}

func (c *matcher) match() {
	for port := range c.plan.byPort {
		m := portMatch{matcher: c, plan: slices.Clone(c.plan.byPort[port]), found: slices.Clone(c.byPort[port])}
		m.equal()
		m.answering()
		m.moved()
		m.rest()
	}
	if c.from > c.to { // nothing in common
		c.from, c.to = 0, c.plan.endMM()
	}
}

// common notes a planned slot that the scan has, whatever it looks like.
func (c *matcher) common(j int32) {
	p := &c.plan.slots[j]
	c.from, c.to = min(c.from, p.lead), max(c.to, p.trail)
}

// portMatch matches the slots of one port: indices into plan.slots and found
// that have no answer yet, in order.
type portMatch struct {
	*matcher
	plan, found []int32
}

func (m *portMatch) planned(j int32) *slot { return &m.matcher.plan.slots[j] }

// equal takes away the slots that are as planned.
func (m *portMatch) equal() {
	var plan, found []int32
	k := 0
	taken := make(map[int32]bool, len(m.found))
	for _, j := range m.plan {
		p := m.planned(j)
		for k < len(m.found) && m.matcher.found[m.found[k]].lead < p.lead-m.tolerance {
			k++
		}
		best, off := int32(-1), math.Inf(1)
		for n := k; n < len(m.found); n++ {
			f := &m.matcher.found[m.found[n]]
			if f.lead > p.lead+m.tolerance {
				break
			}
			d := math.Abs(f.lead-p.lead) + math.Abs(f.trail-p.trail)
			if math.Abs(f.trail-p.trail) <= m.tolerance && d < off && !taken[m.found[n]] {
				best, off = m.found[n], d
			}
		}
		if best < 0 {
			plan = append(plan, j)
			continue
		}
		taken[best] = true
		m.same++
		m.common(j)
	}
	for _, i := range m.found {
		if !taken[i] {
			found = append(found, i)
		}
	}
	m.plan, m.found = plan, found
}

// link says that a planned slot and a found one overlap.
type link struct {
	plan, found int32
	mm          float64
}

// links are the pairs that answer each other.
func (m *portMatch) links() []link {
	var out []link
	from := 0
	for _, j := range m.plan {
		p := m.planned(j)
		for from < len(m.found) && m.matcher.found[m.found[from]].trail <= p.lead {
			from++
		}
		for n := from; n < len(m.found); n++ {
			f := &m.matcher.found[m.found[n]]
			if f.lead >= p.trail {
				break
			}
			mm := min(p.trail, f.trail) - max(p.lead, f.lead)
			if mm >= max(answerMM, answerShare*min(p.length(), f.length())) {
				out = append(out, link{j, m.found[n], mm})
			}
		}
	}
	return out
}

// answering says what the slots are that overlap.
func (m *portMatch) answering() {
	links := untangled(m.links())
	for len(links) > 0 {
		n := 1
		for n < len(links) && (links[n].plan == links[0].plan || links[n].found == links[0].found) {
			n++
		}
		m.group(links[:n])
		links = links[n:]
	}
}

// untangled leaves of links that hang together in both directions the widest, so
// that each group is one slot against one or several.
func untangled(links []link) []link {
	for {
		worst := -1
		for i, l := range links {
			many := func(same func(link) bool) bool {
				n := 0
				for k := max(i-8, 0); k < min(i+9, len(links)); k++ {
					if same(links[k]) {
						n++
					}
				}
				return n > 1
			}
			tangled := many(func(o link) bool { return o.plan == l.plan }) &&
				many(func(o link) bool { return o.found == l.found })
			if tangled && (worst < 0 || l.mm < links[worst].mm) {
				worst = i
			}
		}
		if worst < 0 {
			return links
		}
		links = slices.Delete(links, worst, worst+1)
	}
}

// group says what one planned slot and one or several found ones are, or the other
// way round.
func (m *portMatch) group(links []link) {
	d := Difference{Port: m.planned(links[0].plan).port}
	for _, l := range links {
		if len(d.Plan) == 0 || d.Plan[len(d.Plan)-1] != l.plan {
			d.Plan = append(d.Plan, l.plan)
		}
		if len(d.Found) == 0 || d.Found[len(d.Found)-1] != l.found {
			d.Found = append(d.Found, l.found)
		}
	}
	switch {
	case len(d.Plan) > 1:
		d.Kind = Joined
	case len(d.Found) > 1:
		d.Kind = Split
	default:
		kind, ok := m.kindOf(m.planned(d.Plan[0]), &m.matcher.found[d.Found[0]])
		if !ok {
			return // one missing, one extra, unless they answer to others
		}
		d.Kind = kind
	}
	m.take(d)
}

// kindOf is how one slot differs from the planned one that it answers; false when
// it lies too far off to be that one.
func (m *portMatch) kindOf(p, f *slot) (Kind, bool) {
	lead, trail := f.lead-p.lead, f.trail-p.trail
	both := min(math.Abs(lead), math.Abs(trail)) > m.tolerance && lead*trail > 0
	switch {
	case both && math.Abs(lead-trail) <= m.tolerance:
		return Shifted, math.Abs(lead+trail)/2 <= nearMM
	case trail < lead:
		return Short, true
	}
	return Long, true
}

// moved pairs slots of one length that do not overlap.
func (m *portMatch) moved() {
	type pair struct {
		plan, found int32
		mm          float64
	}
	var pairs []pair
	for _, j := range m.plan {
		p := m.planned(j)
		for _, i := range m.found {
			f := &m.matcher.found[i]
			off := ((f.lead - p.lead) + (f.trail - p.trail)) / 2
			if math.Abs(off) <= nearMM && math.Abs(f.length()-p.length()) <= m.tolerance {
				pairs = append(pairs, pair{j, i, math.Abs(off)})
			}
		}
	}
	slices.SortStableFunc(pairs, func(a, b pair) int { return cmp.Compare(a.mm, b.mm) })
	for _, c := range pairs {
		if slices.Contains(m.plan, c.plan) && slices.Contains(m.found, c.found) {
			m.take(Difference{Kind: Shifted, Port: m.planned(c.plan).port, Plan: []int32{c.plan}, Found: []int32{c.found}})
		}
	}
}

// rest are the slots that nothing answers.
func (m *portMatch) rest() {
	for len(m.plan) > 0 {
		m.take(Difference{Kind: Missing, Port: m.planned(m.plan[0]).port, Plan: m.plan[:1:1]})
	}
	for len(m.found) > 0 {
		m.take(Difference{Kind: Extra, Port: m.matcher.found[m.found[0]].port, Found: m.found[:1:1]})
	}
}

// take lists a difference, whose slots then have their answer.
func (m *portMatch) take(d Difference) {
	if n := len(d.Plan); n > 0 {
		d.LeadMM, d.TrailMM = m.planned(d.Plan[0]).lead, m.planned(d.Plan[n-1]).trail
	}
	if n := len(d.Found); n > 0 {
		d.FoundLeadMM, d.FoundTrailMM = m.matcher.found[d.Found[0]].lead, m.matcher.found[d.Found[n-1]].trail
	}
	m.plan, m.found = without(m.plan, d.Plan), without(m.found, d.Found)
	for i, j := range d.Plan {
		if len(d.Found) > 0 {
			m.common(j)
		}
		d.Plan[i] = m.planned(j).at
	}
	for i, k := range d.Found {
		d.Found[i] = m.matcher.found[k].at
	}
	m.out = append(m.out, d)
}

// without is list, which is in order, less the members of taken.
func without(list, taken []int32) []int32 {
	if len(taken) == 1 && len(list) > 0 && list[0] == taken[0] {
		return list[1:]
	}
	out := make([]int32, 0, len(list))
	for _, x := range list {
		if !slices.Contains(taken, x) {
			out = append(out, x)
		}
	}
	return out
}
