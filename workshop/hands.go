package workshop

import (
	"fmt"
	"strings"

	"rollwright/making/bench"
	"rollwright/text/say"
)

// mostHandSlots is the most slots of which hours at the bench are told in passing.
const mostHandSlots = 100_000

// Hands is what punching all rolls by hand takes at the bench that is assumed, in a
// sentence; empty where that is not told in passing, or a port cannot be reached.
func (j *Job) Hands() string {
	e, err := j.Edition("", &Making{})
	if err != nil {
		return ""
	}
	var parts []string
	for _, r := range e.Rolls {
		if len(r.Slots) > mostHandSlots {
			return ""
		}
		plan, err := j.BenchPlan(r, &Making{})
		if err != nil {
			return ""
		}
		name := ""
		if r.Name != "" {
			name = r.Name + ": "
		}
		estimate := plan.Estimate(bench.Pace{})
		parts = append(parts, fmt.Sprintf("%s%s in %s, about %s by hand", name,
			say.Count(estimate.Punches, "punch"), say.Count(estimate.Rows, "row"), say.Work(estimate.WorkSec)))
	}
	return strings.Join(parts, "; ") + ", at a pace that is assumed"
}
