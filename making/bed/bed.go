// Package bed cuts a roll into the beds of a machine, with the path of its
// tool on each.
//
// Its input is a roll.Roll with a machine.Profile, its output a Plan: beds with
// their cuts in the order in which they are made. Lengths are millimetres,
// times seconds, in float64. On a bed x runs along the roll from the machine's
// zero and y across it, upwards, so that the start of the roll lies at the
// left and, on an instrument that plays with its bass at the left, the bass at
// the top: the front of the paper is up. A place on the bed is the roll's own
// place less the bed's origin, so errors do not grow from bed to bed. Paths are
// good, not perfect: LowerBoundMM says how much better any could be.
package bed

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rollwright/making/machine"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// Options say how a roll is to be cut. The zero value is good.
type Options struct {
	Back   bool // the face that lies on the bar is up
	Copies int  // how many rolls are wanted; 0: 1
	Marks  []Mark
}

// Plan is a roll on a machine.
type Plan struct {
	Roll    *roll.Roll
	Profile *machine.Profile
	Back    bool
	Beds    []Bed

	AdvanceMM float64 // how far the paper moves from bed to bed; 0 on an endless one
	PinMM     float64 // where on the bed, along, the pair of holes made on the bed before comes to lie
	HolesY    [2]float64
	RadiusMM  float64 // of the outlines along which slots are cut, kerf taken off; 0: tool and slot are equally wide
	Copies    int
	Passes    int // how often every bed is cut, for so many copies at the profile's plies
}

// Bed is one piece of the roll.
type Bed struct {
	Number       int     // from 1
	OriginMM     float64 // the roll's place that lies at the machine's zero
	FromMM, ToMM float64 // of the roll: what begins here is cut on this bed
	Cuts         []Cut   // in order; the pair of holes for the next bed first
	Marks        []Mark  // on the paper of this bed, in order along; they come before the cuts

	Path Measure // as planned
	Rows Measure // row after row, every row from bass to treble
}

// Measure is what a path comes to.
type Measure struct {
	TravelMM float64 // of the tool while it does not cut, from park to park
	CutMM    float64 // of a laser
	Strokes  int     // how often the tool is switched on
	Sec      float64 // one pass, without laying the paper
}

// Cut is a slot, a part of one, or a hole by which the next bed finds its
// place: it is made without another in between.
type Cut struct {
	FromX, ToX, Y float64   // centres of its ends on the bed; FromX is not beyond ToX
	Holes         []float64 // of a punch: the x of every die, from FromX to ToX; else nil
	Register      bool
	Back          bool // begins at its far end
}

// New plans the beds of r on the machine p. Errors are what this machine
// cannot do with this paper.
func New(r *roll.Roll, p *machine.Profile, o Options) (*Plan, error) {
	plan := &Plan{Roll: r, Profile: p, Back: o.Back, Copies: max(o.Copies, 1)}
	plan.Passes = (plan.Copies + p.Pass.Plies - 1) / p.Pass.Plies
	if err := plan.fits(); err != nil {
		return nil, err
	}
	plan.layBeds(o.Marks)
	plan.fill()
	for n := len(plan.Beds); n > 1 && len(plan.Beds[n-1].Cuts) == 0 && !plan.marked(o.Marks, &plan.Beds[n-1]); n-- {
		plan.Beds = plan.Beds[:n-1] // its only slot was cut with the bed before
	}
	plan.deal(o.Marks)
	plan.route()
	return plan, nil
}

// roundMM is what a hole by which paper is laid keeps clear of.
const roundMM = 0.5

// fits reports what does not fit the machine.
func (p *Plan) fits() error {
	in, m := p.Roll.Instrument, p.Profile
	if len(p.Roll.Slots) == 0 {
		return fmt.Errorf("bed: the roll has no holes to cut")
	}
	d := in.Die.DiameterMM
	if m.Head.DieMM > 0 && math.Abs(m.Head.DieMM-d) > 0.005 {
		return fmt.Errorf("bed: machine %s has a die of %.4g mm, and the roll is laid out for one of %.4g mm: write perforator { die = %.4g } in the instrument's file",
			m.Name, m.Head.DieMM, d, m.Head.DieMM)
	}
	switch m.Cut {
	case machine.Outlines:
		p.RadiusMM = (d - m.Head.KerfMM) / 2
		if p.RadiusMM <= 0 {
			return fmt.Errorf("bed: a kerf of %.4g mm cuts no outline in a hole of %.4g mm: with a beam so wide cut \"strokes\"",
				m.Head.KerfMM, d)
		}
	case machine.Strokes:
		if m.Head.KerfMM > 0 && math.Abs(m.Head.KerfMM-d) > 0.1*d {
			return fmt.Errorf("bed: strokes come out as wide as the beam, %.4g mm, and the holes are %.4g mm: cut \"outlines\"",
				m.Head.KerfMM, d)
		}
	}
	if err := p.acrossFits(); err != nil || m.Bed.Endless() {
		return err
	}
	if m.Bed.OverlapMM < 2*d {
		return fmt.Errorf("bed: an overlap of %.4g mm is less than two holes of %.4g mm", m.Bed.OverlapMM, d)
	}
	return p.holesFit()
}

