package piecefile

import (
	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
)

// readLoudness reads the legs of a loudness path.
func readLoudness(r *reader, b *blocks.Block) *setting {
	r.addAll(unknownIn(b.Body, "loudness_path", "leg {"))
	var legs []piece.LoudLeg
	ok := true
	for _, block := range b.Body.Of("leg") {
		leg, fine := r.loudLeg(block)
		legs, ok = append(legs, leg), ok && fine
	}
	if len(legs) == 0 {
		ok = r.add(b.Error("a loudness path without legs", "write in it:\n  leg {\n    from = \"p\"\n    to   = \"ff\"\n    over = \"20 s\"\n  }"))
	}
	return &setting{meaning: orNil(legs, ok)}
}

func (r *reader) loudLeg(b *blocks.Block) (leg piece.LoudLeg, ok bool) {
	r.noLabels(b)
	unknown := unknownIn(b.Body, "a leg", "from", "to", "over")
	r.addAll(unknown)
	ok = len(unknown) == 0
	for _, end := range []struct {
		name  string
		level *int
		has   *bool
	}{{"from", &leg.From, &leg.HasFrom}, {"to", &leg.To, &leg.HasTo}} {
		if a := b.Body.Get(end.name); a != nil {
			*end.has = true
			fine := false
			*end.level, fine = r.levelOf(a.Value)
			ok = ok && fine
		}
	}
	a := b.Body.Get("over")
	if a == nil {
		return leg, r.add(b.Error("how long is this leg?", `write a line in it: over = "20 s", or over = 64 (units)`))
	}
	var fine bool
	leg.OverUnits, leg.OverSec, fine = r.legOver(a)
	return leg, ok && fine
}

// asLevel takes a word that names nothing for a level.
func asLevel(word string) (problem, hint string) { return "there is no level " + word, levelHint }

// levelOf is one level, bare or in quotes.
func (r *reader) levelOf(v *blocks.Value) (int, bool) {
	if word, bare := v.Word(); bare && isMark(word) && r.lets[word] == nil {
		return marks[word], true
	}
	if v = r.meantAs(v, asLevel); v == nil {
		return 0, false
	}
	s, ok := r.written(v)
	if !ok {
		return 0, false
	}
	n, err := level(s)
	return n, r.add(err)
}

// legOver is how long a leg is: units, or a time.
func (r *reader) legOver(a *blocks.Attr) (units, sec exact.Rat, ok bool) {
	s, ok := r.written(a.Value)
	if !ok {
		return units, sec, false
	}
	if x, tried, err := r.reckonValue(a.Value); tried && err == nil && x.rat != nil {
		units, ok = exact.FromBig(x.rat)
		if !ok || units.Sign() <= 0 || units.Float64() > 1e9 {
			return units, sec, r.add(s.Error("a leg over "+x.text()+" units",
				"it has to be more than 0, and at most 1,000,000,000"))
		}
		return units, sec, true
	}
	if number, x, inUnits := unitsIn(s.String()); inUnits {
		if x.Sign() <= 0 || x.Float64() > 1e9 {
			return x, sec, r.add(s.Error("a leg over "+number+" units", "it has to be more than 0, and at most 1,000,000,000"))
		}
		return x, sec, true
	}
	sec, ok = r.timeIn(s, true)
	return units, sec, ok
}
