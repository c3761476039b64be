// Package punching leads a person through the rows of a roll.
//
// Its input is a bench.Plan with the journal of what is cut; its output a View
// of the row to punch, for whatever shows it, and the journal's records. It
// compares what is cut with what is planned, so a piece may change after
// punching has begun. Lengths are millimetres, times seconds. A Session is for
// one goroutine at a time.
package punching

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"rollwright/making/bench"
	"rollwright/making/journal"
)

// How near a hole that is cut must lie to one that is planned to stand for it.
// Along, 0.2 mm are 5 ms at roll tempo 80; across, a tenth of the distance of
// two ports is less than any port's play. Both are assumed.
const (
	nearAlongMM  = 0.2
	nearAcrossMM = 0.3
)

// Place is a hole by its port.
type Place struct {
	Port     int32 // index into Instrument.Bar.Ports; -1: under no port
	Row      int   // index into Plan.Rows of a hole to add; -1: of one to patch
	AcrossMM float64
	AlongMM  float64
	Slip     bool // to patch: recorded as a mistake when it was made
	Torn     bool // to patch: in its right place but bad, to be cut again
	Number   int  // to patch: from 1; it stays until the hole is closed, and no other hole gets it
}

// Changes is what lies between the paper and the plan.
type Changes struct {
	There   int     // punches of the plan that the paper has
	Of      int     // punches of the plan
	Slips   int     // wrong and bad holes, to patch
	Patch   []Place // holes that no longer belong, in order along the paper
	Add     []Place // holes that are wanted in the part already done
	CutMM   float64 // the last row that is cut, slips left out: beyond it nothing is; -Inf: none
	FreeSec float64 // notes that begin later may change freely, in the roll's time; 0 or less: all may

	done [][]bool // by row, by stroke: the paper has it
	fit  float64  // how far along a hole may lie from the punch that it stands for
}

// Any reports whether something has to be patched or added.
func (c *Changes) Any() bool { return len(c.Patch)+len(c.Add) > 0 }

// Tally is how far the work is, in words: "7 of the 60 punches wanted are there;
// 15 more holes are to be patched".
func (c *Changes) Tally() string { return tally(c.There, c.Of, len(c.Patch)) }

// Tally is how far the work is, as Changes.Tally says it.
func (v *View) Tally() string { return tally(v.Punches, v.OfPunches, v.Patches) }

func punches(n int) string {
	if n == 1 {
		return "1 punch"
	}
	return strconv.Itoa(n) + " punches"
}

func tally(there, of, patch int) string {
	are := "are"
	if there == 1 {
		are = "is"
	}
	text := fmt.Sprintf("%d of the %s wanted %s there", there, punches(of), are)
	switch {
	case patch == 1:
		text += "; 1 more hole is to be patched"
	case patch > 1:
		text += fmt.Sprintf("; %d more holes are to be patched", patch)
	}
	return text
}

// Compare finds which holes in the paper no longer belong, which planned ones
// lie in the part already done, and from where on everything is free.
//
// A hole belongs when it lies on a slot that is planned for its port. A planned
// punch is there when a hole lies within a fifth of a millimetre; inside a slot
// also when the holes on both sides leave no wider web than keeps the port
// open. A hole that came out bad never belongs.
func Compare(p *bench.Plan, s *journal.State) *Changes {
	holes := s.Holes()
	c := &Changes{CutMM: math.Inf(-1), done: make([][]bool, len(p.Rows)), fit: fitMM(p, s)}
	for _, h := range holes {
		if !s.Slipped(h) { // a slip is no progress
			c.CutMM = max(c.CutMM, h.AlongMM)
		}
	}
	for i := range p.Rows {
		c.done[i] = make([]bool, len(p.Rows[i].Strokes))
	}
	byPort := c.sortOut(p, s, holes)
	for port, strokes := range strokesOf(p) {
		c.port(p, s, int32(port), strokes, byPort[port])
	}
	slices.SortFunc(c.Patch, func(a, b Place) int {
		return cmp.Or(cmp.Compare(a.AlongMM, b.AlongMM), cmp.Compare(a.AcrossMM, b.AcrossMM))
	})
	next := s.Numbers()
	for i := range c.Patch {
		one := &c.Patch[i]
		if one.Slip {
			c.Slips++
		}
		if one.Number = s.Number(holeOf(*one)); one.Number == 0 { // as the session that begins next will give it
			next++
			one.Number = next
		}
	}
	c.Of = p.Punches
	for _, row := range c.done {
		for _, d := range row {
			if d {
				c.There++
			}
		}
	}
	c.add(p)
	c.free(p)
	return c
}

// sortOut gives every hole to its port; those under no port are to patch.
func (c *Changes) sortOut(p *bench.Plan, s *journal.State, holes []journal.Hole) [][]float64 {
	ports := p.Roll.Instrument.Bar.Ports
	byPort := make([][]float64, len(ports))
	for _, h := range holes {
		best := -1
		for i := range ports {
			if best < 0 || math.Abs(ports[i].AcrossMM-h.AcrossMM) < math.Abs(ports[best].AcrossMM-h.AcrossMM) {
				best = i
			}
		}
		if best < 0 || math.Abs(ports[best].AcrossMM-h.AcrossMM) > nearAcrossMM {
			c.Patch = append(c.Patch, Place{Port: -1, Row: -1, AcrossMM: h.AcrossMM, AlongMM: h.AlongMM, Slip: s.Slipped(h)})
			continue
		}
		if s.Torn(h) { // whatever is planned there, this hole is not it
			c.Patch = append(c.Patch, Place{Port: int32(best), Row: -1, AcrossMM: h.AcrossMM, AlongMM: h.AlongMM, Slip: true,
				Torn: true})
			continue
		}
		byPort[best] = append(byPort[best], h.AlongMM)
	}
	return byPort
}

