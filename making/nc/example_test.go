package nc_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/making/nc"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
)

func Example() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "low"}}}
	events := slices.Values([]event.Event{{StartSec: 0, EndSec: 0, Note: 1, Key: 60, Level: 80, Single: true}})
	rolls, err := lay.Out(p, events, []*instrument.Instrument{in}, lay.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	laser, err := machine.Load("laser", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	beds, err := bed.New(rolls[0], laser, bed.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var b bytes.Buffer
	if err := nc.Encode(&b, beds, &beds.Beds[0], nc.Options{Title: "One hole"}); err != nil {
		fmt.Println(err)
		return
	}
	_, moves, _ := strings.Cut(b.String(), "G21\n")
	fmt.Print(moves)
	// Output:
	// M5
	// G0 X10.8636 Y194.7864
	// M3 S300
	// G3 X10.8636 Y196.3636 I0.0 J0.7886 F900.0
	// G3 X10.8636 Y194.7864 I0.0 J-0.7886
	// M5
	// M5
	// G0 X0.0 Y0.0
	// M2
	// %
}
