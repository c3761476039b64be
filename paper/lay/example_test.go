package lay_test

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
)

// A patch of paper, a character for every millimetre along and every port from
// C4 to G4 across, as the player sees it: bass left, the start at the bottom.
// The long notes are bridged; the last is a single punch.
func Example() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "low"}}}
	events := slices.Values([]event.Event{
		{StartSec: 0, EndSec: 0.4, Note: 1, Key: 60, Level: 80},
		{StartSec: 0.1, EndSec: 0.2, Note: 2, Key: 64, Level: 80},
		{StartSec: 0.2, EndSec: 0.3, Note: 3, Key: 67, Level: 80},
		{StartSec: 0.3, EndSec: 0.4, Note: 4, Key: 64, Level: 80},
		{StartSec: 0.4, EndSec: 0.4, Note: 5, Key: 62, Level: 80, Single: true},
	})
	rolls, err := lay.Out(p, events, []*instrument.Instrument{in}, lay.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(patch(rolls[0], 60, 67, 19))
	// Output:
	// 18 | . . . . . . . .
	// 17 | . . O . . . . .
	// 16 | . . O . . . . .
	// 15 | O . . . O . . .
	// 14 | O . . . O . . .
	// 13 | . . . . O . . .
	// 12 | O . . . O . . .
	// 11 | O . . . . . . O
	// 10 | O . . . . . . O
	//  9 | O . . . . . . O
	//  8 | O . . . . . . O
	//  7 | O . . . O . . .
	//  6 | . . . . O . . .
	//  5 | O . . . O . . .
	//  4 | . . . . O . . .
	//  3 | O . . . . . . .
	//  2 | O . . . . . . .
	//  1 | O . . . . . . .
	//  0 | O . . . . . . .
}

// patch draws rows of a millimetre, each looked at in its middle.
func patch(r *roll.Roll, low, high, rows int) string {
	paper := make([][]byte, rows)
	for i := range paper {
		paper[i] = []byte(strings.Repeat(".", high-low+1))
	}
	radius := r.Instrument.Die.DiameterMM / 2
	for i := range r.Slots {
		s := &r.Slots[i]
		key := r.Instrument.Bar.Ports[s.Port].Key
		if key < low || key > high {
			continue
		}
		for at := range r.Punches(s) {
			for row := range paper {
				if middle := float64(row) + 0.5; middle > at-radius && middle < at+radius {
					paper[row][key-low] = 'O'
				}
			}
		}
	}
	var b strings.Builder
	for row := rows - 1; row >= 0; row-- {
		fmt.Fprintf(&b, "%2d | %s\n", row, strings.Join(strings.Split(string(paper[row]), ""), " "))
	}
	return b.String()
}
