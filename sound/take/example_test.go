package take_test

import (
	"bytes"
	"context"
	"fmt"
	"math"

	"rollwright/sound/take"
	"rollwright/sound/wav"
)

// A second of a tone in stereo, the right channel silent: one channel of half the
// strength, at a quarter of the rate.
func ExampleFrom() {
	const rate = 48_000
	left, right := make([]float32, rate), make([]float32, rate)
	for i := range left {
		left[i] = float32(0.5 * math.Sin(2*math.Pi*440*float64(i)/rate))
	}
	var file bytes.Buffer
	w, err := wav.NewWriter(&file, wav.Format{Rate: rate, Channels: 2, Bits: 16, Frames: rate})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := w.Write(left, right); err != nil {
		fmt.Println(err)
	}
	if err := w.Close(); err != nil {
		fmt.Println(err)
	}
	t, err := take.From(context.Background(), "tone.wav", bytes.NewReader(file.Bytes()))
	if err != nil {
		fmt.Println(err)
		return
	}
	squares := 0.0
	for _, x := range t.Samples {
		squares += float64(x) * float64(x)
	}
	peak := math.Sqrt(2 * squares / float64(len(t.Samples)))
	fmt.Printf("%.0f frames a second, %.2f s, peak %.2f\n", t.Rate, t.Sec(), peak)
	// Output:
	// 12000 frames a second, 1.00 s, peak 0.25
}
