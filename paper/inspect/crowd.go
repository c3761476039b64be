package inspect

// trails are the trailing edges of open slots: a heap with the next to end on
// top.
type trails []float64

// add drops the slots that end at or before lead and adds one.
func (t *trails) add(lead, trail float64) {
	for len(*t) > 0 && (*t)[0] <= lead+noiseMM {
		t.pop()
	}
	h := append(*t, trail)
	for i := len(h) - 1; i > 0 && h[(i-1)/2] > h[i]; i = (i - 1) / 2 {
		h[(i-1)/2], h[i] = h[i], h[(i-1)/2]
	}
	*t = h
}

func (t *trails) pop() {
	h := *t
	n := len(h) - 1
	h[0] = h[n]
	h = h[:n]
	for i := 0; ; {
		least := i
		for child := 2*i + 1; child <= 2*i+2 && child < n; child++ {
			if h[child] < h[least] {
				least = child
			}
		}
		if least == i {
			break
		}
		h[i], h[least] = h[least], h[i]
		i = least
	}
	*t = h
}

// together looks at the slots that are open once all that begin in one row
// have begun: how many notes, and how much of the row they cut away where
// their holes are widest.
func (s *sweep) together() {
	if s.begins < 0 {
		return
	}
	i := s.begins
	s.begins = -1
	if notes := len(s.openNotes); notes > s.facts.AtOnce {
		s.facts.AtOnce, s.facts.AtOnceMM = notes, s.roll.Slots[i].LeadMM
	}
	share := float64(len(s.open)) * s.in.Die.DiameterMM / s.in.Paper.WidthMM
	s.facts.RowShare = max(s.facts.RowShare, share)
	if notes := len(s.openNotes); notes > s.in.Action.NotesAtOnce {
		f := s.at(AtOnce, Risks, i)
		f.Value, f.Limit = float64(notes), float64(s.in.Action.NotesAtOnce)
		f.Port, f.Key, f.At = 0, -1, s.spot(f.Voice, holdOf)
		s.tell(f)
	}
	if limit := s.in.Paper.RowShare; limit > 0 && share > limit {
		f := s.at(RowCutAway, Risks, i)
		f.Value, f.Limit, f.Unit = 100*share, 100*limit, "%"
		f.Port, f.Key, f.At = 0, -1, s.spot(f.Voice, holdOf)
		s.tell(f)
	}
}

// passage counts the strokes of the last second, and tells once of every
// stretch in which they stay over the limit.
type passage struct {
	oldest int // slot
	count  int
	peak   int
	worst  Finding
	over   bool
}

// stroke counts slot i, a note's.
func (p *passage) stroke(s *sweep, i int) {
	slots, transport := s.roll.Slots, &s.in.Transport
	now := transport.Sec(slots[i].LeadMM)
	since := transport.AlongMM(now-1) + noiseMM
	p.count++
	for ; slots[p.oldest].LeadMM <= since; p.oldest++ {
		if s.in.Bar.Ports[slots[p.oldest].Port].Role == 0 {
			p.count--
		}
	}
	if p.count > s.facts.Rate {
		s.facts.Rate, s.facts.RateSec = p.count, now
	}
	limit := s.in.Action.NotesASecond
	switch over := limit > 0 && float64(p.count) > limit; {
	case over && p.count > p.peak:
		p.over, p.peak = true, p.count
		p.worst = s.at(Rate, Risks, i)
		p.worst.Value, p.worst.Limit, p.worst.Unit = float64(p.count), limit, "1/s"
		p.worst.Port, p.worst.Key, p.worst.At = 0, -1, s.spot(p.worst.Voice, timeOf)
	case !over:
		p.end(s)
	}
}

// end tells of the stretch that ends.
func (p *passage) end(s *sweep) {
	if p.over {
		s.tell(p.worst)
		p.over, p.peak = false, 0
	}
}
