package main

import "testing"

func TestSizeNote(t *testing.T) {
	for bytes, want := range map[int64]string{
		0: "", 499_999_999: "",
		3_200_244_732: "a.wav will have about 3.2 GB; Ctrl-C stops it and leaves nothing",
	} {
		if got := sizeNote("a.wav", bytes); got != want {
			t.Errorf("%d bytes: %q, want %q", bytes, got, want)
		}
	}
}
