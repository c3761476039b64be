package piecefile

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/source"
)

// gestureForm is how a gesture is written and read.
type gestureForm struct {
	example string
	read    func(r *reader, s span, args []span) (piece.Pitch, *source.Error)
}

var gestureForms map[string]gestureForm

func init() {
	gestureForms = map[string]gestureForm{
		"gliss":   {"gliss(C3 C6 white)", readGliss},
		"trill":   {"trill(C5 D5 14/s)", readTrill},
		"repeat":  {"repeat(C4 10/s)", readRepeat},
		"cluster": {"cluster(C3 C4 white)", readCluster},
		"spread":  {"spread(C2+G2+E3 30ms)", readSpread},
		"grace":   {"grace(B3 C4 40ms)", readGrace},
	}
}

// Bounds of what is struck within a gesture.
const maxTrill = 16 // pitches

var (
	fastestRate  = exact.Int(1000)         // strokes a second
	longestDelay = exact.Int(10)           // seconds
	finestTrill  = exact.NewRat(1, 10_000) // units
)

// gesture reads name(...), of which open is the index of the parenthesis.
func gesture(r *reader, s span, open int) (piece.Pitch, *source.Error) {
	text := s.String()
	name := text[:open]
	form, ok := gestureForms[name]
	if !ok {
		return piece.Pitch{}, s.Error(fmt.Sprintf("there is no gesture %q", source.Printable(name)), gestureHint(name, text))
	}
	if !strings.HasSuffix(text, ")") {
		if strings.Contains(text, ")") {
			return piece.Pitch{}, s.Error("something follows the ) of a gesture",
				"a gesture ends with its ), and a blank follows")
		}
		return piece.Pitch{}, s.part(0, open+1).Error("this ( is not closed", "write: "+form.example)
	}
	var args []span
	for c := s.part(open+1, len(text)-1).inside(); c.skip(); {
		args = append(args, c.item())
	}
	p, err := form.read(r, s, args)
	if err == nil {
		mark := s.Error("", "")
		p.Gesture.Written = piece.Written{At: mark.At, Width: mark.Width, Text: text}
	}
	return p, err
}

func gestureHint(name, text string) string {
	names := []string{"gliss", "trill", "repeat", "cluster", "spread", "grace"}
	if name == "" {
		return "silences stand in talea or line, not in color: " + source.Printable(text)
	}
	if near, ok := source.Nearest(name, names); ok {
		return "did you mean " + gestureForms[near].example + "?"
	}
	return "the gestures are " + strings.Join(names, ", ")
}

// wrongArgs is for a gesture with too much or too little in its parentheses.
func wrongArgs(s span) *source.Error {
	name, _, _ := strings.Cut(s.String(), "(")
	return s.Error(name+" wants something else in its parentheses", "write: "+gestureForms[name].example)
}

// keySet is the keys from one pitch to another, in that direction, with their
// letters: flats where an end is written with one.
func keySet(from, to, set span) (piece.Pitch, *source.Error) {
	a, err := keyOf(from)
	if err != nil {
		return piece.Pitch{}, err
	}
	b, err := keyOf(to)
	if err != nil {
		return piece.Pitch{}, err
	}
	keys, err := keysBetween(a, b, from, to, set)
	if err != nil {
		return piece.Pitch{}, err
	}
	flats := strings.Contains(from.String()+to.String(), "b")
	letters := make([]byte, len(keys))
	for i, key := range keys {
		letters[i] = pitch.Letter(key, flats)
	}
	for key, end := range map[int]span{a: from, b: to} {
		if i := slices.Index(keys, key); i >= 0 {
			letters[i] = end.String()[0]
		}
	}
	return piece.Pitch{Keys: keys, Letters: string(letters)}, nil
}

func keysBetween(a, b int, from, to, set span) ([]int, *source.Error) {
	var keys []int
	for key := min(a, b); key <= max(a, b); key++ {
		black := strings.Contains(pitch.Name(key), "#")
		switch set.String() {
		case "white":
			if !black {
				keys = append(keys, key)
			}
		case "black":
			if black {
				keys = append(keys, key)
			}
		case "chromatic":
			keys = append(keys, key)
		default:
			return nil, set.Error(fmt.Sprintf("%q is no set of keys", source.Printable(set.String())),
				"write white, black or chromatic")
		}
	}
	if len(keys) == 0 {
		return nil, set.Error(fmt.Sprintf("there is no %s key from %s to %s", set, from, to),
			"choose pitches further apart, or chromatic")
	}
	if a > b {
		slices.Reverse(keys)
	}
	return keys, nil
}

func readGliss(r *reader, s span, args []span) (piece.Pitch, *source.Error) {
	if len(args) != 3 && len(args) != 4 {
		return piece.Pitch{}, wrongArgs(s)
	}
	p, err := keySet(args[0], args[1], args[2])
	p.Gesture = &piece.Gesture{Kind: piece.Gliss}
	if err == nil && len(args) == 4 {
		var ratio real64
		ratio, err = r.exactReal(args[3])
		p.Gesture.Ratio = ratio.x
		if err == nil && (ratio.size < 0.1 || ratio.size > 10) {
			err = args[3].Error("a ratio from note to note beyond 0.1 to 10", "1 is even, 0.95 gets faster, 1.05 slower")
		}
	}
	return p, err
}

func readCluster(_ *reader, s span, args []span) (piece.Pitch, *source.Error) {
	if len(args) != 3 {
		return piece.Pitch{}, wrongArgs(s)
	}
	p, err := keySet(args[0], args[1], args[2])
	p = writtenKeys(p.Keys, []byte(p.Letters))
	p.Gesture = &piece.Gesture{Kind: piece.Cluster}
	return p, err
}

