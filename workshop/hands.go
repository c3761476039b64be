package workshop

import (
	"rollwright/making/bench"
	"rollwright/making/price"
	"rollwright/text/say"
)

// mostHandSlots is the most slots of which hours at the bench are told in passing.
const mostHandSlots = 100_000

// Hands is what punching all rolls by hand takes at the bench that is assumed, in a
// line; empty where that is not told in passing, or a port cannot be reached.
func (j *Job) Hands() string {
	e, err := j.Edition("", &Making{})
	if err != nil {
		return ""
	}
	var all price.Cost
	pace, known := bench.Pace{}, false
	for _, r := range e.Rolls {
		if all.Slots += len(r.Slots); all.Slots > mostHandSlots {
			return ""
		}
		plan, err := j.BenchPlan(r, &Making{})
		if err != nil {
			return ""
		}
		if !pace.Known() {
			pace, known = j.knownPace(plan.Profile)
		}
		all.Punches, all.Rows = all.Punches+plan.Punches, all.Rows+len(plan.Rows)
	}
	all.WorkSec = pace.WorkSec(all.Punches, all.Rows)
	text := all.Sum() + " by hand"
	if len(e.Rolls) > 1 {
		text += " for " + say.Count(len(e.Rolls), "roll")
	}
	if !known {
		text += " at a pace that is assumed"
	}
	return text
}