// acrossFits reports paper wider than the bed.
func (p *Plan) acrossFits() error {
	m, width := p.Profile, p.Roll.Instrument.Paper.WidthMM
	beside := 0.0
	if !m.Bed.Endless() {
		beside = max(m.Register.HoleMM/2-m.Register.InsetMM, 0)
	}
	if m.Bed.EdgeMM-beside < 0 || m.Bed.EdgeMM+width+beside > m.Bed.AcrossMM {
		return fmt.Errorf("bed: the paper lies from %.4g to %.4g mm across, and machine %s reaches from 0 to %.4g mm",
			m.Bed.EdgeMM-beside, m.Bed.EdgeMM+width+beside, m.Name, m.Bed.AcrossMM)
	}
	return nil
}

// holesFit reports holes for laying the paper that come too near to ports or
// edges.
func (p *Plan) holesFit() error {
	hole := p.holeMM()
	if p.Profile.Tool == machine.Laser && hole < p.beamMM()-2*leastRadiusMM {
		return fmt.Errorf("bed: a beam of %.4g mm cannot cut a hole of %.4g mm for a pin; change register { hole } of machine %s", p.beamMM(), hole, p.Profile.Name)
	}
	return p.pairFits(hole, p.goodInset)
}

// holeMM is the diameter of a hole by which paper is laid.
func (p *Plan) holeMM() float64 {
	if p.Profile.Tool == machine.Punch {
		return p.Roll.Instrument.Die.DiameterMM
	}
	return p.Profile.Register.HoleMM
}

// pairFits reports a pair of holes that breaks out of the paper or runs into a port,
// with what remedy says.
func (p *Plan) pairFits(hole float64, remedy func(hole float64) string) error {
	in, reg := p.Roll.Instrument, p.Profile.Register
	if math.Abs(reg.InsetMM) < hole/2+roundMM {
		return fmt.Errorf("bed: a hole of %.4g mm with its middle %.4g mm from the edge breaks out of the paper; %s", hole,
			reg.InsetMM, remedy(hole))
	}
	for i, port := range in.Bar.Ports {
		for _, across := range []float64{reg.InsetMM, in.Paper.WidthMM - reg.InsetMM} {
			if apart := math.Abs(port.AcrossMM - across); apart < (hole+in.Die.DiameterMM)/2+roundMM {
				return fmt.Errorf("bed: the hole by which the paper is laid, %.4g mm from the edge, comes to within %.4g mm of port %d; %s",
					reg.InsetMM, apart, i+1, remedy(hole))
			}
		}
	}
	return nil
}

// goodInset says which inset would do, each tried as a profile that has it: the
// nearest to the one given within the outermost 30 mm of the paper, else one beside
// it, for which the paper may have to lie elsewhere on the bed.
func (p *Plan) goodInset(hole float64) string {
	const step, deepest = 0.25, 30.0
	in, given := p.Roll.Instrument, p.Profile.Register.InsetMM
	best := math.Inf(1)
	for n := 0.0; n*step <= deepest; n++ {
		at := n * step
		if math.Abs(at-given) < math.Abs(best-given) && p.holdsWith(at, p.Profile.Bed.EdgeMM) {
			best = at
		}
	}
	if !math.IsInf(best, 1) {
		return fmt.Sprintf("write register { inset = %.4g } in machine %s", best, p.Profile.Name)
	}
	best = -math.Ceil((hole/2+roundMM)/step) * step
	wider := 2 * (hole/2 + roundMM - best)
	beside := fmt.Sprintf("no place on paper %.4g mm wide will do: write register { inset = %.4g }", in.Paper.WidthMM, best)
	stock := fmt.Sprintf("cut it from stock %.4g mm wider", wider)
	if p.holdsWith(best, p.Profile.Bed.EdgeMM) {
		return beside + " and " + stock
	}
	if edge := math.Ceil(wider / 2); p.holdsWith(best, edge) {
		return fmt.Sprintf("%s and bed { edge = %.4g }, and %s", beside, edge, stock)
	}
	return fmt.Sprintf("no place on paper %.4g mm wide will do, and machine %s reaches no farther than %.4g mm across: this paper cannot be laid on it bed by bed",
		in.Paper.WidthMM, p.Profile.Name, p.Profile.Bed.AcrossMM)
}

