package piecefile

import (
	"fmt"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// readTempoPath reads the legs of a tempo path.
func readTempoPath(r *reader, b *blocks.Block) *setting {
	r.addAll(unknownIn(b.Body, "tempo_path", "leg {"))
	var legs []piece.Leg
	ok := true
	for _, block := range b.Body.Of("leg") {
		leg, fine := r.leg(block)
		legs, ok = append(legs, leg), ok && fine
	}
	if len(legs) == 0 {
		ok = r.add(b.Error("a tempo path without legs", "write in it:\n  leg {\n    from = 60\n    to   = 240\n    over = 64\n  }"))
	}
	return &setting{meaning: orNil(legs, ok)}
}

func (r *reader) leg(b *blocks.Block) (leg piece.Leg, ok bool) {
	r.noLabels(b)
	unknown := unknownIn(b.Body, "a leg", "from", "to", "over", "shape")
	r.addAll(unknown)
	ok = len(unknown) == 0
	if a := b.Body.Get("from"); a != nil {
		leg.HasFrom = true
		leg.From, ok = r.real(a.Value, "a tempo", leastTempo, mostTempo)
	}
	if a := b.Body.Get("to"); a != nil {
		var fine bool
		leg.HasTo = true
		leg.To, fine = r.real(a.Value, "a tempo", leastTempo, mostTempo)
		ok = ok && fine
	}
	ok = r.shape(b, &leg) && ok
	ok = r.over(b, &leg) && ok
	return leg, ok
}

func (r *reader) shape(b *blocks.Block, leg *piece.Leg) bool {
	a := b.Body.Get("shape")
	if a == nil {
		return true
	}
	s, ok := r.words(a.Value)
	if !ok {
		return false
	}
	shape, known := map[string]piece.Shape{"geometric": piece.Geometric, "per-unit": piece.PerUnit,
		"per-second": piece.PerSecond}[s]
	leg.Shape = shape
	if known {
		return true
	}
	return r.add(a.Error(fmt.Sprintf("there is no shape %q", source.Printable(s)),
		"write \"geometric\" (equal ratios), \"per-unit\" (a straight line over the units)\nor \"per-second\" (a straight line in time)"))
}

// over reads how long a leg is: units, or a time.
func (r *reader) over(b *blocks.Block, leg *piece.Leg) (ok bool) {
	a := b.Body.Get("over")
	if a == nil {
		return r.add(b.Error("how long is this leg?", `write a line in it: over = 64 (units), or over = "20 s"`))
	}
	if r.asksFor(a.Value) {
		leg.OverUnits = exact.Int(1)
		return true
	}
	leg.OverUnits, leg.OverSec, ok = r.legOver(a)
	return ok
}

// unitsIn is a number of units, with or without the word.
func unitsIn(text string) (number string, x exact.Rat, ok bool) {
	number, inUnits := strings.CutSuffix(text, " units")
	if !inUnits {
		number = strings.TrimSuffix(number, " unit")
	}
	x, err := exact.ParseRat(number)
	return number, x, err == nil
}
