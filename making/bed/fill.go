package bed

import (
	"math"

	"rollwright/making/machine"
	"rollwright/paper/roll"
)

// fill gives every bed its cuts, in order of the roll.
func (p *Plan) fill() {
	f := filler{plan: p, window: p.Profile.Move.WindowMM, die: p.Roll.Instrument.Die.DiameterMM}
	for i := range p.Roll.Slots {
		s := &p.Roll.Slots[i]
		f.y = p.y(p.Roll.Instrument.Bar.Ports[s.Port].AcrossMM)
		if p.Profile.Cut == machine.Punches {
			f.punches(s)
			continue
		}
		for o := range p.Roll.Openings(s) {
			f.opening(o)
		}
	}
}

// filler deals cuts out to beds.
type filler struct {
	plan   *Plan
	window float64
	die    float64
	y      float64
	run    []float64 // the dies of the cut being gathered, in room shared with those before
}

// bedOf is the bed on which a hole with the given centre is cut, when nothing
// ties it to an earlier one.
func (f *filler) bedOf(centre float64) *Bed {
	if f.plan.AdvanceMM == 0 {
		return &f.plan.Beds[0]
	}
	n := int(math.Floor((centre - f.die/2 - f.plan.Beds[0].FromMM) / f.plan.AdvanceMM))
	return &f.plan.Beds[min(max(n, 0), len(f.plan.Beds)-1)]
}

// reach is the last centre that the tool reaches on b.
func (f *filler) reach(b *Bed) float64 {
	if f.plan.AdvanceMM == 0 {
		return math.Inf(1)
	}
	return b.ToMM + f.plan.Profile.Bed.OverlapMM - f.die/2
}

// opening cuts an opening on the bed where it begins. What runs beyond its
// reach is cut on the next, in one another's ends.
func (f *filler) opening(o roll.Opening) {
	b := f.bedOf(o.FirstMM)
	for {
		end := min(o.LastMM, f.reach(b))
		b.Cuts = append(b.Cuts, Cut{FromX: o.FirstMM - b.OriginMM, ToX: end - b.OriginMM, Y: f.y})
		if end >= o.LastMM {
			return
		}
		o.FirstMM = end
		b = f.next(b)
	}
}

// next is the bed after b: there is one, for the beds go on to the last hole.
func (f *filler) next(b *Bed) *Bed { return &f.plan.Beds[b.Number] }

// punches deals out the dies of a slot, as many at a time as one bed reaches
// and the paper may go to and fro for.
func (f *filler) punches(s *roll.Slot) {
	b := f.bedOf(s.FirstMM)
	reach, window := f.reach(b), f.windowEnd(b, s.FirstMM)
	for at := range f.plan.Roll.Punches(s) {
		if at > reach+noiseMM {
			f.finish(b)
			b = f.next(b)
			reach, window = f.reach(b), f.windowEnd(b, at)
		} else if at >= window {
			f.finish(b)
			window = f.windowEnd(b, at)
		}
		f.run = append(f.run, at-b.OriginMM)
	}
	f.finish(b)
}

// noiseMM is a length that only arithmetic can have made.
const noiseMM = 1e-7

// finish makes a cut of the dies gathered, if any, and keeps what room is left
// behind them.
func (f *filler) finish(b *Bed) {
	if n := len(f.run); n > 0 {
		b.Cuts = append(b.Cuts, Cut{FromX: f.run[0], ToX: f.run[n-1], Y: f.y, Holes: f.run[:n:n]})
		f.run = f.run[n:]
	}
	if cap(f.run) < 64 {
		f.run = make([]float64, 0, 16384)
	}
}

// windowEnd is where the stretch of paper ends that lies to and fro around at.
func (f *filler) windowEnd(b *Bed, at float64) float64 {
	switch {
	case f.window == 0:
		return at // every die is a cut of its own
	case math.IsInf(f.window, 1):
		return f.window
	}
	return b.FromMM + (math.Floor((at-b.FromMM)/f.window)+1)*f.window
}
