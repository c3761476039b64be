package labels

import (
	"fmt"
	"math"
	"strings"

	"rollwright/draw"
	"rollwright/making/bench"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// rolls are the rolls of one spool, a piano each.
func (s *Set) rolls(number int) []*roll.Roll {
	var out []*roll.Roll
	for _, spool := range s.Spools {
		if spool.Number == number {
			out = append(out, spool.Roll)
		}
	}
	return out
}

// BesideMM is how far a hole of an outer port may lie beside its opening
// before it is worth a warning: assumed.
const BesideMM = 0.3

// paper is the sheet about leader, tab, paper.
func (s *Set) paper() *draw.Drawing {
	p := s.page("paper", "Leader, tab, paper")
	in := s.Spools[0].Instrument
	p.head(s.title(), "leader, tab, paper")
	order := "The tab; the rest of the leader, %s with it, its label where the player sees it; the row of time 0; the music; a trailer of %s, stuck to its spool square to the edges."
	if !tabbed(in) {
		order = "The leader, %s, its label where the player sees it; the row of time 0; the music; a trailer of %s."
	}
	p.paragraph("In this order", fmt.Sprintf(order, s.Lengths.Long(in.Paper.LeaderMM), s.Lengths.Long(in.Paper.TrailerMM)))
	p.paragraph("The paper", s.stretch(in))
	p.paragraph("Before punching", "Let paper and spools lie open for a day or two in the room where the roll will play, and punch, measure and play at the same dampness. Damp paper grows across the grain several times more than along it; the grain runs along the roll: "+s.damp(in)+" Draw two fine lines along the paper, "+s.apart(in)+" apart, and measure from one to the other before each sitting.")
	p.paragraph("Mind", strings.TrimSpace("Knives, punches and dies cut. "+in.Caution()+" Keep to the makers' manuals and your local rules. "+in.Wiring()))
	if tabbed(in) {
		s.tab(p, in)
	}
	return p.Drawing
}

// dampGrowth is how much wider damp paper may be: 0.4 % (common practice, no
// source).
const dampGrowth = 0.004

// damp says what damp does to the outermost hole of paper that stays where it is
// at its middle.
func (s *Set) damp(in *instrument.Instrument) string {
	outer := 0.0
	for _, p := range in.Bar.Ports {
		outer = max(outer, math.Abs(p.AcrossMM-in.Paper.WidthMM/2))
	}
	return fmt.Sprintf("%.1f %% across moves the outermost hole %.1f mm.", 100*dampGrowth, dampGrowth*outer)
}

// tabbed reports whether the paper has a tab that hooks into a take-up spool: not a
// strip that a hand pushes between wheels.
func tabbed(in *instrument.Instrument) bool { return in.Bar.Reading != instrument.Pins }

// apart is a length across the paper to watch it by, round in the units of the bench
// and as long as the paper has room for.
func (s *Set) apart(in *instrument.Instrument) string {
	const edges, most = 20, 250 // mm
	width := in.Paper.WidthMM - edges
	if s.Lengths == bench.Millimetres {
		return fmt.Sprintf("%.0f mm", max(min(math.Floor(width/50)*50, most), 10))
	}
	return fmt.Sprintf("%.0f in", max(min(math.Floor(width/25.4), 10), 1))
}

// stretch says what the size of the paper does.
func (s *Set) stretch(in *instrument.Instrument) string {
	if s.Stretch.None() {
		return "The rolls are laid out for paper that has the same size at the bench and at the instrument. If it has not, give the paper's factors across and along: size at the bench over size at the instrument."
	}
	about := [...]string{"its centre", "its bass edge", "its treble edge"}[s.Stretch.About]
	text := fmt.Sprintf("At the bench the paper is %s times as wide and %s times as long as at the instrument; places are scaled by as much, across about %s.", share(s.Stretch.Across), share(s.Stretch.Along), about)
	beside := s.Stretch.MostBesideMM(in)
	text += fmt.Sprintf(" Left alone, the outer holes would lie %.2f mm beside their ports", beside)
	if beside > BesideMM {
		return text + fmt.Sprintf(": more than %.1f mm. Rather condition the paper than trust in factors.", BesideMM)
	}
	return text + "."
}

func share(f float64) string {
	if f == 0 {
		f = 1
	}
	return fmt.Sprintf("%.5g", f)
}

// The tab: how the beginning of the paper is cut to catch the take-up spool.
// All its measures are assumed.
const (
	tabLongMM   = 110.0
	tabNarrowMM = 20.0 // half its width
	tabEndMM    = 25.0
	eyeletMM    = 6.0
)

// tab is half the end of the leader, 1:1, to fold and cut.
func (s *Set) tab(p *page, in *instrument.Instrument) {
	half := in.Paper.WidthMM / 2
	x, top := p.left+10, p.h-edgeMM-tabLongMM-12
	p.l.Add(draw.Bold(p.left, top-6, 4, "Tab, half of it, 1:1", draw.Start))
	cut := &draw.Path{Stroke: draw.Main(draw.InkDark)}
	cut.Polyline(draw.Point{X: x, Y: top}, draw.Point{X: x + tabNarrowMM, Y: top},
		draw.Point{X: x + tabNarrowMM, Y: top + tabEndMM}, draw.Point{X: x + half, Y: top + tabLongMM})
	cut.Circle(x, top+tabEndMM/2, eyeletMM/2)
	p.l.Add(cut)
	p.l.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.InkDark, WidthMM: draw.Hairline,
		DashMM: []float64{4, 1.5, 0.8, 1.5}}}).Line(x, top-3, x, top+tabLongMM))
	fold := draw.Second(draw.Label(x-1.6, top+tabLongMM/2, smallMM, "fold along the middle of the paper", draw.Middle))
	fold.TurnDeg = -90
	edge := draw.Second(draw.Label(x+half+4, top+tabLongMM-18, smallMM, "edge of the paper", draw.Middle))
	edge.TurnDeg = -90
	p.l.Add(fold, edge)
	if x+half+1 < p.right {
		p.l.Add((&draw.Path{Stroke: draw.Hair(draw.InkSecond)}).Line(x+half, top+tabLongMM-30, x+half, top+tabLongMM))
	}
	for i, line := range []string{
		"Fold the beginning of the paper along its middle, lay the fold on the chain line, cut both layers along the thick line.",
		fmt.Sprintf("Punch the hole (%.0f mm) for the hook of the take-up spool through both, and strengthen it with gummed cloth.", eyeletMM),
		"Measures are assumed: look at your own spool first.",
	} {
		p.l.Add(draw.Second(draw.Label(x+tabNarrowMM+8, top+1+float64(i)*4.2, smallMM, line, draw.Start)))
	}
	p.ruler(x, p.h-edgeMM-5)
}

func (p *page) ruler(x, y float64) {
	p.l.Add(draw.Ruler(x, y, 1, 0, 100, 1), draw.Second(draw.Label(x+103, y+2.4, smallMM,
		"100 mm: measure it before you cut", draw.Start)))
}
