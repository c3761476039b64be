package wav_test

import (
	"bytes"
	"fmt"

	"rollwright/sound/wav"
)

func ExampleNewWriter() {
	var file bytes.Buffer
	w, err := wav.NewWriter(&file, wav.Format{Rate: 48000, Channels: 2, Bits: 24, Frames: 2, Title: "Tidewheel"})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := w.Write([]float32{0.5, -0.5}, []float32{0.25, 1}); err != nil {
		fmt.Println(err)
	}
	if err := w.Close(); err != nil {
		fmt.Println(err)
	}
	s, err := wav.Decode(&file)
	if err != nil {
		fmt.Println(err)
	}
	fmt.Println(s.Title, s.Rate, s.Bits, s.Ints)
	// Output: Tidewheel 48000 24 [4194304 2097152 -4194304 8388607]
}
