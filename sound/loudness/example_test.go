package loudness_test

import (
	"fmt"
	"math"

	"rollwright/sound/loudness"
)

func ExampleMeter() {
	m, err := loudness.NewMeter(48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	tone := make([]float32, 5*48000) // 997 Hz, full scale, left channel only
	for i := range tone {
		tone[i] = float32(math.Sin(2 * math.Pi * 997 * float64(i) / 48000))
	}
	m.Write(tone, make([]float32, len(tone)))
	r := m.Record()
	fmt.Printf("%.2f LUFS, %.1f dBTP\n", r.Integrated(), loudness.DB(r.TruePeak())+0)
	// Output: -3.01 LUFS, 0.0 dBTP
}
