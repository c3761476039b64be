package tempo_test

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/tempo"
)

// A line in semiquavers that goes from 60 to 240 quarter notes a minute over
// 64 of them, each 1.022 times as fast as the one before, and then on at 240.
func Example() {
	path, err := tempo.New([]tempo.Leg{{
		From: exact.Frac(60, 1), HasFrom: true,
		To: exact.Frac(240, 1), HasTo: true,
		OverUnits: exact.Int(64),
		Shape:     tempo.Geometric,
	}}, exact.Frac(120, 1), exact.NewRat(1, 16), exact.Frac(1, 1))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, units := range []float64{0, 16, 32, 64, 80} {
		fmt.Printf("unit %2.0f at %6.3f s, tempo %5.1f\n", units, path.Seconds(units), path.Tempo(units))
	}
	fmt.Printf("after 5 s: unit %.2f\n", path.Units(5))
	// Output:
	// unit  0 at  0.000 s, tempo  60.0
	// unit 16 at  3.380 s, tempo  84.9
	// unit 32 at  5.771 s, tempo 120.0
	// unit 64 at  8.656 s, tempo 240.0
	// unit 80 at  9.656 s, tempo 240.0
	// after 5 s: unit 26.21
}

func ExampleConstant() {
	path := tempo.Constant(exact.Frac(120, 1), exact.NewRat(1, 16), exact.MustParse("sqrt(31)/4"))
	each, _ := path.SecondsPerUnit()
	fmt.Printf("a unit lasts %v s, a hundred last %.9f s\n", each, path.Seconds(100))
	// Output:
	// a unit lasts sqrt(31)/62 s, a hundred last 8.980265101 s
}

// Each note 5 % shorter than the one before.
func ExampleEachNote() {
	shorter := tempo.NewEachNote(exact.Frac(95, 100))
	fmt.Printf("ten notes from 1 s: %.3f s; for ever: %.0f s\n", shorter.Sum(1, 10), shorter.Limit(1))
	fmt.Printf("after 15 s, %.1f notes\n", shorter.Count(1, 15))
	// Output:
	// ten notes from 1 s: 8.025 s; for ever: 20 s
	// after 15 s, 27.0 notes
}
