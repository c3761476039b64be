package notation

import (
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/pitch"
)

// Pitch is a key as written.
type Pitch struct {
	Step   byte // 'A' to 'G'
	Alter  int  // -2 two flats, -1 flat, 0, 1 sharp, 2 two sharps
	Octave int  // scientific: C4 is middle C
}

// PitchOf is a key as its composer writes it.
func PitchOf(n pitch.Named) Pitch {
	return Pitch{Step: n.Letter(), Alter: n.Alter(), Octave: n.Octave(n.Key)}
}

// Diatonic counts the steps of the scale: C4 is 28, D4 29. It is what decides
// on which line of a staff a pitch stands.
func (p Pitch) Diatonic() int {
	const steps = "CDEFGAB"
	for i := range steps {
		if steps[i] == p.Step {
			return p.Octave*7 + i
		}
	}
	return 0
}

// Key is the key of the pitch: 60 is C4.
func (p Pitch) Key() int {
	return (p.Octave+1)*12 + map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}[p.Step] + p.Alter
}

// Speller knows how the composer of a voice writes what it sounds.
type Speller struct {
	line  *perform.Line
	voice *piece.Voice
	known map[statement][]pitch.Named
	still bool // no statement moves its pitches
}

// statement is a member of the color where it is moved in one way.
type statement struct{ member, color, talea int }

// NewSpeller spells the voice of a performance with the given index.
func NewSpeller(perf *perform.Performance, voice int) *Speller {
	v := &perf.Piece.Voices[voice]
	return &Speller{line: perf.Lines[voice], voice: v, known: map[statement][]pitch.Named{},
		still: !v.PerColor.Moves() && !v.PerTalea.Moves()}
}

// Named are the keys of an item in the order in which they are written. They are not to be
// changed.
func (s *Speller) Named(it perform.Item) []pitch.Named {
	at := statement{it.ColorPlace, it.Color, it.Talea}
	if s.still {
		at = statement{member: it.ColorPlace}
	}
	names, ok := s.known[at]
	if !ok {
		names = s.line.Named(it, nil)
		s.known[at] = names
	}
	return names
}

// written are the pitches that stand for an item: all of a chord, the first stroke of a
// trill or glissando, what grace notes lead to; with the grace notes, stroke by stroke.
func (s *Speller) written(it perform.Item) (out []Pitch, grace [][]Pitch) {
	names, g := s.Named(it), s.voice.Color[it.ColorPlace].Gesture
	switch g.Manner() {
	case piece.Trill, piece.Gliss:
		first := 1
		if len(g.Turns) > 0 {
			first = g.Turns[0]
		}
		names = names[:min(first, len(names))]
	case piece.Grace:
		turns := g.Turns
		if len(turns) == 0 {
			turns = []int{1, len(names) - 1}
		}
		for _, n := range turns[:len(turns)-1] {
			grace = append(grace, chordOf(names[:n]))
			names = names[n:]
		}
	}
	return chordOf(names), grace
}

// chordOf are names as a chord: ascending, each key once.
func chordOf(names []pitch.Named) []Pitch {
	var out []Pitch
	for _, n := range names {
		p, at := PitchOf(n), 0
		for at < len(out) && out[at].Key() < n.Key {
			at++
		}
		if at < len(out) && out[at].Key() == n.Key {
			continue
		}
		out = append(out, Pitch{})
		copy(out[at+1:], out[at:])
		out[at] = p
	}
	return out
}
