package plan_test

import (
	"fmt"
	"os"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/text/source"
)

const twoSpeeds = `
voice "low" {
  talea  = "3 2 1"
  color  = "C3 G3 D4 A3"
  extent = "24 notes"
}
voice "high" {
  like  = "low"
  speed = "sqrt(2)"
}
`

// A line against itself at an irrational speed.
func Example() {
	p, err := piecefile.Parse(&source.File{Name: "two.piece", Text: []byte(twoSpeeds)})
	if err != nil {
		fmt.Println(err)
		return
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	pair := plan.New(perf, plan.Options{}).Pairs[0]
	fmt.Println(pair.B, ":", pair.A, "=", pair.Ratio.Exact)
	fmt.Println("meetings:", pair.Meetings.Count)
	fmt.Println(pair.Reason)
	miss := pair.NearMisses[0]
	fmt.Printf("closest: note %d and note %d, %s s\n", miss.NoteA, miss.NoteB, miss.Distance.Exact)
	// Output:
	// high : low = sqrt(2)
	// meetings: 1
	// sqrt(2) is irrational: two lines of rational units at these speeds can coincide at most once, and they do at note 1
	// closest: note 15 and note 21, 29/8 - 41/16*sqrt(2) s
}

// The whole plan of a piece, as a person reads it.
func ExampleWriteText() {
	p, err := piecefile.Parse(&source.File{Name: "five.piece", Text: []byte(`
title = "Five on four"
voice "v" {
  talea = "3 2 1 (1) 1"
  color = "C3 G3 D4 A3 E4"
}`)})
	if err != nil {
		fmt.Println(err)
		return
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	plan.WriteText(os.Stdout, plan.New(perf, plan.Options{}), plan.TextOptions{})
	// Output:
	// Five on four
	// ============
	// 0:05.0 long, 1 voice, 20 notes
	//
	// When each voice plays, and how densely, from 0 to 0:05.0
	//   v              ████████████████████████████████████████████████████████████
	//   notes          ████████████████████████████████████████████████████████████
	//   density   4 notes a second on average; most from 0:00.0 to 0:00.5: 4 a second;
	//             the busiest second has 4 notes, from 0:00.0
	//
	// Voice v
	//   color     (the series of pitches) 5 pitches, 4 statements (times through)
	//   talea     (the series of durations) 4 notes and 1 silence, 8 units long, 5
	//             statements
	//   extent    (how long it goes on) until color and talea end together, after 20
	//             notes (5 taleae, 4 colores)
	//   length    20 notes, 40 units, 5 s
	//   time      first note at 0:00.0, last at 0:04.9, ends at 0:05.0
	//   speed     1; a unit lasts 1/8 s (125 ms); 120 quarter notes a minute
	//
	//   Which pitch gets which durations: 5 and 4 share no factor, so each gets all
	//           3   2   1   in turn
	//   C3      1   1   2   3 2 1 1
	//   G3      1   1   2   2 1 1 3
	//   D4      1   1   2   1 1 3 2
	//   A3      1   1   2   1 3 2 1
	//   E4      1   1   2   3 2 1 1
}
