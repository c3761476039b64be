package perform_test

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
)

// Two voices play a color of three on a talea of two, the second one faster by
// the square root of two, and end together.
func Example() {
	voice := func(name string, speed exact.Real) piece.Voice {
		return piece.Voice{
			Name: name, Section: -1, Canon: -1,
			Unit: exact.NewRat(1, 4), Tempo: exact.Frac(60, 1), Speed: speed,
			Talea: []piece.Duration{{Units: exact.Int(2)}, {Units: exact.Int(1)}},
			Color: []piece.Pitch{{Keys: []int{60}}, {Keys: []int{64}}, {Keys: []int{67}}},
		}
	}
	low, high := voice("low", exact.Real{}), voice("high", exact.MustParse("sqrt(2)"))
	high.Transpose = 12
	end := piece.Point{Kind: piece.AtEnd}
	high.Place = piece.Place{Kind: piece.MeetWith, Ref: piece.Ref{Voice: 0, Canon: -1}, Mine: end, Theirs: end}

	perf, err := perform.New(&piece.Piece{Voices: []piece.Voice{low, high}}, perform.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("high starts at", perf.Lines[1].Start)
	for e := range perf.Events() {
		fmt.Printf("%-4s %d  key %d  %.3f to %.3f\n", perf.Piece.Voices[e.Voice].Name, e.Note, e.Key, e.StartSec, e.EndSec)
	}
	// Output:
	// high starts at 9 - 9/2*sqrt(2)
	// low  1  key 60  0.000 to 2.000
	// low  2  key 64  2.000 to 3.000
	// high 1  key 72  2.636 to 4.050
	// low  3  key 67  3.000 to 5.000
	// high 2  key 76  4.050 to 4.757
	// high 3  key 79  4.757 to 6.172
	// low  4  key 60  5.000 to 6.000
	// low  5  key 64  6.000 to 8.000
	// high 4  key 72  6.172 to 6.879
	// high 5  key 76  6.879 to 8.293
	// low  6  key 67  8.000 to 9.000
	// high 6  key 79  8.293 to 9.000
}
