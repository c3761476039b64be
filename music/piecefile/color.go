package piecefile

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

var colorKind = &kind[piece.Pitch]{
	name:   "color",
	what:   "pitches",
	sample: "C2 E2 G2",
	one: func(r *reader, c *cursor) (piece.Pitch, *source.Error) {
		return pitchAndLevel(r, c.item())
	},
	move:      movePitch,
	bareWords: isPitch,
}

func isPitch(s string) bool {
	_, err := pitch.Parse(s)
	return err == nil
}

func readColor(r *reader, v *blocks.Value) any {
	out, ok := series(r, v, colorKind)
	return orNil(out, ok)
}

// singleKeys are shared by all notes that are one key.
var singleKeys = func() (keys [pitch.HighestKey + 1]int) {
	for key := range keys {
		keys[key] = key
	}
	return keys
}()

func oneKey(key int) []int { return singleKeys[key : key+1 : key+1] }

// singleLetters are shared in the same way.
var singleLetters = map[byte]string{'A': "A", 'B': "B", 'C': "C", 'D': "D", 'E': "E", 'F': "F", 'G': "G"}

// movePitch maps all keys of a pitch; false when one leaves the keys.
func movePitch(p piece.Pitch, to func(int) int) (piece.Pitch, bool) {
	if len(p.Keys) == 1 {
		from, key := p.Keys[0], to(p.Keys[0])
		if key < pitch.LowestKey || key > pitch.HighestKey {
			return p, false
		}
		p.Keys = oneKey(key)
		p.Letters = singleLetters[pitch.Respell(p.Letters[0], from, key)]
		return p, true
	}
	keys, letters := make([]int, len(p.Keys)), []byte(p.Letters)
	for i, key := range p.Keys {
		keys[i] = to(key)
		if keys[i] < pitch.LowestKey || keys[i] > pitch.HighestKey {
			return p, false
		}
		letters[i] = pitch.Respell(letters[i], key, keys[i])
	}
	if p.Gesture.Kind == piece.Plain || p.Gesture.Kind == piece.Cluster {
		keys, letters = ascending(keys, letters)
	}
	p.Keys, p.Letters = keys, string(letters)
	return p, true
}

// ascending are keys in their order, each once, with the letters of those written
// first.
func ascending(keys []int, letters []byte) ([]int, []byte) {
	type both struct {
		key    int
		letter byte
	}
	pairs := make([]both, len(keys))
	for i := range keys {
		pairs[i] = both{keys[i], letters[i]}
	}
	slices.SortStableFunc(pairs, func(a, b both) int { return a.key - b.key })
	pairs = slices.CompactFunc(pairs, func(a, b both) bool { return a.key == b.key })
	for i, p := range pairs {
		keys[i], letters[i] = p.key, p.letter
	}
	return keys[:len(pairs)], letters[:len(pairs)]
}

// pitchAndLevel reads C4, C4+E4 or a gesture, and its own level: C4!ff.
func pitchAndLevel(r *reader, s span) (piece.Pitch, *source.Error) {
	text := s.String()
	at := strings.LastIndexByte(text, '!')
	if at < 0 {
		return pitchOrGesture(r, s)
	}
	p, err := pitchOrGesture(r, s.part(0, at))
	if err != nil {
		return p, err
	}
	p.Level, err = level(s.part(at+1, len(text)))
	return p, err
}

func pitchOrGesture(r *reader, s span) (piece.Pitch, *source.Error) {
	if open := strings.IndexByte(s.String(), '('); open >= 0 {
		return gesture(r, s, open)
	}
	return chord(s)
}

// chord reads pitches joined by +, to their keys in ascending order, each once.
func chord(s span) (piece.Pitch, *source.Error) {
	text := s.String()
	if strings.IndexByte(text, '+') < 0 {
		key, err := keyOf(s)
		if err != nil {
			return piece.Pitch{}, err
		}
		return piece.Pitch{Keys: oneKey(key), Letters: singleLetters[text[0]]}, nil
	}
	var keys []int
	var letters []byte
	for i := 0; ; {
		end := len(text)
		if n := strings.IndexByte(text[i:], '+'); n >= 0 {
			end = i + n
		}
		if end == i {
			return piece.Pitch{}, s.Error("a pitch is missing beside the +", "write a chord without blanks: C4+E4+G4")
		}
		key, err := keyOf(s.part(i, end))
		if err != nil {
			return piece.Pitch{}, err
		}
		keys, letters = append(keys, key), append(letters, text[i])
		if end == len(text) {
			keys, letters = ascending(keys, letters)
			return piece.Pitch{Keys: keys, Letters: string(letters)}, nil
		}
		i = end + 1
	}
}

// keyOf reads one pitch to its key.
func keyOf(s span) (int, *source.Error) {
	text := s.String()
	key, err := pitch.Parse(text)
	if err != nil {
		return 0, s.Error(source.Printable(err.Error()), pitchHint(text))
	}
	return key, nil
}

// withSigns is a pitch with its letter, sharps and flats as a piece file has them,
// from other ways of writing them, the names of German and Dutch among them: Cis
// is C#, Es Eb, As Ab, Bes Bb, H B natural. B is left as it is, for nobody can
// tell whether a German B, which is Bb, was meant.
func withSigns(text string) string {
	letter, rest := strings.ToUpper(text[:1]), text[1:]
	if letter == "E" || letter == "A" {
		if after, ok := strings.CutPrefix(rest, "ses"); ok {
			rest = "bb" + after
		} else if after, ok := strings.CutPrefix(rest, "s"); ok {
			rest = "b" + after
		}
	}
	if letter == "H" {
		letter = "B"
	}
	return letter + signs.Replace(rest)
}

var signs = strings.NewReplacer("♯", "#", "♭", "b", "x", "##", ",", "", ";", "",
	"isis", "##", "is", "#", "eses", "bb", "es", "b", "s", "#")

// pitchHint is how a pitch that was not understood may have been meant.
func pitchHint(text string) string {
	const plain = "write a letter from A to G, # or b if wanted, then the octave: C4 is middle C"
	if text == "" {
		return plain
	}
	meant := withSigns(text)
	switch {
	case meant != text && isPitch(meant):
		return "write: " + meant
	case len(meant) > 2 && isPitch(meant[:1]+meant[2:]+meant[1:2]):
		return fmt.Sprintf("the octave comes last: %s", meant[:1]+meant[2:]+meant[1:2])
	case isPitch(meant + "4"):
		return fmt.Sprintf("the octave is missing: %s4", meant)
	case strings.Trim(text, "0123456789/.()") == "":
		return "durations stand in talea, pitches in color; or write both as a line: C4:2"
	case strings.Contains(text, ":"):
		return "pitch and duration together stand in line: line = \"" + source.Printable(text) + "\""
	case strings.HasPrefix(text, "R") || strings.HasPrefix(text, "r"):
		return "a silence is a duration in parentheses, in talea or line: (2)"
	}
	return plain
}
