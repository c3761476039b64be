package bed

import (
	"math"

	"rollwright/making/machine"
)

// Tool is what a path moves: a writer of programs, a drawing, a meter.
type Tool interface {
	Travel(x, y float64)      // to a place, switched off
	On()                      // switch on; a punch strikes
	Off()                     // switch off
	Line(x, y float64)        // cut straight to a place
	Arc(x, y, cx, cy float64) // cut to a place along a circle round cx, cy, counter-clockwise
}

// Run moves t along the path of one bed, from the first cut to the last. It
// begins and ends switched off.
func (p *Plan) Run(b *Bed, t Tool) {
	for i := range b.Cuts {
		p.cut(&b.Cuts[i], t)
	}
}

func (p *Plan) cut(c *Cut, t Tool) {
	switch {
	case c.Holes != nil:
		strike(c, t)
	case c.Register && p.Profile.Cut == machine.Outlines:
		p.outline(c, (p.Profile.Register.HoleMM-p.Profile.Head.KerfMM)/2, t)
	case p.RadiusMM > 0:
		p.outline(c, p.RadiusMM, t)
	default:
		p.stroke(c, t)
	}
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
	if c.Holes == nil && p.Profile.Cut == machine.Outlines {
		r := p.RadiusMM
		if c.Register {
			r = (p.Profile.Register.HoleMM - p.Profile.Head.KerfMM) / 2
		}
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
