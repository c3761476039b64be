package plan

import (
	"fmt"
	"math/big"

	"rollwright/exact"
	"rollwright/music/piece"
)

// mark is a place in a voice.
type mark struct {
	sec   float64  // piece time
	units float64  // from the start of the voice
	steps *big.Rat // the same in steps; nil: not known
}

// instant is a mark in seconds.
func (p *part) instant(m mark) Number {
	if m.steps != nil && p.onsets.exact() {
		return sumNumber(p.onsets.between(m.steps))
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
	if p.lattice != nil {
		m.steps = new(big.Rat).SetInt64(p.lattice.Item(n))
	}
	return m
}

// place is the mark so many units after the start.
func (p *part) place(units *big.Rat) mark {
	f, _ := units.Float64()
	m := mark{sec: p.startSec + p.line.Path.Seconds(f), units: f}
	if p.lattice != nil {
		inSteps, ok := rational(exact.SumRat(units).MulReal(p.onsets.steps.size.Inv()))
		if ok == exact.Yes {
			m.steps = inSteps
		}
	}
	return m
}

// share is the mark at a share of the written length.
func (p *part) share(x exact.Rat) mark {
	units := x.Float64() * p.line.Length
	m := mark{sec: p.startSec + p.line.Path.Seconds(units), units: units}
	if p.lattice != nil {
		m.steps = new(big.Rat).SetInt64(p.lattice.Length())
		m.steps.Mul(m.steps, x.Big())
	}
	return m
}

// point is where a point of a canon lies in this voice, and false when the
// voice has no such note.
func (p *part) point(at piece.Point) (mark, bool) {
	switch at.Kind {
	case piece.AtNote, piece.AtNoteEnd:
		if at.N < 1 || at.N > len(p.notes) {
			return mark{}, false
		}
		n := int(p.notes[at.N-1])
		if at.Kind == piece.AtNoteEnd {
			n++
		}
		return p.item(n), true
	case piece.AtEnd:
		return p.item(p.line.Items), true
	case piece.AtShare:
		return p.share(at.X), true
	case piece.AtUnit:
		return p.place(at.X.Big()), true
	}
	return p.item(0), true
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
