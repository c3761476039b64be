package examples_test

import (
	"fmt"

	"rollwright/examples"
)

func ExampleList() {
	for _, e := range examples.List()[:3] {
		fmt.Printf("%s: %s\n", e.Title, e.Idea)
	}
	// Output:
	// Single End: one voice: seven pitches on six durations, and a lecture about it
	// First Thread: pitches on durations that are not equally many, in three voices
	// Even Picks: strokes as even as can be, four kinds on one pulse
}
