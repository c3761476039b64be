package perform

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
)

// Instant is a point of a line: where it lies in its voice, and when that is in the
// piece.
type Instant struct {
	Units      exact.Sum // from the voice's start; when UnitsExact
	UnitsExact bool
	UnitsFloat float64 // the same, nearest

	Time      exact.Sum // in seconds of the piece, after the shift; when TimeExact
	TimeExact bool      // true also at the start of a voice whose tempo moves, when the start is exact
	Sec       float64   // the same: the nearest when TimeExact, else right to 1 ns
}

// At is a point of the line. The error says that the voice has no such note.
func (l *Line) At(p piece.Point) (Instant, error) {
	units, problem := l.point(p)
	if problem != "" {
		return Instant{}, fmt.Errorf("%s", problem)
	}
	in := Instant{Units: units.sum, UnitsExact: units.exact(), UnitsFloat: units.float64()}
	offset := l.clock.of(units)
	in.TimeExact = l.StartExact && offset.exact() && (l.SpeedExact || units.exact() && units.sum.IsZero() == exact.Yes)
	if in.TimeExact {
		in.Time = l.Start.Add(offset.sum)
		in.Sec = in.Time.Float64()
		return in, nil
	}
	in.Sec = l.timeAt(ddBig(units.value()))
	return in, nil
}

// point is a point of a line, whose length is known where the point asks for it, in
// units from its start. The problem is empty when there is none.
func (l *Line) point(p piece.Point) (units amount, problem string) {
	switch p.Kind {
	case piece.AtStart:
		return amount{}, ""
	case piece.AtUnit:
		return exactlyRat(p.X), ""
	case piece.AtEnd:
		return l.length, ""
	case piece.AtShare:
		return l.length.scale(p.X), ""
	}
	if p.N < 1 || p.N > l.Notes {
		return amount{}, fmt.Sprintf("%q has no note %d: %s", l.voice.Name, p.N, hasNotes(l.Notes))
	}
	from, to := l.onset(p.N)
	if p.Kind == piece.AtNoteEnd {
		return to, ""
	}
	return from, ""
}

// Crossing is when two voices of a canon cross, in seconds of the piece after the
// shift: exactly where exact is true, else to the nanosecond.
func (p *Performance) Crossing(c *piece.Canon, x *piece.Cross) (at exact.Sum, sec float64, isExact bool) {
	r, l := p.resolver, p.Lines[x.Voices[0]]
	base, _ := r.base(c.Section)
	own := base.add(r.time(c.Section, x.At, x.Units))
	t := l.frame.unshifted(own)
	if isExact = t.exact() && p.ShiftExact && !l.Bent(); isExact {
		at = t.sum.Add(p.Shift)
		return at, at.Float64(), true
	}
	return at, l.frame.heard(ddBig(own.value())).hi, false
}
