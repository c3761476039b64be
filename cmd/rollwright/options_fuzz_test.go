package main

import (
	"math"
	"testing"
)

// Whatever stands in an option for a time, a length or a resolution: what is read
// is finite and within its range.
func FuzzOptions(f *testing.F) {
	for _, text := range []string{"12.5", "1:20.5", "90ms", "20m", "60 ft", "4 5/8 in", "300x150", "300", "0x1p99999", "1e309",
		"nan", "-0", "1:60", "65535:59.999", "1_0", "٣"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		var c clock
		if err := c.UnmarshalText([]byte(text)); err == nil && !(c >= 0 && c < 1e7) {
			t.Errorf("%q is %v s", text, float64(c))
		}
		var l lengthFlag
		if err := l.UnmarshalText([]byte(text)); err == nil && !(l > 0 && !math.IsInf(float64(l), 0)) {
			t.Errorf("%q is %v mm", text, float64(l))
		}
		if along, across, err := parseDPI(text); err == nil && text != "" &&
			!(along >= leastDPI && along <= mostDPI && across >= leastDPI && across <= mostDPI) {
			t.Errorf("%q is %v by %v dpi", text, along, across)
		}
	})
}
