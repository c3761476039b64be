package journal

import (
	"cmp"
	"slices"
	"time"

	"rollwright/paper/roll"
)

// State is what a journal says when it is read from beginning to end.
type State struct {
	Head Head
	// the first line could not be read: Head is the one given to Open, which has written it; of Read the zero one
	Headless bool
	Damaged  []int // other lines that could not be read, from 1

	Proved []Stretch // of the paper that were held against the plan, in the order in which that was done

	holes  map[spot]status
	last   Hole // the last one cut, when any
	any    bool
	stints stints

	numbers map[spot]int // of holes to patch, from 1; a number is never given twice
	given   int          // the highest
}

// Stretch is a part of the roll, in millimetres from its zero.
type Stretch struct{ FromMM, ToMM float64 }

// spot is a place in ten-thousandths of a millimetre.
type spot struct{ across, along int64 }

func spotOf(h Hole) spot { return spot{roll.Printed(h.AcrossMM), roll.Printed(h.AlongMM)} }

func (s spot) hole() Hole { return Hole{float64(s.across) / 1e4, float64(s.along) / 1e4} }

// status is what a place is.
type status int8

const (
	cut     status = iota + 1 // a hole
	slipped                   // a hole that was a mistake
	torn                      // a hole in its right place that came out bad
	undone                    // no hole, though one was recorded
	patched                   // a hole that was closed
)

func newState() *State { return &State{holes: map[spot]status{}, numbers: map[spot]int{}} }

func (s *State) apply(r record) {
	if r.kind == kindProved {
		s.Proved = append(s.Proved, Stretch{r.holes[0].AlongMM, r.holes[1].AlongMM})
		return
	}
	for _, h := range r.holes {
		at := spotOf(h)
		switch r.kind {
		case kindCut:
			s.holes[at] = cut
			s.last, s.any = h, true
			delete(s.numbers, at)
		case kindUndo:
			s.holes[at] = undone
			delete(s.numbers, at)
		case kindSlip:
			s.holes[at] = slipped
			s.number(at)
		case kindTorn:
			s.holes[at] = torn
			s.number(at)
		case kindPatch:
			s.holes[at] = patched
			delete(s.numbers, at)
		case kindListed:
			s.number(at)
		}
	}
	s.stints.apply(r)
}

// number gives a hole to patch the next number, unless it has one.
func (s *State) number(at spot) {
	if s.numbers[at] == 0 {
		s.given++
		s.numbers[at] = s.given
	}
}

// Number is the number of a hole to patch, from 1, which it keeps until it is
// closed and no other ever gets; 0: it has none yet.
func (s *State) Number(h Hole) int { return s.numbers[spotOf(h)] }

// Numbers is the highest number that was ever given.
func (s *State) Numbers() int { return s.given }

// Holes are the holes in the paper, slips among them and patched ones not,
// ordered by place along, then across.
func (s *State) Holes() []Hole {
	return s.list(inPaper)
}

// Slips are the holes that were recorded as mistakes and are not yet patched.
func (s *State) Slips() []Hole {
	return s.list(func(st status) bool { return st == slipped || st == torn })
}

// Slipped reports whether the hole there was recorded as a mistake.
func (s *State) Slipped(h Hole) bool {
	st := s.holes[spotOf(h)]
	return st == slipped || st == torn
}

// Torn reports whether the hole there came out bad: it does not count as cut.
func (s *State) Torn(h Hole) bool { return s.holes[spotOf(h)] == torn }

// Undone reports whether a hole there was recorded and taken back, patched, or
// came out bad: what was said to be there does not do.
func (s *State) Undone(h Hole) bool {
	st := s.holes[spotOf(h)]
	return st == undone || st == patched || st == torn
}

// Punched is how many holes are in the paper, slips among them.
func (s *State) Punched() int {
	n := 0
	for _, st := range s.holes {
		if inPaper(st) {
			n++
		}
	}
	return n
}

// inPaper reports whether there is a hole.
func inPaper(st status) bool { return st == cut || st == slipped || st == torn }

func (s *State) list(want func(status) bool) []Hole {
	var out []Hole
	for at, st := range s.holes {
		if want(st) {
			out = append(out, at.hole())
		}
	}
	slices.SortFunc(out, func(a, b Hole) int {
		return cmp.Or(cmp.Compare(a.AlongMM, b.AlongMM), cmp.Compare(a.AcrossMM, b.AcrossMM))
	})
	return out
}

// Last is the hole that was cut last: where the paper stands.
func (s *State) Last() (Hole, bool) { return s.last, s.any }

// stints is when somebody worked, and how much they did.
type stints struct {
	fromMS    int64 // since when; 0: nobody works
	recent    []stint
	all       []stint // every row, in order
	slips     []int64 // work since the sitting began, in ms, when each wrong hole was noted
	sittingMS int64   // work since the sitting began
	pauseMS   int64   // when work was left last
	workMS    int64
	punches   int
}

// stint is one record of holes with the time it took.
type stint struct {
	ms      int64
	punches int
	sitting int64 // ms of work since the sitting began
	along   float64
	checked bool // a length was to be measured after it
	again   bool // more of the row before: nothing was cranked
}

const (
	// A longer time from row to row is a pause that nobody recorded: assumed.
	mostMS = 10 * 60 * 1000
	// The pace is that of the last so many rows.
	recentRows = 300
	// It is known when so many punches have been made.
	knownPunches = 40
)

func (s *stints) apply(r record) {
	switch r.kind {
	case kindBegin, kindResume:
		if s.pauseMS == 0 || r.ms-s.pauseMS > mostMS {
			s.sittingMS = 0
		}
		s.fromMS = r.ms
	case kindPause, kindEnd:
		s.fromMS, s.pauseMS = 0, r.ms
	case kindMeasure:
		if n := len(s.all); n > 0 {
			s.all[n-1].checked = true
		}
	case kindSlip, kindTorn:
		s.slips = append(s.slips, s.sittingMS)
	case kindCut:
		took := r.ms - s.fromMS
		if s.fromMS > 0 && took >= 0 && took <= mostMS {
			s.workMS += took
			s.punches += len(r.holes)
			s.sittingMS += took
			one := stint{ms: took, punches: len(r.holes), sitting: s.sittingMS, along: r.holes[0].AlongMM}
			if n := len(s.all); n > 0 {
				one.again = s.all[n-1].along == one.along
			}
			s.all = append(s.all, one)
			s.recent = append(s.recent, one)
			if len(s.recent) > 2*recentRows {
				s.recent = append(s.recent[:0], s.recent[recentRows:]...)
			}
		} else if took > mostMS {
			s.sittingMS = 0 // nobody said so, but somebody was away
		}
		s.fromMS = r.ms
	}
}

// Worked is the time spent punching, pauses left out, and the punches made in
// it.
func (s *State) Worked() (time.Duration, int) {
	return time.Duration(s.stints.workMS) * time.Millisecond, s.stints.punches
}
