package plan

import (
	"fmt"
	"slices"

	"rollwright/music/piece"
	"rollwright/text/say"
	"rollwright/text/source"
)

// meetingPoint is where two voices are put together in time: the points of each,
// and false when neither is placed by the other.
func meetingPoint(music *piece.Piece, a, b *part) (inA, inB piece.Point, canon, ok bool) {
	va, vb := a.voice, b.voice
	if c := va.Canon; c >= 0 && c == vb.Canon && !music.Canons[c].Crosses() {
		return music.Canons[c].Meet, music.Canons[c].Meet, true, true
	}
	switch {
	case va.Place.Kind == piece.MeetWith && va.Place.Ref.Voice == b.line.Voice:
		return va.Place.Mine, va.Place.Theirs, false, true
	case vb.Place.Kind == piece.MeetWith && vb.Place.Ref.Voice == a.line.Voice:
		return vb.Place.Theirs, vb.Place.Mine, false, true
	}
	return inA, inB, false, false
}

// nearest says which notes are nearest to a meeting point at which nothing
// sounds, and what would make it sound. Both are empty where notes meet, or where
// nothing is to be met.
func (e *encounter) nearest(music *piece.Piece) (text, sound string) {
	inA, inB, canon, ok := meetingPoint(music, e.a, e.b)
	if !ok || e.contacts.count > 0 || !inTime(e.a.voice) || !inTime(e.b.voice) {
		return "", ""
	}
	met, ok := e.a.when(inA)
	if !ok {
		met, ok = e.b.when(inB)
	}
	if !ok {
		return "", ""
	}
	i, timeA := e.a.onsets.nearest(met)
	j, timeB := e.b.onsets.nearest(met)
	switch {
	case i < 0 || j < 0:
		return "", ""
	case canon && i < len(e.b.onsets.ns):
		sound = fmt.Sprintf("meet = \"note %d\"", i+1)
		return fmt.Sprintf("to the meeting point at %s: note %d of %s at %s; %s would make it sound",
			clockTime(met), i+1, e.a.name, clockTime(timeA), sound), sound
	case canon:
		return "", ""
	}
	mine, theirs := i+1, j+1
	if e.b.voice.Place.Kind == piece.MeetWith && e.b.voice.Place.Ref.Voice == e.a.line.Voice {
		mine, theirs = theirs, mine
	}
	sound = fmt.Sprintf("mine = \"note %d\" and theirs = \"note %d\"", mine, theirs)
	return fmt.Sprintf("to the meeting point at %s: note %d of %s at %s, note %d of %s at %s; %s would make it sound",
		clockTime(met), i+1, e.a.name, clockTime(timeA), j+1, e.b.name, clockTime(timeB), sound), sound
}

// when is the time of a point, and false for the end of a note in a voice whose
// items have not been kept.
func (p *part) when(at piece.Point) (sec float64, ok bool) {
	if at.Kind == piece.AtNote && at.N >= 1 && at.N <= len(p.onsets.ns) {
		return float64(p.onsets.ns[at.N-1]) / 1e9, true
	}
	m, ok := p.point(at)
	return m.sec, ok
}

// nearest is the note, by its index, that begins nearest to a time, the earlier of
// two as near; -1 when there is none.
func (o *onsets) nearest(sec float64) (index int, at float64) {
	if len(o.ns) == 0 {
		return -1, 0
	}
	ns := nanoseconds(sec)
	i, _ := slices.BinarySearch(o.ns, ns)
	if i == len(o.ns) || i > 0 && ns-o.ns[i-1] <= o.ns[i]-ns {
		i--
	}
	return i, float64(o.ns[i]) / 1e9
}

// unreached says which legs of a tempo path a voice never comes to.
func (p *part) unreached() []Unreached {
	out := []Unreached{}
	edges := p.legEdges()
	for i := 1; i < len(edges); i++ {
		if from := edges[i-1]; from >= p.endSec-endSlack {
			units := p.unitsAt(from)
			out = append(out, Unreached{Leg: i + 1, Of: len(edges), Unit: sixDigits(units)})
		}
	}
	return out
}

// asked is the extent as the composer wrote it; empty for a complete one.
func asked(music *piece.Piece, e piece.Extent) string {
	switch e.Kind {
	case piece.Notes:
		return say.Count(e.Count, "note")
	case piece.Taleae:
		return say.Count(e.Count, "talea")
	case piece.Colores:
		return say.Count(e.Count, "color")
	case piece.Units:
		return units(e.Amount.String())
	case piece.Seconds:
		return e.Amount.String() + " s"
	case piece.Until:
		name := ""
		if e.Ref.Voice >= 0 {
			name = music.Voices[e.Ref.Voice].Name
		} else if e.Ref.Canon >= 0 {
			name = music.Canons[e.Ref.Canon].Name
		}
		return "until " + source.Printable(name) + " ends"
	}
	return ""
}
