package sheet

import (
	"fmt"
	"strings"

	"rollwright/draw"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// ExampleTiles makes the sheets of a roll with two holes.
func ExampleTiles() {
	in, err := instrument.Load("88-note", ".")
	if err != nil {
		fmt.Println(err)
		return
	}
	port, _ := in.Bar.Port(60)
	r := &roll.Roll{Instrument: in, Slots: []roll.Slot{
		{LeadMM: 10, TrailMM: 11.7272, FirstMM: 10.8636, LastMM: 10.8636, Port: int32(port), Punches: 1},
		{LeadMM: 300, TrailMM: 301.7272, FirstMM: 300.8636, LastMM: 300.8636, Port: int32(port), Punches: 1},
	}}
	pages, err := Tiles(r, &Options{Title: "Two holes"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, d := range pages {
		for _, m := range d.Layer(MarksLayer, "").Marks {
			if t, ok := m.(*draw.Text); ok && strings.HasPrefix(t.Text, "from ") {
				fmt.Println(t.Text)
			}
		}
	}
	// Output:
	// from −30.0 mm to 140.0 mm · plays 0:00.0 to 0:03.4
	// from 130.0 mm to 300.0 mm · plays 0:03.2 to 0:07.4
	// from 290.0 mm to 460.0 mm · plays 0:07.1 to 0:11.3
}
