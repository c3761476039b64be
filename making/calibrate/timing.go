package calibrate

import (
	"math"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// Timing is how far notes fall beside their times, counted from the first.
type Timing struct {
	LargestSec float64 // the largest distance, earlier negative
	AtSec      float64 // written time of the note
	RangeSec   float64 // half the 95 % range there of where the note does fall
	Notes      int
}

// Without is the timing of rolls laid out for the instrument before, when they
// play on the one after with the lever where it was to be: where each slot falls
// on the one and on the other.
func (r *Result) Without(rolls []*roll.Roll) Timing {
	var out Timing
	first := math.NaN()
	for _, one := range rolls {
		in := one.Instrument
		transport := r.After().Transport.AtLever(in.Transport.LeverTempo())
		edge := in.EdgeShiftMM()
		for p := range one.Played() {
			row := one.Slots[p.Slot].LeadMM + edge
			off := transport.Sec(row) - in.Transport.Sec(row)
			if math.IsNaN(first) {
				first = off
			}
			out.Notes++
			if off -= first; math.Abs(off) > math.Abs(out.LargestSec) {
				out.LargestSec, out.AtSec = off, p.StartSec
				out.RangeSec = r.Fit.TimeRange(row) / r.scale(in)
			}
		}
	}
	return out
}

// With is the timing of the same notes laid out anew for the fit. The fit itself
// is without error then; what is left is its range and half a row of the
// perforator.
func (r *Result) With(rolls []*roll.Roll) Timing {
	var out Timing
	for _, one := range rolls {
		in := one.Instrument
		transport := r.After().Transport.AtLever(in.Transport.LeverTempo())
		for p := range one.Played() {
			out.Notes++
			sec := p.StartSec - in.Action.DelaySec
			half := r.Fit.TimeRange(transport.AlongMM(sec))/r.scale(in) + in.StepMM/2/transport.SpeedAt(sec)
			if half > out.RangeSec {
				out.RangeSec, out.AtSec = half, p.StartSec
			}
		}
	}
	return out
}

// scale is how much faster than on the test roll the lever lets the paper of a
// roll run.
func (r *Result) scale(in *instrument.Instrument) float64 {
	return in.Transport.LeverTempo() / r.Before.Transport.LeverTempo()
}
