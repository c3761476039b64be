// Package pitch turns the names of pitches into keys, and keys into names.
//
// Names are those of scientific pitch notation (R. W. Young, Terminology for
// logarithmic frequency units, J. Acoust. Soc. Am. 11, 1939): C4 is middle C, key
// 60. Everything is whole numbers and exact.
package pitch

import (
	"fmt"
	"strconv"
	"strings"
)

// The keys of scientific pitch notation that the data knows: C-1 to G9.
const (
	LowestKey  = 0
	HighestKey = 127
)

var sharpNames = [12]string{"C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"}

// Name is the name of a key, 60 being C4, spelled with sharps. Keys below
// 0 and beyond 127 have names too: -1 is B-2.
func Name(key int) string {
	octave := key / 12
	if key%12 < 0 {
		octave--
	}
	return sharpNames[key-12*octave] + strconv.Itoa(octave-1)
}

// ParseName is the key within an octave, and the spelling, of a name without octave:
// Bb is key 10, Cb -1, B# 12. It is false for anything else.
func ParseName(s string) (key int, spelled Spelling, ok bool) {
	if s == "" || s[0] < 'A' || s[0] > 'G' || len(s) > 3 {
		return 0, Spelling{}, false
	}
	alter, known := map[string]int{"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}[s[1:]]
	key = naturals[s[0]-'A'] + alter
	return key, SpellingOf(s[0], key), known
}

// Parse is the key of a pitch in scientific pitch notation: a letter from A
// to G, # ## b or bb if wanted, the octave from -1 to 9. The octave goes with
// the letter: Cb4 is key 59, B#3 key 60. Keys run from 0 to 127. The error, for
// a musician, has no prefix.
func Parse(s string) (int, error) {
	if s == "" || s[0] < 'A' || s[0] > 'G' {
		return 0, fmt.Errorf("there is no pitch %q", s)
	}
	key := naturals[s[0]-'A']
	rest := s[1:]
	for _, sign := range []struct {
		text  string
		steps int
	}{{"##", 2}, {"#", 1}, {"bb", -2}, {"b", -1}} {
		if after, ok := strings.CutPrefix(rest, sign.text); ok {
			key, rest = key+sign.steps, after
			break
		}
	}
	octave, ok := octaves[rest]
	if !ok {
		return 0, fmt.Errorf("there is no pitch %q", s)
	}
	if key += 12 * (octave + 1); key < LowestKey || key > HighestKey {
		return 0, fmt.Errorf("the pitch %s is beyond the keys, which run from C-1 to G9", s)
	}
	return key, nil
}

var octaves = map[string]int{"-1": -1, "0": 0, "1": 1, "2": 2, "3": 3, "4": 4, "5": 5, "6": 6, "7": 7, "8": 8, "9": 9}

// naturals are the keys of A to G above a C.
var naturals = [7]int{9, 11, 0, 2, 4, 5, 7}

// Letter is the letter of a key that is spelled with sharps or with flats.
func Letter(key int, flats bool) byte {
	letters := "CCDDEFFGGAAB"
	if flats {
		letters = "CDDEEFGGAABB"
	}
	return letters[(key%12+12)%12]
}

// Spelled is the name of a key by a letter from A to G, with the sharps or flats
// that it takes: 58 by B is Bb3, 59 by C is Cb4. Where more than two would be
// needed, or for another letter, it is Name.
func Spelled(key int, letter byte) string { return SpellingOf(letter, key).Name(key) }
