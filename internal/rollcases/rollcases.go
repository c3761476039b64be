// Package rollcases makes the rolls that tests are about, from the text of a
// piece or from single notes. It is for tests alone.
package rollcases

import (
	"cmp"
	"slices"

	"rollwright/making/machine"
	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// Test is a test, or one try of a property.
type Test interface {
	Helper()
	Fatal(...any)
}

// Performed is a piece with the instruments of its pianos, each at the tempo
// that the piece asks of it.
func Performed(t Test, text string) (*perform.Performance, []*instrument.Instrument) {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "test.piece", Text: []byte(text)})
	must(t, err)
	f, err := perform.New(p, perform.Options{})
	must(t, err)
	var instruments []*instrument.Instrument
	for i, piano := range p.Pianos {
		in, err := instrument.Load(piano.Instrument, "")
		must(t, err)
		in, err = lay.AtTempo(p, i, in)
		must(t, err)
		instruments = append(instruments, in)
	}
	return f, instruments
}

// Rolls lays out a piece, a roll for each piano.
func Rolls(t Test, text string) []*roll.Roll {
	t.Helper()
	f, instruments := Performed(t, text)
	rolls, err := lay.Of(f, instruments)
	must(t, err)
	return rolls
}

// Note is a key, the second when it begins, the second when it ends: a stroke by
// a single punch where the two are the same.
type Note [3]float64

// OnePiano is the piece whose roll Lay makes.
var OnePiano = &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "a"}}}

// Lay lays out notes in the order of their starts on the 88-note roll, which
// change may alter first.
func Lay(t Test, change func(*instrument.Instrument), notes ...Note) *roll.Roll {
	t.Helper()
	in, err := instrument.Load("88-note", "")
	must(t, err)
	if change != nil {
		change(in)
	}
	events := make([]event.Event, len(notes))
	for i, n := range notes {
		events[i] = event.Event{StartSec: n[1], EndSec: n[2], Note: int32(i + 1), Part: 1, Key: int16(n[0]), Level: 80,
			Single: n[1] == n[2]}
	}
	slices.SortStableFunc(events, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
	rolls, err := lay.Out(OnePiano, slices.Values(events), []*instrument.Instrument{in}, lay.Options{})
	must(t, err)
	return rolls[0]
}

// Machine is the built-in machine of that name, which change may alter.
func Machine(t Test, name string, change func(*machine.Profile)) *machine.Profile {
	t.Helper()
	m, err := machine.Load(name, "")
	must(t, err)
	if change != nil {
		change(m)
	}
	return m
}

func must(t Test, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
