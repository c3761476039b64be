package perform_test

import (
	"strconv"
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// The tests build pieces from short texts of their own: a talea "3 2 (1/2)",
// a color of key numbers "60 64+67".

// voice is a voice at 120 quarter notes a minute in sixteenths: a unit is an
// eighth of a second.
func voice(name, talea, color string) piece.Voice {
	return piece.Voice{
		Name: name, Section: -1, Canon: -1, Places: piece.Places{},
		Talea: durations(talea), Color: pitches(color),
		Unit: exact.NewRat(1, 16), Tempo: exact.Frac(120, 1),
	}
}

func durations(text string) []piece.Duration {
	var list []piece.Duration
	for word := range strings.FieldsSeq(text) {
		bare := strings.Trim(word, "()")
		list = append(list, piece.Duration{Units: rat(bare), Silent: bare != word})
	}
	return list
}

func pitches(text string) []piece.Pitch {
	var list []piece.Pitch
	for word := range strings.FieldsSeq(text) {
		var keys []int
		for key := range strings.SplitSeq(word, "+") {
			k, err := strconv.Atoi(key)
			if err != nil {
				panic(err)
			}
			keys = append(keys, k)
		}
		list = append(list, piece.Pitch{Keys: keys})
	}
	return list
}

func rat(text string) exact.Rat {
	r, err := exact.ParseRat(text)
	if err != nil {
		panic(err)
	}
	return r
}

func real(text string) exact.Real { return exact.MustParse(text) }

func reals(texts ...string) []exact.Real {
	var list []exact.Real
	for _, text := range texts {
		list = append(list, real(text))
	}
	return list
}

func notes(n int) piece.Extent      { return piece.Extent{Kind: piece.Notes, Count: n} }
func taleae(n int) piece.Extent     { return piece.Extent{Kind: piece.Taleae, Count: n} }
func units(x string) piece.Extent   { return piece.Extent{Kind: piece.Units, Amount: rat(x)} }
func seconds(x string) piece.Extent { return piece.Extent{Kind: piece.Seconds, Amount: rat(x)} }
func toVoice(i int) piece.Ref       { return piece.Ref{Voice: i, Canon: -1} }
func toCanon(i int) piece.Ref       { return piece.Ref{Voice: -1, Canon: i} }

func pieceOf(voices ...piece.Voice) *piece.Piece {
	return &piece.Piece{Pianos: []piece.Piano{{}}, Voices: voices}
}

func mustPerform(t testing.TB, p *piece.Piece) *perform.Performance {
	t.Helper()
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return perf
}
