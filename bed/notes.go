package bed

import (
	"fmt"
	"math"

	"rollwright/bench"
)

// Axes is a place of the bed on the axes of the machine: as it is, or, where
// the machine's Y runs along the roll, turned by a quarter, never mirrored.
func (p *Plan) Axes(x, y float64) (machineX, machineY float64) {
	if p.Profile.AlongY {
		return p.Profile.Bed.AcrossMM - y, x
	}
	return x, y
}

// lengths is how the machine's user reads lengths.
func (p *Plan) lengths() bench.Lengths {
	if p.Profile.Inches {
		return bench.InchesDecimal
	}
	return bench.Millimetres
}

// Notes are what a person must know to lay the paper and cut bed b, a line
// each: which piece of which roll it is, which face is up, where the paper
// lies, how often to cut.
func (p *Plan) Notes(b *Bed, title string) []string {
	in, l := p.Roll.Instrument, p.lengths()
	if title == "" {
		title = "Untitled"
	}
	lines := []string{
		fmt.Sprintf("%s: bed %d of %d", title, b.Number, len(p.Beds)),
		fmt.Sprintf("Machine %s: %s. Holes of %s, paper %s wide.", p.Profile.Name, p.Profile.Title, l.With(in.Die.DiameterMM), l.With(in.Paper.WidthMM)),
		p.faceNote(),
	}
	lines = append(lines, p.layNote(b)...)
	if p.Copies > 1 || p.Profile.Pass.Plies > 1 {
		lines = append(lines, p.copiesNote())
	}
	return append(lines, fmt.Sprintf("One pass takes about %s.", Clock(b.Path.Sec)))
}

func (p *Plan) faceNote() string {
	side, bass := "front (the side to the player)", "bottom"
	if p.Back {
		side = "back (the side to the bar)"
	}
	if p.BassAbove() {
		bass = "top"
	}
	if p.Profile.AlongY {
		bass = map[string]string{"top": "left", "bottom": "right"}[bass]
		return fmt.Sprintf("Paper with its %s up, start towards Y 0, bass edge at the %s.", side, bass)
	}
	return fmt.Sprintf("Paper with its %s up, start at the left, bass edge at the %s.", side, bass)
}

// at is a place in words: "X 11.5 mm, Y 44 mm".
func (p *Plan) at(x, y float64) string {
	x, y = p.Axes(x, y)
	return fmt.Sprintf("X %s, Y %s", p.lengths().With(x), p.lengths().With(y))
}

// layNote says where the paper lies.
func (p *Plan) layNote(b *Bed) []string {
	in, l, m := p.Roll.Instrument, p.lengths(), p.Profile
	edgeX, edgeY := p.Axes(0, m.Bed.EdgeMM)
	edge := fmt.Sprintf("Its lower edge lies along Y %s.", l.With(edgeY))
	if m.AlongY {
		edge = fmt.Sprintf("Its right edge lies along X %s.", l.With(edgeX))
	}
	if b.Number == 1 {
		return []string{edge, fmt.Sprintf("Leave %s of blank paper before the first hole, which comes %s behind the machine's zero.",
			l.With(in.Paper.LeaderMM+b.FromMM), l.With(m.Bed.MarginMM))}
	}
	lines := []string{edge, fmt.Sprintf("Move the paper on by %s: the two holes cut with bed %d then lie on pins at %s and %s.",
		l.With(p.AdvanceMM), b.Number-1, p.at(p.PinMM, p.HolesY[0]), p.at(p.PinMM, p.HolesY[1]))}
	return lines
}

func (p *Plan) copiesNote() string {
	plies := min(p.Profile.Pass.Plies, p.Copies)
	last := p.Copies - (p.Passes-1)*plies
	switch {
	case p.Copies == 1:
		return "Copies: 1."
	case p.Passes == 1:
		return fmt.Sprintf("Copies: %d, in %d plies at once.", p.Copies, plies)
	case plies == 1:
		return fmt.Sprintf("Copies: %d: cut every bed %d times.", p.Copies, p.Passes)
	}
	return fmt.Sprintf("Copies: %d, in up to %d plies at once: cut every bed %d times, the last time with %d.", p.Copies, plies, p.Passes, last)
}

// Clock is a time for reading: seconds, minutes and seconds, or hours and
// minutes, rounded to the nearest.
func Clock(sec float64) string {
	s := int64(math.Round(sec))
	switch {
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %d s", s/60, s%60)
	}
	m := int64(math.Round(sec / 60))
	return fmt.Sprintf("%d h %d min", m/60, m%60)
}
