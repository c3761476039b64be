package repair

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
)

// How near a hole of the journal lies to one that is meant, as package punching
// takes it; both are assumed there.
const (
	sameAlongMM  = 0.2
	sameAcrossMM = 0.3
)

// Entries are what a journal has to take down so that it says what the paper has.
type Entries struct {
	Cut    []journal.Hole // holes that are there and were not recorded, in the order of the roll
	Undo   []journal.Hole // recorded, and not there
	Slip   []journal.Hole // there, and not wanted
	Proved journal.Stretch
}

// Entries compares the paper with the journal. What lies outside the stretch that
// was proved stays as it is.
func (w *Work) Entries(s *journal.State) Entries {
	e := Entries{Proved: journal.Stretch{FromMM: w.FromMM, ToMM: w.ToMM}}
	known := places(s.Holes()) // which lists them by place along
	var again places
	for i := range w.Plan.Rows {
		for k, stroke := range w.Plan.Rows[i].Strokes {
			across, along := w.Plan.StrokeMM(i, stroke)
			h := journal.Hole{AcrossMM: across, AlongMM: along}
			switch {
			case w.missing[i][k]:
				again = append(again, h)
				if inside := stroke.N > 1 && stroke.N < stroke.Of; inside && !known.near(h, sameAlongMM) {
					e.Undo = append(e.Undo, h) // between two holes it would be taken for one with them
				}
			case w.there[i][k] && !known.near(h, sameAlongMM):
				e.Cut = append(e.Cut, h)
			}
		}
	}
	spans := w.openings()
	for _, h := range known {
		if w.within(h.AlongMM, h.AlongMM) && (again.near(h, sameAlongMM) || !w.open(spans, h)) {
			e.Undo = append(e.Undo, h)
		}
	}
	for _, p := range w.Patches {
		for _, h := range w.wrong(p) {
			if !known.near(h, w.Plan.DieMM()/2) {
				e.Slip = append(e.Slip, h)
			}
		}
	}
	return e
}

// openings are where the paper is open, on the plan, by port.
func (w *Work) openings() [][]span {
	out := make([][]span, len(w.Plan.Roll.Instrument.Bar.Ports))
	for i := range w.result.Scan.Slots {
		s := &w.result.Scan.Slots[i]
		out[s.Port] = append(out[s.Port], span{w.result.Map.ToPlan(s.LeadMM), w.result.Map.ToPlan(s.TrailMM)})
	}
	return out
}

// open reports whether the paper is open at a hole.
func (w *Work) open(spans [][]span, h journal.Hole) bool {
	for port, list := range spans {
		across := w.Plan.Roll.Instrument.Bar.Ports[port].AcrossMM
		if math.Abs(across-h.AcrossMM) > sameAcrossMM {
			continue
		}
		i, _ := slices.BinarySearchFunc(list, h.AlongMM, func(s span, at float64) int { return cmp.Compare(s.to, at) })
		return i < len(list) && list[i].from <= h.AlongMM
	}
	return false
}

// wrong are the punches that a patch covers: as the die would have made them.
func (w *Work) wrong(p Patch) []journal.Hole {
	d := w.Plan.DieMM()
	across := w.Plan.Roll.Instrument.Bar.Ports[p.Port].AcrossMM
	length := p.ToMM - p.FromMM
	n := max(int(math.Ceil(length/d-1e-9)), 1)
	out := make([]journal.Hole, n)
	for i := range out {
		out[i] = journal.Hole{AcrossMM: across, AlongMM: p.FromMM + (float64(i)+0.5)*length/float64(n)}
	}
	return out
}

// places are holes, by place along.
type places []journal.Hole

// near reports whether one of the places lies at h, along within so much.
func (p places) near(h journal.Hole, reachMM float64) bool {
	i, _ := slices.BinarySearchFunc(p, h.AlongMM-reachMM, func(o journal.Hole, at float64) int {
		if o.AlongMM < at {
			return -1
		}
		return 1
	})
	for ; i < len(p) && p[i].AlongMM <= h.AlongMM+reachMM; i++ {
		if math.Abs(p[i].AcrossMM-h.AcrossMM) <= sameAcrossMM {
			return true
		}
	}
	return false
}

// Write writes the entries. What is cut comes in one record, which says nothing
// of how long it took. It says at once what holds for the paper: after an error
// the rest can be written by proving again.
func (e *Entries) Write(j *journal.Journal) error {
	if len(e.Cut) > 0 {
		if err := j.End(); err != nil {
			return err
		}
		if err := j.Cut(e.Cut); err != nil {
			return err
		}
		if err := j.End(); err != nil {
			return err
		}
	}
	if len(e.Undo) > 0 {
		if err := j.Undo(e.Undo); err != nil {
			return err
		}
	}
	for _, h := range e.Slip {
		if err := j.Slip(h); err != nil {
			return err
		}
	}
	return j.Prove(e.Proved)
}

// Says is what was taken down, in words, once it is written into s.
func (e *Entries) Says(p *bench.Plan, s *journal.State) string {
	text := fmt.Sprintf("%s there, %s not, %s to patch",
		noun(len(e.Cut), "more hole"), noun(len(e.Undo), "hole"), noun(len(e.Slip), "more hole"))
	if proved := punching.Proved(p, s); proved != "" {
		text += "; " + proved
	}
	return text
}
