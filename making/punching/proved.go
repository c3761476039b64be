package punching

import (
	"fmt"

	"rollwright/making/bench"
	"rollwright/making/journal"
)

// ProvedRows is how many rows from the first on lie in stretches that were held
// against the plan: the paper is known up to there.
func ProvedRows(p *bench.Plan, s *journal.State) int {
	for i := range p.Rows {
		if !proved(p.AlongMM(p.Rows[i].Dial), s.Proved) {
			return i
		}
	}
	return len(p.Rows)
}

func proved(mm float64, stretches []journal.Stretch) bool {
	for _, s := range stretches {
		if mm >= s.FromMM && mm <= s.ToMM {
			return true
		}
	}
	return false
}

// Proved says in words up to where the paper was held against the plan: "proved
// up to row 812, 1234.50 mm from zero"; empty when it never was.
func Proved(p *bench.Plan, s *journal.State) string {
	rows := ProvedRows(p, s)
	switch {
	case len(s.Proved) == 0:
		return ""
	case rows == 0:
		return "proved in part, but not from the first row on"
	case rows == len(p.Rows):
		return "proved to the last row"
	}
	return fmt.Sprintf("proved up to row %d, %s from zero", rows, p.Profile.Lengths.With(p.RunningMM(p.Rows[rows-1].Dial)))
}

// Proved is what Proved says of this roll.
func (s *Session) Proved() string { return Proved(s.plan, s.journal.State) }
