package find_test

import (
	"context"
	"fmt"

	"rollwright/music/find"
)

// Five pitches on three durations, of an eighth of a second a unit, for 30 notes.
func ExampleFind() {
	talea, color := []float64{3, 1, 2}, []int{50, 57, 53, 60, 55}
	var notes []find.Note
	at := 0.0
	for i := range 30 {
		d := talea[i%3] / 8
		notes = append(notes, find.Note{Key: color[i%5], StartSec: at, EndSec: at + 0.8*d})
		at += d
	}
	d, err := find.Find(context.Background(), notes)
	if err != nil {
		fmt.Println(err)
		return
	}
	v := d.Voices[0]
	fmt.Println(v.Talea.Durations, v.Color.Pitches, v.Tempo.From)
	// Output: [3 1 2] [[50] [57] [53] [60] [55]] 120
}
