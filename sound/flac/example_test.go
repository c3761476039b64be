package flac_test

import (
	"bytes"
	"fmt"

	"rollwright/sound/flac"
)

func ExampleWriter() {
	var file bytes.Buffer
	w, err := flac.NewWriter(&file, flac.Format{Rate: 48000, Channels: 2, Bits: 16, Title: "Tidewheel"})
	if err != nil {
		fmt.Println(err)
		return
	}
	left, right := make([]float32, 48000), make([]float32, 48000)
	if err := w.Write(left, right); err != nil {
		fmt.Println(err)
	}
	if err := w.Close(); err != nil {
		fmt.Println(err)
	}
	fmt.Printf("%s, a second of silence in %d bytes\n", file.Bytes()[:4], file.Len())
	// Output: fLaC, a second of silence in 253 bytes
}
