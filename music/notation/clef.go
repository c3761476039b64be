package notation

import "math"

// Clef is a treble or bass clef, by octaves higher or lower than written.
type Clef struct {
	Sign    byte // 'G' or 'F'
	Octaves int  // -2 to 2
}

// clefs in the order in which they are preferred.
var clefs = []Clef{{'G', 0}, {'F', 0}, {'G', 1}, {'F', -1}, {'G', 2}, {'F', -2}}

// Bottom is what stands on the lowest line, as Pitch.Diatonic counts: E4 for the
// treble clef, G2 for the bass clef.
func (c Clef) Bottom() int {
	bottom := 4*7 + 2
	if c.Sign == 'F' {
		bottom = 2*7 + 4
	}
	return bottom + 7*c.Octaves
}

// Place is where a pitch stands: 0 on the lowest line, 1 in the space above, 8
// on the highest of five lines.
func (c Clef) Place(p Pitch) int { return p.Diatonic() - c.Bottom() }

// Ledgers is how many ledger lines a place needs.
func Ledgers(place int) int {
	switch {
	case place < 0:
		return -place / 2
	case place > 8:
		return (place - 8) / 2
	}
	return 0
}

// maxLedgers is how many ledger lines a single staff may need.
const maxLedgers = 3

// StavesFor chooses the clefs of a voice from its pitches and how often each
// occurs: the first clef of the preferred order that needs at most three ledger
// lines; else the pair of staves that needs the fewest.
func StavesFor(pitches map[Pitch]int) []Clef {
	if len(pitches) == 0 {
		return []Clef{clefs[0]}
	}
	for _, c := range clefs {
		most := 0
		for p := range pitches {
			most = max(most, Ledgers(c.Place(p)))
		}
		if most <= maxLedgers {
			return []Clef{c}
		}
	}
	best, least := []Clef{clefs[0], clefs[1]}, math.MaxInt
	for _, upper := range clefs {
		for _, lower := range clefs {
			if upper.Bottom() <= lower.Bottom() {
				continue
			}
			cost := 0
			for p, n := range pitches {
				l := min(Ledgers(upper.Place(p)), Ledgers(lower.Place(p)))
				cost += n * l * l
			}
			if cost < least { // on a tie the preferred clefs
				best, least = []Clef{upper, lower}, cost
			}
		}
	}
	return best
}

// Staff is the index into Staves of the staff on which a pitch stands: the one
// that needs fewer ledger lines, the upper one from middle C upwards where both
// need as many.
func (p *Part) Staff(pitch Pitch) int {
	if len(p.Staves) == 1 {
		return 0
	}
	upper, lower := Ledgers(p.Staves[0].Place(pitch)), Ledgers(p.Staves[1].Place(pitch))
	if lower < upper || lower == upper && pitch.Diatonic() < 28 && p.Staves[1].Place(pitch) <= 10 {
		return 1
	}
	return 0
}
