package punching

import (
	"fmt"
	"math"

	"rollwright/making/journal"
	"rollwright/text/say"
)

// measure chooses the rows after which a length is measured: those of the plan,
// until the journal tells how long a check takes and how often holes go wrong;
// then as far apart as costs least, from where the work stands on.
func (s *Session) measure() {
	s.checks = make([]bool, len(s.plan.Rows))
	every, _, _, ok := s.journal.CheckEvery()
	for i := range s.plan.Rows {
		s.checks[i] = s.plan.Rows[i].Check
	}
	if !ok || s.plan.Profile.CheckMM <= 0 {
		return
	}
	every = steps(every)
	from := max(s.changes.CutMM, s.plan.AlongMM(s.plan.Start))
	next := from + every
	for i := range s.plan.Rows {
		mm := s.plan.AlongMM(s.plan.Rows[i].Dial)
		if mm <= from {
			continue
		}
		if s.checks[i] = mm >= next; s.checks[i] {
			next = mm + every
		}
	}
}

// steps rounds an interval to one that is easily remembered: 50 mm, and no less.
func steps(mm float64) float64 { return max(50*math.Round(mm/50), 50) }

// Told is what the journal tells about the work, a line each: when slips come,
// how far apart to measure. Nothing is told before there is enough to tell.
func Told(s *journal.State) []string {
	var out []string
	for _, st := range s.Slipping() {
		if st.Worked <= 0 {
			continue
		}
		rate := float64(st.Slips) / st.Worked.Hours()
		out = append(out, fmt.Sprintf("minutes %d to %d of a sitting: %s in %s, %.1f an hour", int(st.From.Minutes()),
			int(st.To.Minutes()),
			number(int64(st.Slips), "slip"), say.Work(st.Worked.Seconds()), rate))
	}
	if every, check, between, ok := s.CheckEvery(); ok {
		out = append(out, fmt.Sprintf("a length to measure each %.0f mm costs least: a check takes you %.0f s, and a hole goes wrong once in %s of work (Young 1974)",
			steps(every), check.Seconds(), say.Work(between.Seconds())))
	}
	return out
}
