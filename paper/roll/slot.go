package roll

import "rollwright/paper/instrument"

// SlotOf is a slot of the given edges on a port of in, as its perforator cuts
// it: its ends on the nearest rows, at least one punch long. It has no cause.
// It is how rolls come to be that no events made: test rolls, rolls read from
// paper.
func SlotOf(in *instrument.Instrument, port int32, leadMM, trailMM float64) Slot {
	d := NewDie(in)
	radius := d.diameterMM / 2
	first := d.Centre(leadMM + radius)
	last := max(d.Centre(trailMM-radius), first)
	return Slot{
		LeadMM: first - radius, TrailMM: last + radius, FirstMM: first, LastMM: last,
		OpenMM: leadMM, ShutMM: trailMM, Port: port, Punches: d.Count(first, last),
	}
}

// Sort puts the slots of a roll in their order: leading edge as printed, then
// port.
func (r *Roll) Sort() { sortSlots(r.Slots) }

// SortFrom is Sort for a roll whose first n slots, and the rest, are each nearly
// in order.
func (r *Roll) SortFrom(n int) { mergeSlots(r.Slots, n) }
