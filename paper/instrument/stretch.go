package instrument

import "math"

// Stretch is how much larger paper is where it is punched than where it plays.
// Damp paper grows, across the grain more than along; the grain runs along the
// roll. The zero Stretch is none.
type Stretch struct {
	Along, Across float64 // size at the bench over size at the instrument; 0: 1
	About         Anchor  // what keeps its place across
}

// Anchor is the line of the paper that the tracker keeps in place.
type Anchor int8

// The anchors: the middle, where the instrument centres the paper, or the edge
// that its tracking follows.
const (
	Centre Anchor = iota
	BassEdge
	TrebleEdge
)

// None reports whether s changes nothing.
func (s Stretch) None() bool {
	return (s.Along == 0 || s.Along == 1) && (s.Across == 0 || s.Across == 1)
}

func factor(f float64) float64 {
	if f == 0 {
		return 1
	}
	return f
}

// anchorMM is the place across of what stays.
func (s Stretch) anchorMM(widthMM float64) float64 {
	switch s.About {
	case BassEdge:
		return 0
	case TrebleEdge:
		return widthMM
	}
	return widthMM / 2
}

// MostBesideMM is how far the hole of an outer port would lie beside its
// opening if the paper were punched without regard to s: the distance of the
// farthest port from what stays, times the change across.
func (s Stretch) MostBesideMM(in *Instrument) float64 {
	most := 0.0
	for _, p := range in.Bar.Ports {
		most = max(most, math.Abs(p.AcrossMM-s.anchorMM(in.Paper.WidthMM)))
	}
	return most * math.Abs(factor(s.Across)-1)
}

// Stretched is the instrument as the paper at the bench sees it: a copy whose
// ports stand wider by s.Across about what stays, whose paper runs faster by
// s.Along. The paper is taken to be cut to its nominal width at the bench. A
// spool's s(t) = v t + h v^2 t^2/(4 pi r^2) grows as a whole when v grows, and h
// shrinks, by the same factor.
func (in *Instrument) Stretched(s Stretch) *Instrument {
	if s.None() {
		return in
	}
	along, across := factor(s.Along), factor(s.Across)
	out := *in
	out.Transport.RollTempo *= along
	out.Transport.ThicknessMM /= along
	out.Transport.SlowingPerMM /= along
	out.Bar.Ports = append([]Port(nil), in.Bar.Ports...)
	anchor := s.anchorMM(in.Paper.WidthMM)
	for i := range out.Bar.Ports {
		p := &out.Bar.Ports[i]
		p.AcrossMM = anchor + (p.AcrossMM-anchor)*across
	}
	return &out
}
