package perform

import (
	"rollwright/exact"
	"rollwright/music/piece"
)

// Late is by how many seconds the own point of a voice falls after what a
// condition wants it on, or the voice lasts longer than it wants: negative is
// early or short. It is false where the voice has no such point.
func (p *Performance) Late(voice int, c piece.Condition) (float64, bool) {
	r, l := p.resolver, p.Lines[voice]
	if c.Lasts.Set {
		have, ok1 := r.duration(l)
		want, ok2 := r.lastsSec(l.voice.Section, c.Lasts)
		return have.sub(want).float64(), ok1 && ok2
	}
	at, ok1 := r.offsetFor(l, mine(c.Place), c.Places, "meet.mine")
	want, ok2 := r.instant(l, c.Place, c.Places)
	return l.placed.add(at).sub(want).float64(), ok1 && ok2
}

// With is a piece in which voice i has x in the place that u names, and stands
// where the first of its conditions puts it; what else conditions want is left
// out. It is false where the number does not fit there.
func With(p *piece.Piece, i int, u piece.Unknown, x exact.Real) (*piece.Piece, bool) {
	q := *p
	q.Voices = append([]piece.Voice(nil), p.Voices...)
	for j := range q.Voices {
		q.Voices[j].Conditions = nil
	}
	changed, ok := q.Voices[i].With(u, x)
	for _, c := range p.Voices[i].Conditions {
		if !c.Lasts.Set && changed.Canon < 0 {
			changed.Place = c.Place
			break
		}
	}
	q.Voices[i] = changed
	return &q, ok
}
