package roll

import "iter"

// touchShare is how near two punches must stand to make one opening, as a share
// of the die: at the die itself they only touch in a point.
const touchShare = 0.999

// Opening is a stretch of paper cut away without a web across it, between the
// centres of its first and last punch.
type Opening struct{ FirstMM, LastMM float64 }

// Openings are the openings of a slot as they come out of the paper: punches
// that overlap are one, bridges stay.
func (r *Roll) Openings(s *Slot) iter.Seq[Opening] {
	return func(yield func(Opening) bool) {
		near := r.Instrument.Die.DiameterMM * touchShare
		open := Opening{s.FirstMM, s.FirstMM}
		for at := range r.Punches(s) {
			if at-open.LastMM >= near {
				if !yield(open) {
					return
				}
				open.FirstMM = at
			}
			open.LastMM = at
		}
		yield(open)
	}
}
