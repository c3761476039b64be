package notation

// Spelling names keys. It is the lowest place on the line of fifths
// (... Bb F C G D A E B F# ...; C is 0) of the twelve neighbours that it uses:
// -6 (Gb to B) to -1 (F to A#), so white keys are always naturals.
type Spelling int

// Pitch is a key as written.
type Pitch struct {
	Step   byte // 'A' to 'G'
	Alter  int  // -1 flat, 0, 1 sharp
	Octave int  // scientific: C4 is middle C
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

// SpellingOf is the spelling under which the keys of a voice, each with how
// often it occurs, lie closest together on the line of fifths: the one of least
// variance, on a tie the one with more sharps.
func SpellingOf(keys map[int]int) Spelling {
	var classes [12]int64
	for k, n := range keys {
		classes[(k%12+12)%12] += int64(n)
	}
	best, least := Spelling(-1), int64(-1)
	for s := Spelling(-1); s >= -6; s-- {
		var weight, sum, squares int64
		for class, n := range classes {
			p := int64(s.fifths(class))
			weight, sum, squares = weight+n, sum+n*p, squares+n*p*p
		}
		if v := weight*squares - sum*sum; least < 0 || v < least {
			best, least = s, v
		}
	}
	return best
}

// fifths is the place on the line of fifths of a pitch class, C being 0.
func (s Spelling) fifths(class int) int {
	p := class * 7 % 12
	for p >= int(s)+12 {
		p -= 12
	}
	return p
}

// Pitch spells a key.
func (s Spelling) Pitch(key int) Pitch {
	p := s.fifths((key%12+12)%12) + 1 // F is 0
	alter := 0
	for p < 0 {
		p, alter = p+7, alter-1
	}
	alter += p / 7
	natural := key - alter
	return Pitch{Step: "FCGDAEB"[p%7], Alter: alter, Octave: floorDiv(natural, 12) - 1}
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