func readTrill(_ *reader, s span, args []span) (piece.Pitch, *source.Error) {
	if len(args) < 3 {
		return piece.Pitch{}, wrongArgs(s)
	}
	if len(args)-1 > maxTrill {
		return piece.Pitch{}, s.Error(fmt.Sprintf("a trill of more than %d pitches", maxTrill), "write them as a line")
	}
	p := &turns{Pitch: piece.Pitch{Gesture: &piece.Gesture{Kind: piece.Trill}}}
	if err := p.inTurn(args[:len(args)-1]); err != nil {
		return p.Pitch, err
	}
	rate := args[len(args)-1]
	if strings.HasSuffix(rate.String(), "/s") {
		var err *source.Error
		p.Gesture.EverySec, err = perSecond(rate)
		return p.Pitch, err
	}
	units, e := fraction(rate.String())
	if e != nil || units.Cmp(finestTrill) < 0 || units.Cmp(longest) > 0 {
		return p.Pitch, rate.Error(fmt.Sprintf("%q does not say how fast the trill is", source.Printable(rate.String())),
			"write how many a second, trill(C5 D5 14/s), or each how many units, trill(C5 D5 1/2)")
	}
	p.Gesture.EveryUnits = units
	return p.Pitch, nil
}

// turns is a gesture whose notes or chords are struck in turn.
type turns struct{ piece.Pitch }

// inTurn adds notes or chords that are struck one after the other.
func (p *turns) inTurn(args []span) *source.Error {
	chords := false
	for _, arg := range args {
		one, err := chord(arg)
		if err != nil {
			return err
		}
		p.Keys, p.Letters = append(p.Keys, one.Keys...), p.Letters+one.Letters
		p.Gesture.Turns = append(p.Gesture.Turns, len(one.Keys))
		chords = chords || len(one.Keys) > 1
	}
	if !chords && p.Gesture.Manner() == piece.Trill {
		p.Gesture.Turns = nil
	}
	return nil
}

// perSecond reads 14/s to the seconds from stroke to stroke.
func perSecond(s span) (exact.Rat, *source.Error) {
	n, e := fraction(strings.TrimSuffix(s.String(), "/s"))
	if e != nil || n.Sign() <= 0 || n.Cmp(fastestRate) > 0 || n.Float64() < 0.001 {
		return n, s.Error(fmt.Sprintf("%q is no rate", source.Printable(s.String())),
			"write strokes a second, at most 1000: 14/s")
	}
	every, ok := exact.Int(1).Quo(n)
	if !ok {
		return n, s.Error("this rate is too fine", "write a rounder number: 14/s")
	}
	return every, nil
}

func readRepeat(_ *reader, s span, args []span) (piece.Pitch, *source.Error) {
	if len(args) != 2 {
		return piece.Pitch{}, wrongArgs(s)
	}
	p, err := chord(args[0])
	p.Gesture = &piece.Gesture{Kind: piece.Repeat}
	switch {
	case err != nil:
	case args[1].String() == "fastest":
		p.Gesture.Fastest = true
	case strings.HasSuffix(args[1].String(), "/s"):
		p.Gesture.EverySec, err = perSecond(args[1])
	default:
		rate := "10/s"
		if n := count(args[1].String()); n > 0 && n <= 1000 {
			rate = args[1].String() + "/s"
		}
		err = args[1].Error(fmt.Sprintf("%q does not say how fast", source.Printable(args[1].String())), "write: "+rate+
			"\nor fastest, which is what the instrument can")
	}
	return p, err
}

func readSpread(_ *reader, s span, args []span) (piece.Pitch, *source.Error) {
	if len(args) != 2 && len(args) != 3 {
		return piece.Pitch{}, wrongArgs(s)
	}
	p, err := chord(args[0])
	if err != nil {
		return piece.Pitch{}, err
	}
	p.Gesture = &piece.Gesture{Kind: piece.Spread}
	p.Gesture.DelaySec, err = delay(args[1:])
	return p, err
}

func readGrace(_ *reader, s span, args []span) (piece.Pitch, *source.Error) {
	pitches := len(args) - 1
	if len(args) > 2 && (args[len(args)-1].String() == "ms" || args[len(args)-1].String() == "s") {
		pitches--
	}
	switch {
	case pitches < 2:
		return piece.Pitch{}, wrongArgs(s)
	case pitches > maxTrill:
		return piece.Pitch{}, s.Error(fmt.Sprintf("more than %d grace notes", maxTrill-1), "write them as a line")
	}
	p := &turns{Pitch: piece.Pitch{Gesture: &piece.Gesture{Kind: piece.Grace}}}
	err := p.inTurn(args[:pitches])
	if err != nil {
		return p.Pitch, err
	}
	if pitches == 2 && p.Gesture.Turns[0] == 1 {
		p.Gesture.Turns = nil
	}
	p.Gesture.DelaySec, err = delay(args[pitches:])
	return p.Pitch, err
}

// delay reads a short time, in one or two words: 30ms, 30 ms.
func delay(args []span) (exact.Rat, *source.Error) {
	s := span{args[0].c, args[0].i, args[len(args)-1].j}
	sec, problem, hint := parseTime(s.String())
	switch {
	case problem != "":
		return sec, s.Error(problem, hint)
	case sec.Sign() <= 0 || sec.Cmp(longestDelay) > 0:
		return sec, s.Error("a delay beyond what a hand could do", "write a time of more than 0 and at most 10 s: 30ms")
	}
	return sec, nil
}
