package bed

import (
	"math"
	"slices"

	"rollwright/making/machine"
)

// meter measures a path.
type meter struct {
	profile *machine.Profile
	x, y    float64
	Measure
}

// measure walks a bed's cuts from the park place and back to it.
func (p *Plan) measure(marks []Mark, origin float64, cuts []Cut) Measure {
	park := p.Profile.Park
	m := meter{profile: p.Profile, x: park.AlongMM, y: park.AcrossMM}
	p.Run(&Bed{Cuts: cuts, Marks: marks, OriginMM: origin}, &m)
	if !p.Profile.Bed.Endless() {
		m.Travel(park.AlongMM, park.AcrossMM)
	}
	return m.Measure
}

func (m *meter) Travel(x, y float64) {
	dx, dy := math.Abs(x-m.x), math.Abs(y-m.y)
	m.x, m.y = x, y
	m.TravelMM += math.Hypot(dx, dy)
	move := m.profile.Move
	m.Sec += max(travelSec(dx, move.AlongMMPerSec, move.AccelMMPerSec2),
		travelSec(dy, move.AcrossMMPerSec, move.AccelMMPerSec2))
}

// travelSec is how long one axis takes from rest to rest over a distance: it
// speeds up and slows down evenly, and when there is room runs at its speed in
// between.
func travelSec(mm, speed, accel float64) float64 {
	switch {
	case mm == 0:
		return 0
	case accel == 0:
		return mm / speed
	case mm*accel < speed*speed:
		return 2 * math.Sqrt(mm/accel)
	}
	return mm/speed + speed/accel
}

func (m *meter) On() {
	m.Strokes++
	m.Sec += m.profile.Head.OnSec + m.profile.Head.SwitchSec
}

// Mark takes as long as On.
func (m *meter) Mark() { m.On() }

func (m *meter) Off() { m.Sec += m.profile.Head.OffSec }

func (m *meter) Line(x, y float64) {
	m.feed(math.Hypot(x-m.x, y-m.y))
	m.x, m.y = x, y
}

// Arc is always half a circle.
func (m *meter) Arc(x, y, cx, cy float64) {
	m.feed(math.Pi * math.Hypot(x-cx, y-cy))
	m.x, m.y = x, y
}

func (m *meter) feed(mm float64) {
	m.CutMM += mm
	if f := m.profile.Head.FeedMMPerSec; f > 0 {
		m.Sec += mm / f
	}
}

// inRows are the cuts of a bed in plain order: row after row as printed, every
// row from bass to treble, a punch's dies each on its own.
func (p *Plan) inRows(b *Bed) []Cut {
	n := 0
	for i := range b.Cuts {
		n += max(len(b.Cuts[i].Holes), 1)
	}
	cuts := make([]Cut, 0, n)
	for _, c := range b.Cuts {
		if c.Holes == nil {
			cuts = append(cuts, c)
			continue
		}
		for i, x := range c.Holes {
			cuts = append(cuts, Cut{FromX: x, ToX: x, Y: c.Y, Holes: c.Holes[i : i+1], Register: c.Register})
		}
	}
	sortRows(p, cuts)
	return cuts
}

// Total adds the measures of all beds, as planned.
func (p *Plan) Total() (path, rows Measure) {
	for i := range p.Beds {
		path.add(p.Beds[i].Path)
		rows.add(p.Beds[i].Rows)
	}
	return path, rows
}

func (m *Measure) add(o Measure) {
	m.TravelMM += o.TravelMM
	m.CutMM += o.CutMM
	m.Strokes += o.Strokes
	m.Sec += o.Sec
}

// WorkSec is how long all passes take, the laying of the paper included.
func (p *Plan) WorkSec() float64 {
	path, _ := p.Total()
	return float64(p.Passes) * (path.Sec + float64(len(p.Beds))*p.Profile.Pass.ChangeSec)
}

// mostForTree is how many cuts of one bed LowerBoundMM looks at as a whole: its
// work grows with their square.
const mostForTree = 8000

// LowerBoundMM is a length that the tool's travel on a bed cannot be under,
// whatever the order of the cuts: the least tree that joins all dies, or of a
// laser all openings, each from whichever of its ends is nearer (R. C. Prim,
// Bell System Technical Journal 36 (1957) 1389), for any path that makes them
// all is such a tree. It is 0 for a bed with more than 8000 of them.
func (p *Plan) LowerBoundMM(b *Bed) float64 {
	cuts := p.inRows(b)
	if len(cuts) > mostForTree {
		return 0
	}
	return leastTree(p.bothEnds(cuts))
}

// bothEnds are the places where each cut can be entered or left.
func (p *Plan) bothEnds(cuts []Cut) []node {
	nodes := make([]node, len(cuts))
	for i := range cuts {
		c := cuts[i]
		c.Back = false
		x0, y0, _, _ := p.ends(&c)
		c.Back = true
		x1, y1, _, _ := p.ends(&c)
		nodes[i] = node{[2]point{{x0, y0}, {x1, y1}}}
	}
	return nodes
}

func leastTree(nodes []node) float64 {
	if len(nodes) == 0 {
		return 0
	}
	far := slices.Repeat([]float64{math.Inf(1)}, len(nodes))
	in := make([]bool, len(nodes))
	total, last := 0.0, 0
	for range len(nodes) - 1 {
		in[last] = true
		next := -1
		for i := range nodes {
			if in[i] {
				continue
			}
			if d := nodes[last].apart(&nodes[i]); d < far[i] {
				far[i] = d
			}
			if next < 0 || far[i] < far[next] {
				next = i
			}
		}
		total += far[next]
		last = next
	}
	return total
}
