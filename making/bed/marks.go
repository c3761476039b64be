package bed

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/draw"
	"rollwright/making/machine"
)

// Mark is a line across the margins of the paper that players watch for: where two
// pianos begin together, and where they look whether they still do.
type Mark struct {
	AlongMM float64 // from the roll's zero
	Name    string
}

// draws reports whether the machine can be told to mark paper without cutting it.
func (p *Plan) draws() bool { return p.Profile.Tool == machine.Laser && len(p.bands()) > 0 }

// inProgram reports whether programs make the marks; drawings have them whenever
// the machine is one that can.
func (p *Plan) inProgram() bool { return p.draws() && p.Profile.Head.Mark != nil }

// marked reports whether a mark lies on the paper of a bed or after it, for which
// the bed is needed.
func (p *Plan) marked(marks []Mark, b *Bed) bool {
	return p.draws() && slices.ContainsFunc(marks, func(m Mark) bool { return m.AlongMM >= b.FromMM })
}

// deal gives every mark to the bed on which it lies, or, where beds hold holes
// alone, to the nearest.
func (p *Plan) deal(marks []Mark) {
	for _, m := range marks {
		n := 0
		if p.AdvanceMM > 0 {
			n = int(math.Floor((m.AlongMM - p.Beds[0].FromMM) / p.AdvanceMM))
		}
		b := &p.Beds[min(max(n, 0), len(p.Beds)-1)]
		b.Marks = append(b.Marks, m)
	}
	for i := range p.Beds {
		slices.SortStableFunc(p.Beds[i].Marks, func(a, b Mark) int { return cmp.Compare(a.AlongMM, b.AlongMM) })
	}
}

// A mark keeps half a millimetre from the edge, one from the nearest hole, and is no
// longer than an eye needs; what would be shorter than a millimetre nobody sees.
const (
	markEdgeMM, markHoleMM      = 0.5, 1.0
	longestMarkMM, leastMarkMM  = 25.0, 1.0
	markTextMM, markTextBesides = 2.6, 1.0
)

// bands are the stretches across the bed, lower and higher y, where marks are drawn:
// the margins that no port has.
func (p *Plan) bands() [][2]float64 {
	in := p.Roll.Instrument
	low, high := in.Paper.WidthMM, 0.0
	half := in.Die.DiameterMM / 2
	for i := range in.Bar.Ports {
		low, high = min(low, in.Bar.Ports[i].AcrossMM-half), max(high, in.Bar.Ports[i].AcrossMM+half)
	}
	low, high = low-markHoleMM, high+markHoleMM
	var out [][2]float64
	for _, band := range [][2]float64{
		{max(markEdgeMM, low-longestMarkMM), low}, {high, min(in.Paper.WidthMM-markEdgeMM, high+longestMarkMM)},
	} {
		if band[1]-band[0] >= leastMarkMM {
			a, b := p.y(band[0]), p.y(band[1])
			out = append(out, [2]float64{min(a, b), max(a, b)})
		}
	}
	return out
}

// runMarks moves t along the marks of a bed, there and back so that little is
// travelled.
func (p *Plan) runMarks(b *Bed, t Tool) {
	bands := p.bands()
	for i, m := range b.Marks {
		x := m.AlongMM - b.OriginMM
		for k := range bands {
			from, to := bands[k][0], bands[k][1]
			if i%2 == 1 {
				to, from = bands[len(bands)-1-k][0], bands[len(bands)-1-k][1]
			}
			t.Travel(x, from)
			t.Mark()
			t.Line(x, to)
			t.Off()
		}
	}
}

// drawMarks adds the marks of a bed and their names, as lines alone: what is filled
// a machine would not follow.
func (e *sketch) drawMarks(b *Bed, layer *draw.Layer) {
	look := e.plan.Profile.Lines.Mark
	for _, m := range b.Marks {
		x := m.AlongMM - b.OriginMM
		line := &draw.Path{Named: draw.Named{Title: m.Name}, Stroke: draw.Stroke{Ink: look.Hue, WidthMM: look.WidthMM}}
		for _, band := range e.plan.bands() {
			line.MoveTo(e.point(x, band[0]))
			line.LineTo(e.point(x, band[1]))
		}
		layer.Add(line, e.markName(m, x, look))
	}
}

// markName is the name of a mark as outlines, in the wider margin.
func (e *sketch) markName(m Mark, x float64, look machine.Line) *draw.Path {
	bands := e.plan.bands()
	band := slices.MaxFunc(bands, func(a, b [2]float64) int { return cmp.Compare(a[1]-a[0], b[1]-b[0]) })
	size := min(markTextMM, (band[1]-band[0])*0.9)
	name := draw.Label(0, 0, size, m.Name, draw.Start)
	name.At.X, name.At.Y = e.point(x+markTextBesides, (band[0]+band[1])/2-size*0.36)
	if e.plan.Profile.AlongY {
		name.At.X, name.At.Y = e.point(x+markTextBesides, (band[0]+band[1])/2-size*0.36)
		name.TurnDeg = -90
	}
	out := name.Outline()
	out.Fill, out.Stroke = draw.Ink{}, draw.Stroke{Ink: look.Hue, WidthMM: look.WidthMM}
	return out
}

// marksNote says where the marks of a bed lie, and whose work they are; drawn says
// whether the file has them.
func (p *Plan) marksNote(b *Bed, drawn bool) []string {
	if len(b.Marks) == 0 {
		return nil
	}
	axis, bed := "X", p.Profile.Bed.AlongMM
	if p.Profile.AlongY {
		axis = "Y"
	}
	var at []string
	for _, m := range b.Marks {
		x := m.AlongMM - b.OriginMM
		text := fmt.Sprintf("%s at %s %s", m.Name, axis, p.lengths().With(x))
		if x < 0 || !p.Profile.Bed.Endless() && x > bed {
			text += " [beyond the bed]"
		}
		at = append(at, text)
	}
	list := strings.Join(at, ", ") + "."
	switch {
	case !drawn:
		return []string{"Draw across both margins by hand: " + list}
	case p.inProgram():
		return []string{"Marks across both margins, power " + strings.Join(p.Profile.Head.Mark, " ") + ": " + list,
			"Try on scrap that this power marks the paper and does not cut it."}
	}
	return []string{"Marks across both margins: " + list}
}
