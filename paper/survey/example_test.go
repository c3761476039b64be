package survey_test

import (
	"context"
	"fmt"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/music/simple"
	"rollwright/paper/instrument"
	"rollwright/paper/survey"
	"rollwright/text/source"
)

// How often two voices meet at some speeds: eight notes of 2 units against as many
// divided by the speed. At 1 all of them meet, at 3/2 every third of the quick one
// and every second of the slow one.
func ExampleQuestion_Run() {
	text := []byte(`voice "slow" {
  talea  = 2
  color  = "C3"
  extent = "8 notes"
}
voice "quick" {
  talea  = 2
  color  = "C5"
  extent = "8 notes"
}
`)
	p, err := piecefile.Parse(&source.File{Name: "two.piece", Text: text})
	if err != nil {
		fmt.Println(err)
		return
	}
	in, err := instrument.Load("88-note", ".")
	if err != nil {
		fmt.Println(err)
		return
	}
	q := &survey.Question{Piece: p, Voice: 1, Unknown: piece.Unknown{Kind: piece.UnknownSpeed},
		Instruments: []*instrument.Instrument{in}, ApartSec: 0.03}
	rows, err := q.Run(context.Background(), simple.Between(1, 1.5, 5))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, row := range rows {
		fmt.Printf("%-4s %d meetings\n", row.Value, row.Meetings)
	}
	// Output:
	// 1    8 meetings
	// 3/2  3 meetings
}