// stroke is a planned punch by its place in the plan.
type stroke struct {
	row, at int
	slot    int32
	mm      float64
}

// fitMM is how far along a hole may lie from the place of a planned punch and
// stand for it. Where the roll was begun at a bench whose dial has other parts
// than that of now, both are beside the hole's place on the roll by up to half a
// part: what fits must not be asked to be patched. The same holds of a roll that went
// on for a while at a bench that its journal does not name: holes beside both dials tell
// of it, and the coarsest built-in one is assumed.
func fitMM(p *bench.Plan, s *journal.State) float64 {
	then, now := bench.Crank{TurnMM: s.Head.TurnMM, Parts: s.Head.Parts}, p.Profile.Crank
	if then.Parts < 1 {
		return nearAlongMM
	}
	fit := nearAlongMM
	if then.TurnMM != now.TurnMM || then.Parts != now.Parts {
		fit = max(fit, (then.PartMM()+now.PartMM())/2)
	}
	const coarsestPartMM = 25.4 / 45
	if slices.ContainsFunc(s.Holes(), func(h journal.Hole) bool {
		return !s.Slipped(h) && besideDial(then, h) && besideDial(now, h)
	}) {
		fit = max(fit, (coarsestPartMM+now.PartMM())/2)
	}
	return fit
}

// besideDial reports whether a hole stands where the crank does not stop: it was cut at
// another bench, or noted as a slip. A journal has four decimals of a millimetre.
func besideDial(c bench.Crank, h journal.Hole) bool {
	return math.Abs(c.MM(c.Nearest(h.AlongMM))-h.AlongMM) > 0.001
}

// Elsewhere reports whether the row that was cut last was cut at another bench than
// that of p, whose counter then shows something else.
func Elsewhere(p *bench.Plan, s *journal.State) bool {
	last, any := s.Last()
	return any && besideDial(p.Profile.Crank, last)
}

// strokesOf are the planned punches of each port, in order along the paper.
func strokesOf(p *bench.Plan) [][]stroke {
	out := make([][]stroke, len(p.Roll.Instrument.Bar.Ports))
	for i := range p.Rows {
		for k, s := range p.Rows[i].Strokes {
			out[s.Port] = append(out[s.Port], stroke{i, k, s.Slot, p.AlongMM(p.Rows[i].Dial)})
		}
	}
	return out
}

// port compares the holes of one port, both lists in order.
func (c *Changes) port(p *bench.Plan, s *journal.State, port int32, strokes []stroke, holes []float64) {
	across, fit := p.Roll.Instrument.Bar.Ports[port].AcrossMM, c.fit
	for len(strokes) > 0 {
		n := 1
		for n < len(strokes) && strokes[n].slot == strokes[0].slot {
			n++
		}
		slot := strokes[:n]
		strokes = strokes[n:]
		first, last := slot[0].mm-fit, slot[n-1].mm+fit
		for len(holes) > 0 && holes[0] < first {
			c.patch(s, port, across, holes[0])
			holes = holes[1:]
		}
		k := 0
		for k < len(holes) && holes[k] <= last {
			k++
		}
		c.slot(p, s, slot, holes[:k], across)
		holes = holes[k:]
	}
	for _, mm := range holes {
		c.patch(s, port, across, mm)
	}
}

func (c *Changes) patch(s *journal.State, port int32, acrossMM, alongMM float64) {
	slip := s.Slipped(journal.Hole{AcrossMM: acrossMM, AlongMM: alongMM})
	c.Patch = append(c.Patch, Place{Port: port, Row: -1, AcrossMM: acrossMM, AlongMM: alongMM, Slip: slip})
}

// slot finds which strokes of one slot the holes on it stand for.
func (c *Changes) slot(p *bench.Plan, s *journal.State, strokes []stroke, holes []float64, acrossMM float64) {
	// Both holes may stand half a part of the dial beside their places.
	fit := c.fit
	widest := p.DieMM() + p.Roll.Instrument.WebMaxMM() + max(p.Profile.Crank.PartMM(), 2*(fit-nearAlongMM))
	for i, st := range strokes {
		k, _ := slices.BinarySearch(holes, st.mm)
		near := k < len(holes) && holes[k]-st.mm <= fit || k > 0 && st.mm-holes[k-1] <= fit
		inside := i > 0 && i < len(strokes)-1 && k > 0 && k < len(holes) && holes[k]-holes[k-1] <= widest
		if inside && !near && s.Undone(journal.Hole{AcrossMM: acrossMM, AlongMM: st.mm}) {
			inside = false // somebody said that this very hole is missing
		}
		c.done[st.row][st.at] = near || inside
	}
}

// add lists the planned holes that are missing before the last one cut.
func (c *Changes) add(p *bench.Plan) {
	for i := range p.Rows {
		mm := p.AlongMM(p.Rows[i].Dial)
		if mm > c.CutMM {
			return
		}
		for k, s := range p.Rows[i].Strokes {
			if !c.done[i][k] {
				c.Add = append(c.Add, Place{Port: s.Port, Row: i, AcrossMM: p.Roll.Instrument.Bar.Ports[s.Port].AcrossMM,
					AlongMM: mm})
			}
		}
	}
}

// free finds the point from which nothing is cut: a note whose first punch
// would stand beyond the last hole may change freely.
func (c *Changes) free(p *bench.Plan) {
	in := p.Roll.Instrument
	if math.IsInf(c.CutMM, -1) {
		return
	}
	c.FreeSec = in.Transport.Sec(c.CutMM-p.DieMM()/2+in.EdgeShiftMM()) + in.Action.DelaySec
}
