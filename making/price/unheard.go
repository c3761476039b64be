package price

import (
	"cmp"
	"slices"

	"rollwright/music/perform"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// CountUnheard counts the punches that keep a port open after its note has sunk:
// sinkSec tells of a key after how many seconds it has, false where that is not
// known. Slots that are open while the sustaining pedal is down are left out, for
// there the note is not the port's alone.
func CountUnheard(f *perform.Performance, rolls []*roll.Roll, sinkSec func(piano, key int) (float64, bool)) []Unheard {
	names := f.Piece.VoiceNames()
	all := make([]Unheard, len(names))
	most := make([]int, len(names))
	for _, r := range rolls {
		pedal := pedalDown(r)
		for p := range r.Played() {
			slot := &r.Slots[p.Slot]
			v := slot.Causes.First.Voice
			u, key := &all[v], r.Instrument.Bar.Ports[slot.Port].Key
			held := p.EndSec - p.StartSec
			sink, known := sinkSec(r.Piano, key)
			if !known || !p.Sounds || held <= sink || pedal.during(slot.LeadMM, slot.TrailMM) {
				u.LeastSec = max(u.LeastSec, held)
				continue
			}
			u.LeastSec = max(u.LeastSec, sink)
			n := punchesAfter(r, slot, p.StartSec+sink)
			if n == 0 {
				continue
			}
			u.Slots, u.Punches = u.Slots+1, u.Punches+n
			if n > most[v] {
				most[v] = n
				u.Key, u.AtSec, u.SinkSec, u.HeldSec = key, p.StartSec-r.Instrument.Action.DelaySec, sink, held
			}
		}
	}
	var out []Unheard
	for i, u := range all {
		if u.Voice = names[i]; u.Punches > 0 {
			out = append(out, u)
		}
	}
	return out
}

// punchesAfter is how many punches of a slot could be left out if its note, as the
// roll sounds it, ended at a time: those beyond the first that keeps the port open
// until then.
func punchesAfter(r *roll.Roll, s *roll.Slot, endSec float64) int {
	trail := r.Instrument.Transport.AlongMM(endSec-r.Instrument.Action.DelaySec) + r.Instrument.EdgeShiftMM()
	radius, enough, n := r.Instrument.Die.DiameterMM/2, false, 0
	for at := range r.Punches(s) {
		if enough {
			n++
		}
		enough = enough || at+radius >= trail
	}
	return n
}

// downs are stretches of paper over which the sustaining pedal is down, in order.
type downs [][2]float64

func pedalDown(r *roll.Roll) downs {
	var out downs
	for i := range r.Slots {
		if s := &r.Slots[i]; r.Instrument.Bar.Ports[s.Port].Role == instrument.Sustain {
			out = append(out, [2]float64{s.LeadMM, s.TrailMM})
		}
	}
	return out
}

// during reports whether the pedal is down anywhere between two places.
func (d downs) during(fromMM, toMM float64) bool {
	i, _ := slices.BinarySearchFunc(d, fromMM, func(at [2]float64, mm float64) int { return cmp.Compare(at[1], mm) })
	return i < len(d) && d[i][0] <= toMM
}
