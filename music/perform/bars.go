package perform

import (
	"iter"

	"rollwright/exact"
)

// BarStart is where a bar begins.
type BarStart struct {
	Number int     // from 1; 0: the upbeat
	Units  float64 // from the start of what has the bars
	Sec    float64 // in the piece, as it is heard
}

// Bars are the bars of the line's voice from its start to its end, the upbeat first; none
// where it has none.
func (l *Line) Bars() iter.Seq[BarStart] {
	return func(yield func(BarStart) bool) {
		for n, at := range l.voice.Bar.Starts() {
			units := at.Float64()
			if at.Sign() > 0 && units >= l.Length*(1-1e-12) || !yield(BarStart{n, units, l.SecondsAt(units)}) {
				return
			}
		}
	}
}

// Bars are the bars of the piece itself, which times such as "bar 5" name, from its first to
// its end: counted in its own units at its nominal tempo, and bent where its time is bent.
func (p *Performance) Bars() iter.Seq[BarStart] {
	return func(yield func(BarStart) bool) {
		unit := p.Piece.SecondsPerUnit()
		for n, at := range p.Piece.Bar.Starts() {
			nominal := exact.SumOf(unit).Scale(at.Big())
			sec := p.resolver.whole.of(exactly(nominal)).float64() + p.ShiftSec
			if sec >= p.EndSec || !yield(BarStart{n, at.Float64(), sec}) {
				return
			}
		}
	}
}
