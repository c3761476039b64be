package midi_test

import (
	"bytes"
	"fmt"
	"slices"

	"rollwright/music/event"
	"rollwright/music/midi"
)

// Two notes are written and read back; the second, a single punch, sounds as
// long as its punch does.
func ExampleScore_Write() {
	score := midi.Score{
		Title:  "First Thread",
		Pianos: []midi.Piano{{}},
		Voices: []midi.Voice{{Name: "low"}},
	}
	events := []event.Event{
		{Key: 36, Level: 80, StartSec: 0, EndSec: 1.0 / 3},
		{Key: 43, Level: 96, StartSec: 0.5, EndSec: 0.5, Single: true},
	}
	var file bytes.Buffer
	if err := score.Write(&file, slices.Values(events)); err != nil {
		fmt.Println(err)
		return
	}

	f, err := midi.Decode(&file)
	if err != nil {
		fmt.Println(err)
		return
	}
	clock, err := midi.NewClock(f)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range f.Notes() {
		fmt.Printf("key %d from %.5f s to %.5f s\n", n.Key, clock.Seconds(n.StartTick), clock.Seconds(n.EndTick))
	}
	// Output:
	// key 36 from 0.00000 s to 0.33334 s
	// key 43 from 0.50000 s to 0.54250 s
}
