package worksheet_test

import (
	"os"
	"slices"

	"rollwright/making/bench"
	"rollwright/making/worksheet"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
)

// One short note and one chord as a table.
func Example() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		panic(err)
	}
	events := []event.Event{
		{Key: 48, Level: 80, Note: 1, Part: 1, Single: true},
		{StartSec: 0.5, EndSec: 0.5, Key: 50, Level: 80, Note: 2, Part: 1, Single: true},
		{StartSec: 0.5, EndSec: 0.5, Key: 57, Level: 80, Note: 2, Part: 1, Single: true},
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}}
	rolls, err := lay.Out(p, slices.Values(events), []*instrument.Instrument{in}, lay.Options{})
	if err != nil {
		panic(err)
	}
	profile, err := bench.Load("crank-eighth", "")
	if err != nil {
		panic(err)
	}
	plan, err := bench.New(rolls[0], profile)
	if err != nil {
		panic(err)
	}
	table := worksheet.NewCSV(os.Stdout)
	table.Add(plan, "", 0)
	if err := table.Close(); err != nil {
		panic(err)
	}
	// Output:
	// piano,spool,row,turns,parts,crank_turns,crank_parts,from_zero,from_zero_mm,along_mm,order,notches,ports,names,chains,strokes,total,measure,line,done,time_s
	// ,,1,0,9,0,9,1/32 in,0.8930,0.8930,right,30,30,C3,1/1,1,1,,,,0.022
	// ,,2,6,13,6,22,27/32 in,21.2328,21.2328,left,39 32,39 32,A3 D3,1/1 1/1,2,3,,,,0.522
}
