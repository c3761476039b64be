package pitch

import (
	"strconv"
	"strings"
)

// Spelling is the name of a pitch without its octave, as a place on the line of fifths
// (... Bb F C G D A E B F# ...): C is 0, G 1, F -1. It is what stays of a name when
// pitches are moved, and from which the new one is reckoned.
type Spelling struct {
	Fifths int8
	Double bool // the name was written with a double sharp or flat, so another one may be
}

// The ends of the line of fifths: names with one sharp or flat, and with two.
const (
	lowestSingle, highestSingle = -8, 12  // Fb to B#
	lowestDouble, highestDouble = -15, 19 // Fbb to B##
	fifthsOfD                   = 2       // the middle of the line
)

// SpellingOf is the name of a key that is written with a letter from A to G. A letter
// that would need more than two sharps or flats gives the name with sharps.
func SpellingOf(letter byte, key int) Spelling {
	place := strings.IndexByte("FCGDAEB", letter)
	if place < 0 {
		return SpellingOf(Letter(key, false), key)
	}
	fifths := place - 1
	alter := mod12(key - 7*fifths)
	if alter > 6 {
		alter -= 12
	}
	if alter < -2 || alter > 2 {
		return SpellingOf(Letter(key, false), key)
	}
	return Spelling{int8(fifths + 7*alter), alter < -1 || alter > 1}
}

// Mirrored is the name at the same distance on the other side of an axis.
func (s Spelling) Mirrored(axis Spelling) Spelling {
	return Spelling{int8(2*int(axis.Fifths) - int(s.Fifths)), s.Double}
}

// Altered is the name so many semitones higher on the same letter.
func (s Spelling) Altered(by int) Spelling {
	return Spelling{int8(int(s.Fifths) + 7*by), s.Double}
}

// For is the name of a key that lies nearest on the line of fifths: with at most one
// sharp or flat, or two where the name was written with two. Of two as near it is the
// one nearer D, and of those the one with a sharp.
func (s Spelling) For(key int) Spelling {
	low, high := lowestSingle, highestSingle
	if s.Double {
		low, high = lowestDouble, highestDouble
	}
	best, found := 0, false
	for place := low + mod12(7*key-low); place <= high; place += 12 {
		if !found || nearer(place, best, int(s.Fifths)) {
			best, found = place, true
		}
	}
	return Spelling{int8(best), s.Double}
}

// nearer reports whether place is to be preferred to other, which is lower.
func nearer(place, other, from int) bool {
	if a, b := distance(place, from), distance(other, from); a != b {
		return a < b
	}
	return distance(place, fifthsOfD) <= distance(other, fifthsOfD)
}

func distance(a, b int) int { return max(a-b, b-a) }

func mod12(n int) int { return (n%12 + 12) % 12 }

// Letter is the letter of the name.
func (s Spelling) Letter() byte { return "FCGDAEB"[((int(s.Fifths)+1)%7+7)%7] }

// Alter is how many sharps the name has; below 0 flats.
func (s Spelling) Alter() int {
	place := int(s.Fifths) + 1
	return (place - ((place%7)+7)%7) / 7
}

// Name is the name of a key by this spelling, with its octave, which goes with the
// letter: 59 as Cb is Cb4. The key must be one that the spelling can name.
func (s Spelling) Name(key int) string {
	alter := s.Alter()
	sign := strings.Repeat("#", max(alter, 0)) + strings.Repeat("b", max(-alter, 0))
	return string(s.Letter()) + sign + strconv.Itoa(s.Octave(key))
}

// Octave is the octave of a key by this spelling: that of its letter.
func (s Spelling) Octave(key int) int {
	natural := key - s.Alter()
	octave := natural / 12
	if natural%12 < 0 {
		octave--
	}
	return octave - 1
}

// Named is a key with the name that its composer gives it.
type Named struct {
	Key int
	Spelling
}

// String is the name with its octave: Bb3.
func (n Named) String() string { return n.Name(n.Key) }
