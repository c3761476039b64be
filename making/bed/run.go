package bed

import (
	"math"

	"rollwright/making/machine"
)

// Tool is what a path moves: a writer of programs, a drawing, a meter.
type Tool interface {
	Travel(x, y float64)      // to a place, switched off
	On()                      // switch on; a punch strikes
	Mark()                    // switch on so that paper is marked and not cut
	Off()                     // switch off
	Line(x, y float64)        // cut straight to a place
	Arc(x, y, cx, cy float64) // cut to a place along a circle round cx, cy, counter-clockwise
}

// Run moves t along the path of one bed: its marks, where the machine's programs make
// them, then from the first cut to the last. It begins and ends switched off.
func (p *Plan) Run(b *Bed, t Tool) {
	if p.inProgram() {
		p.runMarks(b, t)
	}
	for i := range b.Cuts {
		p.cut(&b.Cuts[i], t)
	}
}

func (p *Plan) cut(c *Cut, t Tool) {
	switch {
	case c.Holes != nil:
		strike(c, t)
	case p.radius(c) > 0:
		p.outline(c, p.radius(c), t)
	default:
		p.stroke(c, t)
	}
}

// radius is that of the ends of a cut's outline, kerf taken off; 0 where the
// tool is as wide as the cut. A beam that cuts slots by one stroke goes round a
// wider hole for a pin.
func (p *Plan) radius(c *Cut) float64 {
	switch {
	case !c.Register:
		return p.RadiusMM
	case p.Profile.Tool == machine.Punch:
		return 0
	}
	if r := (p.Profile.Register.HoleMM - p.beamMM()) / 2; r > leastRadiusMM {
		return r
	}
	return 0
}

// leastRadiusMM is that of a circle that a beam makes by standing still.
const leastRadiusMM = 0.01

// beamMM is the width of the beam: where strokes are cut and the profile does
// not say, that of the slots.
func (p *Plan) beamMM() float64 {
	if p.Profile.Cut == machine.Strokes && p.Profile.Head.KerfMM == 0 {
		return p.Roll.Instrument.Die.DiameterMM
	}
	return p.Profile.Head.KerfMM
}

func strike(c *Cut, t Tool) {
	for i := range c.Holes {
		x := c.Holes[i]
		if c.Back {
			x = c.Holes[len(c.Holes)-1-i]
		}
		t.Travel(x, c.Y)
		t.On()
		t.Off()
	}
}

// stroke cuts along the middle. Its ends are round and as wide as the beam, so
// they lie where the die's would.
func (p *Plan) stroke(c *Cut, t Tool) {
	from, to := c.FromX, c.ToX
	if c.Back {
		from, to = to, from
	}
	t.Travel(from, c.Y)
	t.On()
	if to != from {
		t.Line(to, c.Y)
	}
	t.Off()
}

// outline cuts around: out along one side, around the end, back along the
// other, around the beginning. The offcut lies to the left of the path, so the
// tool turns counter-clockwise.
func (p *Plan) outline(c *Cut, r float64, t Tool) {
	from, to := c.FromX, c.ToX
	if c.Back {
		from, to, r = to, from, -r // the same, turned by half
	}
	t.Travel(from, c.Y-r)
	t.On()
	p.side(from, to, c.Y-r, t)
	t.Arc(to, c.Y+r, to, c.Y)
	p.side(to, from, c.Y+r, t)
	t.Arc(from, c.Y-r, from, c.Y)
	t.Off()
}

// side cuts one long side, but for its tabs. They lie at the same places on
// both sides, counted from the middle, so that a tab holds against a tab.
func (p *Plan) side(from, to, y float64, t Tool) {
	if from == to {
		return
	}
	tabs, length := p.Profile.Tabs, math.Abs(to-from)
	if p.tabbed(&Cut{FromX: 0, ToX: length}) {
		n := max(int(length/tabs.EveryMM), 1)
		half := (tabs.WidthMM + p.Profile.Head.KerfMM) / 2 // the beam eats half its kerf at each end
		towards := math.Copysign(half, to-from)
		for i := range n {
			at := (from+to)/2 + (to-from)/length*tabs.EveryMM*(float64(i)-float64(n-1)/2)
			t.Line(at-towards, y)
			t.Off()
			t.Travel(at+towards, y)
			t.On()
		}
	}
	t.Line(to, y)
}

// tabbed reports whether a cut leaves tabs of paper.
func (p *Plan) tabbed(c *Cut) bool {
	over := p.Profile.Tabs.OverMM
	return over > 0 && p.Profile.Cut == machine.Outlines && c.ToX-c.FromX+p.Roll.Instrument.Die.DiameterMM > over
}

// ends are where the path enters and leaves a cut.
func (p *Plan) ends(c *Cut) (inX, inY, outX, outY float64) {
	if r := p.radius(c); c.Holes == nil && r > 0 {
		if c.Back {
			return c.ToX, c.Y + r, c.ToX, c.Y + r
		}
		return c.FromX, c.Y - r, c.FromX, c.Y - r
	}
	if c.Back {
		return c.ToX, c.Y, c.FromX, c.Y
	}
	return c.FromX, c.Y, c.ToX, c.Y
}
