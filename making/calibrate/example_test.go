package calibrate

import (
	"fmt"

	"rollwright/paper/instrument"
	"rollwright/text/source"
)

func Example() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := Read(&source.File{Name: "hall.readings", Text: []byte(`
instrument = "88-note"
mark "0 m" { heard = "0.0" }
mark "2 m" { heard = "50.3" }
mark "4 m" { heard = "100.2" }
mark "6 m" { heard = "150.4" }
mark "8 m" { heard = "200.6" }
`)})
	if err != nil {
		fmt.Println(err)
		return
	}
	result, err := Calibrate(in, r)
	if err != nil {
		fmt.Println(err)
		return
	}
	f := result.Fit
	fmt.Printf("%.2f mm/s, give or take %.2f; the lever promised %.2f\n", f.Speed.Value, f.Speed.Half,
		in.Transport.SpeedMMPerSec())
	// Output:
	// 39.90 mm/s, give or take 0.08; the lever promised 40.64
}
