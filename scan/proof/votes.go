package proof

import (
	"cmp"
	"math"
	"slices"
)

// The numbers of the first, rough registration: each window of the scan asks
// where on the plan it could lie.
const (
	windowSlots  = 32        // of the scan in a window, about
	mostWindows  = 256       // windows grow on longer scans
	mostVotes    = 3_000_000 // slots of a window are sampled beyond
	ownPeaks     = 8         // places that a window proposes
	mostPlaces   = 40        // and has to weigh, with those of its neighbours
	stretchShare = 0.02      // what paper may have stretched from window to window
	lengthMM     = 1.2       // slots of one length differ by at most that, and a fiftieth
)

// window is a run of the scan's slots with what they vote for.
type window struct {
	begin, end int // of the scan's slots
	centreMM   float64
	halfMM     float64 // votes for one place lie within so much of each other, either way
	votes      []vote  // by offset
	sampled    int     // slots that may vote
	places     []place
}

// vote says that a slot of the scan would be one of the plan if the scan lay
// moved by offset.
type vote struct {
	offset float64 // plan less scan
	slot   int32
}

// place is where a window may lie on the plan.
type place struct {
	offset float64
	score  float64 // slots that agree
	best   float64 // of the best way here, see walk
	from   int     // place of the window before on that way
}

// alikeLength reports whether two slots may be the same by their lengths.
func alikeLength(a, b float64) bool {
	return math.Abs(a-b) <= lengthMM+0.02*max(a, b)
}

// windows parts the scan and lets each part vote.
func windows(p, s *strip) []window {
	n := len(s.slots)
	count := min(max((n+windowSlots/2)/windowSlots, 1), mostWindows)
	pairs := 0
	for port := range s.byPort {
		pairs += len(s.byPort[port]) * len(p.byPort[port])
	}
	every := 1 + pairs/mostVotes
	out := make([]window, count)
	for i := range out {
		w := &out[i]
		w.begin, w.end = i*n/count, (i+1)*n/count
		first, last := s.slots[w.begin].lead, s.slots[w.end-1].lead
		w.centreMM = (first + last) / 2
		w.halfMM = 1 + (last-first)/2*stretchShare
		w.vote(p, s, every)
	}
	return out
}

// vote collects the votes of every so many slots.
func (w *window) vote(p, s *strip, every int) {
	for i := w.begin; i < w.end; i += every {
		t := &s.slots[i]
		w.sampled++
		for _, j := range p.byPort[t.port] {
			if o := &p.slots[j]; alikeLength(o.length(), t.length()) {
				w.votes = append(w.votes, vote{o.lead - t.lead, int32(i)})
			}
		}
	}
	slices.SortFunc(w.votes, func(a, b vote) int { return cmp.Compare(a.offset, b.offset) })
}

// scoreAt is how many slots vote for a place near offset, and the middle of their
// votes.
func (w *window) scoreAt(offset, reachMM float64) (score, middle float64) {
	begin, _ := slices.BinarySearchFunc(w.votes, offset-reachMM,
		func(v vote, at float64) int { return cmp.Compare(v.offset, at) })
	best, bestAt := 0, offset
	to := begin
	counts := map[int32]int{}
	for from := begin; from < len(w.votes) && w.votes[from].offset <= offset+reachMM; from++ {
		for to < len(w.votes) && w.votes[to].offset <= w.votes[from].offset+2*w.halfMM {
			counts[w.votes[to].slot]++
			to++
		}
		middle := (w.votes[from].offset + w.votes[to-1].offset) / 2
		if n := len(counts); n > best || n == best && math.Abs(middle-offset) < math.Abs(bestAt-offset) {
			best, bestAt = n, middle
		}
		if c := counts[w.votes[from].slot]; c == 1 {
			delete(counts, w.votes[from].slot)
		} else {
			counts[w.votes[from].slot] = c - 1
		}
	}
	return float64(best), bestAt
}

// peaks proposes the places with most votes; among equals those nearest to
// nominal.
func (w *window) peaks(nominal float64) []place {
	var all []place
	counts := make(map[int32]int, 64)
	to := 0
	for from := range w.votes {
		for to < len(w.votes) && w.votes[to].offset <= w.votes[from].offset+2*w.halfMM {
			counts[w.votes[to].slot]++
			to++
		}
		if n := len(counts); 3*n >= w.sampled || n >= 6 {
			all = append(all, place{offset: (w.votes[from].offset + w.votes[to-1].offset) / 2, score: float64(n)})
		}
		if c := counts[w.votes[from].slot]; c == 1 {
			delete(counts, w.votes[from].slot)
		} else {
			counts[w.votes[from].slot] = c - 1
		}
	}
	slices.SortFunc(all, func(a, b place) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(math.Abs(a.offset-nominal), math.Abs(b.offset-nominal)),
			cmp.Compare(a.offset, b.offset))
	})
	var out []place
	for _, c := range all {
		if len(out) == ownPeaks {
			break
		}
		if !slices.ContainsFunc(out, func(o place) bool { return math.Abs(o.offset-c.offset) < 2*w.halfMM }) {
			out = append(out, c)
		}
	}
	return out
}