// holdsWith reports whether the pair of holes would do with another inset and
// another place of the paper.
func (p *Plan) holdsWith(insetMM, edgeMM float64) bool {
	profile := *p.Profile
	profile.Register.InsetMM, profile.Bed.EdgeMM = insetMM, edgeMM
	tried := &Plan{Roll: p.Roll, Profile: &profile, RadiusMM: p.RadiusMM, Back: p.Back}
	return tried.acrossFits() == nil && tried.pairFits(tried.holeMM(), func(float64) string { return "" }) == nil
}

// layBeds divides the roll, and the paper before and after it on which marks are.
func (p *Plan) layBeds(marks []Mark) {
	m := p.Profile
	first, last := math.Inf(1), math.Inf(-1)
	for i := range p.Roll.Slots {
		s := &p.Roll.Slots[i]
		// where the last hole begins
		first, last = min(first, s.LeadMM), max(last, s.TrailMM-p.Roll.Instrument.Die.DiameterMM)
	}
	for _, m := range marks {
		if p.draws() {
			first, last = min(first, m.AlongMM), max(last, m.AlongMM)
		}
	}
	first = math.Floor(first)
	if m.Bed.Endless() {
		p.Beds = []Bed{{Number: 1, OriginMM: first - m.Bed.MarginMM, FromMM: first, ToMM: math.Inf(1)}}
		return
	}
	hole := m.Register.HoleMM
	p.PinMM = m.Bed.MarginMM + hole/2
	p.AdvanceMM = math.Floor(m.Bed.AlongMM - 2*m.Bed.MarginMM - max(m.Bed.OverlapMM, hole))
	y0, y1 := m.Bed.EdgeMM+m.Register.InsetMM, m.Bed.EdgeMM+p.Roll.Instrument.Paper.WidthMM-m.Register.InsetMM
	p.HolesY = [2]float64{y0, y1}
	for from, n := first, 1; from <= last; n++ {
		p.Beds = append(p.Beds, Bed{Number: n, OriginMM: from - m.Bed.MarginMM, FromMM: from, ToMM: from + p.AdvanceMM})
		from = first + float64(n)*p.AdvanceMM
	}
}

// y is where on the bed a place across the roll lies.
func (p *Plan) y(acrossMM float64) float64 {
	if p.BassAbove() {
		acrossMM = p.Roll.Instrument.Paper.WidthMM - acrossMM
	}
	return p.Profile.Bed.EdgeMM + acrossMM
}

// BassAbove reports whether the bass edge lies at the larger y: as the paper
// hangs before the player, turned so that the start is at the left.
func (p *Plan) BassAbove() bool {
	paper := p.Roll.Instrument.Paper
	return ((paper.Bass == instrument.Left) != p.Back) == !paper.TravelsUp
}

// holds are the holes by which the paper is laid that are cut on the bed.
func (p *Plan) holds(b *Bed) []Cut {
	if b.Number == len(p.Beds) {
		return nil
	}
	out := make([]Cut, 0, 2)
	for _, y := range p.HolesY {
		x := p.PinMM + p.AdvanceMM
		c := Cut{FromX: x, ToX: x, Y: y, Register: true}
		if p.Profile.Cut == machine.Punches {
			c.Holes = []float64{x}
		}
		out = append(out, c)
	}
	return out
}

// compareRows orders cuts row by row as they are printed, and each row from
// bass to treble.
func (p *Plan) compareRows(a, b *Cut) int {
	return cmp.Or(cmp.Compare(roll.Printed(a.FromX), roll.Printed(b.FromX)), p.fromBass(a.Y, b.Y))
}

// fromBass compares places across from the bass edge on.
func (p *Plan) fromBass(a, b float64) int {
	if p.BassAbove() {
		a, b = b, a
	}
	return cmp.Compare(a, b)
}

func sortRows(p *Plan, cuts []Cut) {
	slices.SortStableFunc(cuts, func(a, b Cut) int { return p.compareRows(&a, &b) })
}
