package workshop_test

import (
	"context"
	"fmt"

	"rollwright/text/source"
	"rollwright/workshop"
)

func Example() {
	text := "voice \"low\" {\n  talea = \"3 2 2\"\n  color = \"C2 G2 C3 E3\"\n}\n"
	job, err := workshop.New(context.Background(), &source.File{Name: "first.piece", Text: []byte(text)}, "")
	if err != nil {
		fmt.Println(err)
		return
	}
	rolls, err := job.Rolls()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range rolls {
		fmt.Printf("%s: %d slots, music until %.1f s\n", r.Instrument.Title, len(r.Slots), r.EndSec)
	}
	// Output:
	// 88-note roll, constant speed: 12 slots, music until 3.5 s
}
