package plan

import (
	"fmt"
	"math/big"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// mark is a place in a voice.
type mark struct {
	sec   float64   // piece time
	units float64   // from the start of the voice
	at    exact.Sum // piece time, when known
	known bool
}

// markOf is a point of a line as a mark.
func markOf(in perform.Instant) mark { return mark{in.Sec, in.UnitsFloat, in.Time, in.TimeExact} }

// instant is a mark in seconds.
func (p *part) instant(m mark) Number {
	if m.known {
		return sumNumber(m.at)
	}
	return decimalNumber(m.sec)
}

// item is the start of an item, or the end of the last one.
func (p *part) item(n int) mark {
	m := mark{sec: p.endSec, units: p.line.Length}
	if n < p.line.Items {
		it := p.line.Item(n)
		m.sec, m.units = it.StartSec, it.At
	}
	if p.lattice != nil && p.onsets.exact() && !p.bent {
		m.at, m.known = p.onsets.between(new(big.Rat).SetInt64(p.lattice.Item(n))), true
	}
	return m
}

// point is where a point of a canon lies in this voice, and false when the
// voice has no such note.
func (p *part) point(at piece.Point) (mark, bool) {
	in, err := p.line.At(at)
	return markOf(in), err == nil
}

// nominal is a point as the file counts it; nil where that is what is heard, and where the
// voice has no such note.
func (p *part) nominal(at piece.Point) *Number {
	in, err := p.line.At(at)
	if !p.bent || err != nil {
		return nil
	}
	n := decimalNumber(p.line.Nominal(in.Sec))
	if in.UnitsExact && p.onsets.clock.known {
		n = sumNumber(p.onsets.clock.start.Add(in.Units.MulReal(p.unit)))
	}
	return &n
}

// pointText names a point in words.
func pointText(at piece.Point) string {
	switch at.Kind {
	case piece.AtEnd:
		return "the end"
	case piece.AtNote:
		return fmt.Sprintf("note %d", at.N)
	case piece.AtNoteEnd:
		return fmt.Sprintf("the end of note %d", at.N)
	case piece.AtUnit:
		return "unit " + at.X.String()
	case piece.AtShare:
		return at.X.String() + " of the length"
	}
	return "the start"
}
