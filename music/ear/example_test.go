package ear_test

import (
	"os"
	"slices"

	"rollwright/music/ear"
	"rollwright/music/event"
)

func Example() {
	events := []event.Event{
		{Voice: 0, Note: 1, Key: 60, Level: 80, EndSec: 1},
		{Voice: 1, Note: 1, Key: 48, Level: 80, StartSec: 0.01, EndSec: 1},
	}
	r := ear.Listen(slices.Values(events), []string{"high", "low"}, ear.Published())
	for _, v := range r.Voices {
		os.Stdout.WriteString(v.Name)
		if v.Fused == 1 && v.Together == 0 {
			os.Stdout.WriteString(": heard with another, though not exactly together\n")
		}
	}
	// Output:
	// high: heard with another, though not exactly together
	// low: heard with another, though not exactly together
}
