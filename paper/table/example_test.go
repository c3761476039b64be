package table_test

import (
	"fmt"
	"os"
	"slices"

	"rollwright/music/event"
	"rollwright/paper/table"
)

func ExampleWriteEvents() {
	events := []event.Event{
		{Note: 1, Part: 1, Key: 36, Level: 80, StartSec: 0, EndSec: 0.375},
		{Note: 2, Part: 1, Key: 43, Level: 80, StartSec: 0.375, EndSec: 0.625},
	}
	if err := table.WriteEvents(os.Stdout, table.CSV, []string{"low"}, slices.Values(events)); err != nil {
		fmt.Println(err)
	}
	// Output:
	// voice,note,key,pitch,start_s,end_s,level,part
	// low,1,36,C2,0.000000000,0.375000000,80,1
	// low,2,43,G2,0.375000000,0.625000000,80,1
}
