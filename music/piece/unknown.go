package piece

import (
	"fmt"
	"slices"

	"rollwright/exact"
	"rollwright/text/source"
)

// UnknownKind says which number of a voice is asked for: written "?" in the
// text. Package perform finds it.
type UnknownKind int8

// The numbers of a voice that can be asked for.
const (
	NoUnknown       UnknownKind = iota
	UnknownSpeed                // Voice.Speed
	UnknownTempo                // Voice.Tempo
	UnknownStretch              // Voice.Stretch
	UnknownEachNote             // Voice.EachNote
	UnknownFrom                 // Leg.From
	UnknownTo                   // Leg.To
	UnknownOver                 // Leg.OverUnits
)

// Unknown is a number of a voice that its conditions have to give. Its zero
// value is none. Until it is found the number itself is 1.
type Unknown struct {
	Kind UnknownKind
	Leg  int        // of the path, from 0; only for From, To and Over
	At   source.Pos // of the attribute
}

// Attribute is the name under which the number stands in the text:
// "speed", "tempo_path.leg.2.to".
func (u Unknown) Attribute() string {
	switch u.Kind {
	case UnknownSpeed:
		return "speed"
	case UnknownTempo:
		return "tempo"
	case UnknownStretch:
		return "stretch"
	case UnknownEachNote:
		return "each_note"
	}
	return fmt.Sprintf("tempo_path.leg.%d.%s", u.Leg+1, u.Word())
}

// Word is the attribute's own name within its block: "speed", "to".
func (u Unknown) Word() string {
	switch u.Kind {
	case UnknownFrom:
		return "from"
	case UnknownTo:
		return "to"
	case UnknownOver:
		return "over"
	}
	return u.Attribute()
}

// Copied is a number that a voice takes over from another one's answer: like
// copies the answer, not the question.
type Copied struct {
	Unknown
	From int // index into Piece.Voices of the voice that asks
}

// Condition is one of the things that a voice says of its place in time, where
// it says more than a place alone: what its unknown has to make true, or what
// has to hold besides its Place.
type Condition struct {
	Lasts  Lasts  // when set, how long the voice lasts
	Place  Place  // else where a point of it falls
	Places Places // of its attributes: "meet", "meet.mine", "start", "lasts"
}

// Cross asks that two voices of a canon are at one place of the tune at an
// instant.
type Cross struct {
	Voices [2]int    // indices into Piece.Voices
	At     exact.Rat // seconds after the start of the section or piece
	Units  exact.Rat // units of the piece, besides
	Places Places
}

// Crosses reports whether the voices of a canon stand where its crossings put
// them, and have no one meeting point.
func (c *Canon) Crosses() bool { return len(c.Cross) > 0 }

// Unknowns are the voices of the piece with an unknown of their own.
func (p *Piece) Unknowns() []int {
	var out []int
	for i := range p.Voices {
		if p.Voices[i].Unknown.Kind != NoUnknown {
			out = append(out, i)
		}
	}
	return out
}

// Number is the number of a voice that u names, and false for one that it has
// not.
func (v *Voice) Number(u Unknown) (exact.Real, bool) {
	if u.Kind >= UnknownFrom && u.Leg >= len(v.Path) {
		return exact.Real{}, false
	}
	switch u.Kind {
	case UnknownSpeed:
		return v.Speed, true
	case UnknownTempo:
		return v.Tempo, len(v.Path) == 0
	case UnknownStretch:
		return v.Stretch, true
	case UnknownEachNote:
		return v.EachNote, true
	case UnknownFrom:
		return v.Path[u.Leg].From, v.Path[u.Leg].HasFrom
	case UnknownTo:
		return v.Path[u.Leg].To, v.Path[u.Leg].HasTo
	case UnknownOver:
		over := v.Path[u.Leg].OverUnits
		if over.Sign() <= 0 {
			return exact.Real{}, false
		}
		return exact.Frac(over.Num(), over.Den()), true
	}
	return exact.Real{}, false
}

// With is the voice with another number in the place that u names; the path is
// copied. It is false where the number does not fit there: over is a fraction
// of 64 bits.
func (v Voice) With(u Unknown, x exact.Real) (Voice, bool) {
	if u.Kind >= UnknownFrom {
		if u.Leg >= len(v.Path) {
			return v, false
		}
		v.Path = append([]Leg(nil), v.Path...)
	}
	switch u.Kind {
	case UnknownSpeed:
		v.Speed = x
	case UnknownTempo:
		v.Tempo, v.Path = x, nil
	case UnknownStretch:
		v.Stretch = x
	case UnknownEachNote:
		v.EachNote = x
	case UnknownFrom:
		v.Path[u.Leg].From, v.Path[u.Leg].HasFrom = x, true
	case UnknownTo:
		v.Path[u.Leg].To, v.Path[u.Leg].HasTo = x, true
	case UnknownOver:
		over, ok := x.Rat()
		if !ok {
			return v, false
		}
		units, ok := exact.FromBig(over)
		if !ok {
			return v, false
		}
		v.Path[u.Leg].OverUnits, v.Path[u.Leg].OverSec = units, exact.Rat{}
	default:
		return v, false
	}
	return v, true
}

// Bounds are the least and the most that a piece file accepts for the number:
// beyond any music, and within what is computed from it.
func (u Unknown) Bounds() (least, most float64) {
	switch u.Kind {
	case UnknownTempo, UnknownFrom, UnknownTo:
		return 1e-3, 1e6
	case UnknownEachNote:
		return 0.1, 10
	case UnknownOver:
		return 1e-3, 1e9
	}
	return 1e-6, 1e6
}

// Anchor chooses, for every voice with several conditions, the one that puts it
// in its place: the first that does not wait for the voice itself, through
// others that do. The others then have to agree with it.
func (p *Piece) Anchor() {
	if !slices.ContainsFunc(p.Voices, func(v Voice) bool { return len(v.Conditions) > 0 }) {
		return
	}
	stands := make([]bool, len(p.Voices))
	for again := true; again; {
		again = false
		for i := range p.Voices {
			if !stands[i] && p.anchor(&p.Voices[i], stands) {
				stands[i], again = true, true
			}
		}
	}
}

// anchor reports whether a voice stands where those that stand already put it.
func (p *Piece) anchor(v *Voice, stands []bool) bool {
	if v.Canon >= 0 {
		return true
	}
	placed := false
	for _, c := range v.Conditions {
		if c.Lasts.Set {
			continue
		}
		placed = true
		if p.stand(c.Place, stands) {
			v.Place = c.Place
			return true
		}
	}
	return !placed && p.stand(v.Place, stands)
}

// stand reports whether what a place waits for stands.
func (p *Piece) stand(place Place, stands []bool) bool {
	if place.Kind != After && place.Kind != MeetWith && place.Kind != With {
		return true
	}
	if place.Ref.Voice >= 0 {
		return stands[place.Ref.Voice]
	}
	for _, i := range p.Canons[place.Ref.Canon].Voices {
		if !stands[i] {
			return false
		}
	}
	return true
}
