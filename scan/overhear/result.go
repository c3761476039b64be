package overhear

import (
	"cmp"
	"math"
	"slices"

	"rollwright/paper/instrument"
)

// Value is a number with its 95 % range.
type Value struct{ Value, Low, High float64 }

// Stroke is what became of a slot of a note port.
type Stroke struct {
	Slot       int // index into Roll.Slots
	Port       int // from the bass edge, from 1
	Key        int
	PlannedSec float64 // when the plan's transport would sound it
	HeardSec   float64 // of the take: when the sound begins to rise; where it was not heard, when it should have
	LateMS     float64 // beside the fitted transport
	Sure       float64 // of the verdict, 0 to 1; 0 of a stroke that the take does not reach
	Verdict    Verdict
	InTake     bool
}

// Strokes are those of the roll in its order.
func (r *Result) Strokes() []Stroke {
	in := r.Roll.Instrument
	out := make([]Stroke, len(r.list))
	for i := range r.list {
		s := &r.list[i]
		slot := &r.Roll.Slots[s.slot]
		o := Stroke{
			Slot: s.slot, Port: int(slot.Port) + 1, Key: s.key, PlannedSec: s.plan + in.Action.DelaySec,
			HeardSec: s.near, Sure: s.sure(), Verdict: s.verdict(), InTake: s.inTake,
		}
		if o.Verdict == Sounded && !math.IsNaN(s.heard) && s.weigh > 0 {
			o.HeardSec = s.heard
		}
		o.LateMS = 1000 * (o.HeardSec - r.BeginSec() - r.fit.curve.unit(slot.LeadMM)/r.fit.curve.speed)
		out[i] = o
	}
	slices.SortStableFunc(out, func(a, b Stroke) int { return cmp.Compare(a.Slot, b.Slot) })
	return out
}

// BeginSec is when a stroke whose leading edge lies at row 0 would be heard with
// the median delay, in seconds of the take; below 0 where the take begins later.
func (r *Result) BeginSec() float64 { return r.fit.curve.sec(r.Roll.Instrument.EdgeShiftMM()) }

// RMSMS is the scatter of strokes, in milliseconds, after the delay by region.
func (r *Result) RMSMS() float64 { return 1000 * r.fit.rms }

// SpeedMMPerSec is the paper's speed at row 0.
func (r *Result) SpeedMMPerSec() Value {
	v, half := r.fit.curve.speed, r.fit.speedHalf
	return Value{v, v - half, v + half}
}

// SlowingPercent is by how much the motor slows from row 0 to the last trailing
// edge of a note, straight along the paper, the build-up apart.
func (r *Result) SlowingPercent() Value {
	v, half := 100*r.fit.curve.slowing, 100*r.fit.slowingHalf
	return Value{v, v - half, v + half}
}

// Delay is when the keys of a region speak beside the median of all.
type Delay struct {
	Region  Region
	MS      float64
	Strokes int // that told
}

// Delays are those of the regions that were heard, from the bass.
func (r *Result) Delays() []Delay {
	var out []Delay
	for region := range regions {
		if n := r.fit.count[region]; n > 0 {
			out = append(out, Delay{region, 1000 * r.fit.regions[region], n})
		}
	}
	return out
}

// Late is by how many milliseconds a region speaks later than another; false where
// one of them was not heard.
func (r *Result) Late(region, than Region) (Value, bool) {
	b := r.fit.late[region][than]
	ok := r.fit.count[region] > 0 && r.fit.count[than] > 0
	return Value{1000 * b.value, 1000 * (b.value - b.half), 1000 * (b.value + b.half)}, ok
}

// Counts are of the strokes by verdict; Unheard, which count as unsure, lie before
// the take begins or after it ends.
type Counts struct{ Strokes, Sounded, Silent, Unsure, Before, After int }

// Counts counts.
func (r *Result) Counts() Counts {
	c := Counts{Strokes: len(r.list)}
	for i := range r.list {
		s := &r.list[i]
		switch s.verdict() {
		case Sounded:
			c.Sounded++
		case Silent:
			c.Silent++
		default:
			c.Unsure++
		}
		switch {
		case s.inTake:
		case s.near < r.TakeSec/2:
			c.Before++
		default:
			c.After++
		}
	}
	return c
}

// mostSlowingPerMM is the most that an instrument's file takes: 2 % a metre.
const mostSlowingPerMM = 2e-5

// Transport is the plan's as it was heard to run: the lever where the plan has it.
func (r *Result) Transport() instrument.Transport {
	t := r.Roll.Instrument.Transport
	lever := t.LeverTempo()
	t.RollTempo *= r.fit.curve.speed / t.SpeedMMPerSec()
	t.Lever = lever
	t.SlowingPerMM = min(max(r.fit.curve.slowing/r.fit.curve.endMM, 0), mostSlowingPerMM)
	if r.fit.slowingHalf >= r.fit.curve.slowing { // not to be told from none
		t.SlowingPerMM = 0
	}
	return t
}
