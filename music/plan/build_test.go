package plan_test

import (
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/music/plan"
)

// voice is a voice at 60 quarter notes a minute whose unit is a quarter note:
// a unit lasts a second.
func voice(name, talea, color string, change ...func(*piece.Voice)) piece.Voice {
	v := piece.Voice{
		Name: name, Section: -1, Canon: -1,
		Unit: exact.NewRat(1, 4), Tempo: exact.Frac(60, 1),
		Dynamics: []piece.Dynamic{{Level: 80}}, Hold: []piece.Hold{{}},
	}
	for word := range strings.FieldsSeq(talea) {
		silent := strings.HasPrefix(word, "(")
		d, err := exact.ParseRat(strings.Trim(word, "()"))
		if err != nil {
			panic(err)
		}
		v.Talea = append(v.Talea, piece.Duration{Units: d, Silent: silent})
	}
	for word := range strings.FieldsSeq(color) {
		key, err := pitch.Parse(word)
		if err != nil {
			panic(err)
		}
		v.Color = append(v.Color, piece.Pitch{Keys: []int{key}})
	}
	for _, f := range change {
		f(&v)
	}
	return v
}

func speed(s string) func(*piece.Voice) {
	return func(v *piece.Voice) { v.Speed = exact.MustParse(s) }
}

func tempo(s string) func(*piece.Voice) {
	return func(v *piece.Voice) { v.Tempo = exact.MustParse(s) }
}

func notes(n int) func(*piece.Voice) {
	return func(v *piece.Voice) { v.Extent = piece.Extent{Kind: piece.Notes, Count: n} }
}

func at(num, den int64) func(*piece.Voice) {
	return func(v *piece.Voice) { v.Place = piece.Place{At: exact.NewRat(num, den)} }
}

// canon puts the voices into one canon with the meeting point.
func canon(meet piece.Point, voices ...piece.Voice) *piece.Piece {
	p := pieceOf(voices...)
	c := piece.Canon{Name: "canon", Section: -1, Meet: meet}
	for i := range p.Voices {
		p.Voices[i].Canon = 0
		p.Voices[i].Place.Kind = piece.InCanon
		c.Voices = append(c.Voices, i)
	}
	p.Canons = []piece.Canon{c}
	return p
}

func pieceOf(voices ...piece.Voice) *piece.Piece {
	return &piece.Piece{Title: "test", Pianos: []piece.Piano{{}}, Voices: voices}
}

func planOf(t testing.TB, p *piece.Piece, o plan.Options) *plan.Plan {
	t.Helper()
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return plan.New(perf, o)
}

// members is so many pitches.
func members(n int) string {
	return strings.TrimSpace(strings.Repeat("C4 ", n))
}

// ones is so many durations of one unit.
func ones(n int) string { return strings.TrimSpace(strings.Repeat("1 ", n)) }
