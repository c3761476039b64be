package piecefile

import (
	"fmt"
	"slices"
	"strconv"
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
	of:        func(r *reader, t *borrowed) ([]piece.Pitch, bool) { return t.color, true },
	ofName:    "pitches",
}

func isPitch(s string) bool {
	_, err := pitch.Parse(s)
	return err == nil
}

func readColor(r *reader, v *blocks.Value) any {
	return r.materialOf(aColor, v)
}

func (r *reader) colorMaterial(v *blocks.Value) (*material, bool) {
	out, ok := series(r, v, colorKind)
	return &material{color: out}, ok
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

// movePitch moves all keys of a pitch; false when one leaves the keys.
func movePitch(p piece.Pitch, to *piece.Move) (piece.Pitch, bool) {
	if len(p.Keys) == 1 {
		from, key := to.Unsettled(p.Spelling(0), p.Keys[0])
		if key < pitch.LowestKey || key > pitch.HighestKey {
			return p, false
		}
		p.Keys, p.Spelled = oneKey(key), oneSpelling(from)
		p.Letters = singleLetters[from.For(key).Letter()]
		return p, true
	}
	moved := make([]spelledKey, len(p.Keys))
	for i, key := range p.Keys {
		moved[i].from, moved[i].key = to.Unsettled(p.Spelling(i), key)
		if moved[i].key < pitch.LowestKey || moved[i].key > pitch.HighestKey {
			return p, false
		}
	}
	if k := p.Gesture.Manner(); k == piece.Plain || k == piece.Cluster {
		moved = ascending(moved)
	}
	keys, letters, spelled := make([]int, len(moved)), make([]byte, len(moved)), make([]pitch.Spelling, len(moved))
	for i, m := range moved {
		keys[i], spelled[i], letters[i] = m.key, m.from, m.from.For(m.key).Letter()
	}
	p.Keys, p.Letters, p.Spelled = keys, string(letters), spelled
	return p, true
}

// singleSpellings are shared by all notes that are one key.
var singleSpellings = func() (all [2][256]pitch.Spelling) {
	for i := range all[0] {
		all[0][i] = pitch.Spelling{Fifths: int8(i - 128)}
		all[1][i] = pitch.Spelling{Fifths: int8(i - 128), Double: true}
	}
	return all
}()

func oneSpelling(s pitch.Spelling) []pitch.Spelling {
	list, i := &singleSpellings[0], int(s.Fifths)+128
	if s.Double {
		list = &singleSpellings[1]
	}
	return list[i : i+1 : i+1]
}

// spelledKey is a key with the name from which its own is reckoned.
type spelledKey struct {
	key  int
	from pitch.Spelling
}

// ascending are keys in their order, each once, with the names of those written first.
func ascending(keys []spelledKey) []spelledKey {
	slices.SortStableFunc(keys, func(a, b spelledKey) int { return a.key - b.key })
	return slices.CompactFunc(keys, func(a, b spelledKey) bool { return a.key == b.key })
}

// written is a pitch of these keys, as they are written.
func writtenKeys(keys []int, letters []byte) piece.Pitch {
	pairs := make([]spelledKey, len(keys))
	for i, key := range keys {
		pairs[i] = spelledKey{key, pitch.SpellingOf(letters[i], key)}
	}
	pairs = ascending(pairs)
	keys, letters = keys[:len(pairs)], letters[:len(pairs)]
	for i, p := range pairs {
		keys[i], letters[i] = p.key, p.from.Letter()
	}
	return piece.Pitch{Keys: keys, Letters: string(letters)}
}

// pitchAndLevel reads C4, C4+E4 or a gesture, with its own level and hold: C4!ff~0.3.
func pitchAndLevel(r *reader, s span) (piece.Pitch, *source.Error) {
	text := s.String()
	closing, own := strings.LastIndexByte(text, ')')+1, len(text)
	if i := strings.IndexAny(text[closing:], "!~"); i >= 0 {
		own = closing + i
	}
	p, err := pitchOrGesture(r, s.part(0, own))
	if err != nil {
		return p, err
	}
	p.Offset = s.offset()
	return p, r.ownOf(s, own, &p)
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
			return writtenKeys(keys, letters), nil
		}
		i = end + 1
	}
}

// keyOf reads one pitch to its key.
func keyOf(s span) (int, *source.Error) {
	text := s.String()
	tune := s.c.tune
	if tune != nil && tune.octave != "" && octaveOf(text) == "" {
		if _, _, name := pitch.ParseName(text); name {
			text += tune.octave
		}
	}
	key, err := pitch.Parse(text)
	if err != nil {
		return 0, s.Error(source.Printable(err.Error()), pitchHint(text))
	}
	if tune != nil {
		tune.octave = octaveOf(text)
	}
	return key, nil
}

// octaveOf is the octave at the end of a pitch's name; empty: it has none.
func octaveOf(text string) string {
	i := len(text)
	for i > 0 && (text[i-1] >= '0' && text[i-1] <= '9' || text[i-1] == '-') {
		i--
	}
	return text[i:]
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

// lowestNumbered is the lowest key that is taken for one where a number stands in place of a
// pitch: the lowest of a piano. Smaller ones may be durations.
const lowestNumbered = 21

// keyNumber reports whether a text is a number that may be meant as a key.
func keyNumber(text string) bool {
	n, err := strconv.Atoi(text)
	return err == nil && n >= lowestNumbered && n <= pitch.HighestKey
}

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
	case keyNumber(text):
		key, _ := strconv.Atoi(text)
		return fmt.Sprintf("pitches stand by their names: key %d is %s", key, pitch.Name(key))
	case strings.Trim(text, "0123456789/.()") == "":
		return "durations stand in talea, pitches in color; or write both as a line: C4:2"
	case strings.Contains(text, ":"):
		return "pitch and duration together stand in line: line = \"" + source.Printable(text) + "\""
	case strings.HasPrefix(text, "R") || strings.HasPrefix(text, "r"):
		return "a silence is a duration in parentheses, in talea or line: (2)"
	}
	return plain
}
