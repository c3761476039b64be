package perform

import (
	"rollwright/exact"
	"rollwright/music/piece"
)

// bend is a tempo path over the time of a section or of the whole piece: it turns
// nominal seconds, as the file counts them, into others, by reading them as units at the
// nominal tempo.
type bend struct {
	clock   clock
	perSec  exact.Real // units in a nominal second
	scale   dd         // the same
	nominal float64    // the nominal tempo
	legs    []piece.Leg
}

// newBend is the bend of a path, and nil without one. The error says which leg, counted
// from 1, cannot be.
func newBend(p *piece.Piece, legs []piece.Leg, quarters exact.Real) (*bend, error) {
	if len(legs) == 0 {
		return nil, nil
	}
	unit := p.Unit
	if unit.Sign() == 0 {
		unit = piece.DefaultUnit
	}
	path, err := pathOf(legs, quarters, unit, exact.Real{})
	if err != nil {
		return nil, err
	}
	b := &bend{clock: newClock(path, legs, quarters, unit), nominal: quarters.Float64(), legs: legs}
	nominal, _ := pathOf(nil, quarters, unit, exact.Real{})
	second, _ := nominal.SecondsPerUnit()
	b.perSec = second.Inv()
	b.scale = ddReal(b.perSec)
	return b, nil
}

// seconds is what the nominal time t becomes.
func (b *bend) seconds(t dd) dd {
	if b == nil {
		return t
	}
	return b.clock.seconds(t.mul(b.scale))
}

// of is seconds to some 2^-90.
func (b *bend) of(t amount) amount {
	if b == nil {
		return t
	}
	return b.clock.of(t.mulReal(b.perSec))
}

// before is the nominal time that becomes sec.
func (b *bend) before(sec float64) float64 {
	if b == nil {
		return sec
	}
	return b.clock.path.Units(sec) / b.scale.hi
}

// rate is how many nominal seconds pass in a second, at the nominal time t.
func (b *bend) rate(t float64) float64 {
	if b == nil {
		return 1
	}
	return b.clock.path.Tempo(t*b.scale.hi) / b.nominal
}

// edges are the nominal times at which one leg gives way to the next.
func (b *bend) edges() []float64 {
	if b == nil {
		return nil
	}
	var out []float64
	units, sec := 0.0, 0.0
	for _, leg := range b.legs {
		if leg.OverUnits.Sign() > 0 {
			units += leg.OverUnits.Float64()
			sec = b.clock.path.Seconds(units)
		} else {
			sec += leg.OverSec.Float64()
			units = b.clock.path.Units(sec)
		}
		out = append(out, units/b.scale.hi)
	}
	return out
}

// frame is the time in which a line stands: that of the piece, or of a section that bends
// its own.
type frame struct {
	section  int // whose time it is; -1: the piece's
	inside   *bend
	base     amount // where the section begins in the piece's nominal time
	baseDD   dd
	piece    *bend
	shift    dd
	shiftSec float64
}

// bent reports whether what is heard is another time than the frame's.
func (f *frame) bent() bool { return f.inside != nil || f.piece != nil }

// heard is what a time of the frame becomes, the shift of the whole piece included.
func (f *frame) heard(t dd) dd {
	return f.piece.seconds(f.inPiece(t)).add(f.shift)
}

// inPiece is a time of the frame in the piece's nominal time.
func (f *frame) inPiece(t dd) dd {
	if f.inside == nil {
		return t
	}
	return f.inside.seconds(t).add(f.baseDD)
}

// unshifted is heard to some 2^-90, without the shift.
func (f *frame) unshifted(t amount) amount { return f.piece.of(f.outside(t)) }

// outside is inPiece to some 2^-90.
func (f *frame) outside(t amount) amount {
	if f.inside == nil {
		return t
	}
	return f.inside.of(t).add(f.base)
}

// nominal is the piece's nominal time that is heard at sec.
func (f *frame) nominal(sec float64) float64 { return f.piece.before(sec - f.shiftSec) }

// own is the time of the frame that is heard at sec.
func (f *frame) own(sec float64) float64 {
	t := f.nominal(sec)
	if f.inside == nil {
		return t
	}
	return f.inside.before(t - f.baseDD.hi)
}

// rate is how many seconds of the frame pass in a second that is heard, at the time t of
// the frame.
func (f *frame) rate(t float64) float64 {
	if !f.bent() {
		return 1
	}
	return f.inside.rate(t) * f.piece.rate(f.inPiece(dd{t, 0}).hi)
}
