package bench_test

import (
	"fmt"
	"slices"

	"rollwright/making/bench"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
)

// Two short notes, a third of a second apart, at a crank of 2 mm a turn.
func Example() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		panic(err)
	}
	events := []event.Event{
		{StartSec: 0, EndSec: 0, Key: 48, Level: 80, Note: 1, Part: 1, Single: true},
		{StartSec: 0, EndSec: 0, Key: 55, Level: 80, Note: 1, Part: 1, Single: true},
		{StartSec: 1.0 / 3, EndSec: 0.4, Key: 50, Level: 80, Note: 2, Part: 1},
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}}
	rolls, err := lay.Out(p, slices.Values(events), []*instrument.Instrument{in}, lay.Options{})
	if err != nil {
		panic(err)
	}
	profile, err := bench.Load("crank-2mm", "")
	if err != nil {
		panic(err)
	}
	plan, err := bench.New(rolls[0], profile)
	if err != nil {
		panic(err)
	}
	for i, row := range plan.Rows {
		turns, parts := profile.Crank.Split(plan.Advance(i))
		fmt.Printf("turn on %s, then punch", profile.Crank.Text(turns, parts))
		for _, s := range row.Strokes {
			fmt.Printf(" %s", in.Bar.Ports[s.Port].Name())
		}
		fmt.Println()
	}
	// Output:
	// turn on 0 + 09, then punch C3 G3
	// turn on 6 + 15, then punch D3
	// turn on 0 + 10, then punch D3
}
