package main

import "testing"

func TestClock(t *testing.T) {
	for text, want := range map[string]clock{
		"12.5": 12.5, "12.5 s": 12.5, "90ms": 0.09, "1:20": 80, "2:05.5": 125.5, "0": 0,
	} {
		var c clock
		if err := c.UnmarshalText([]byte(text)); err != nil || c != want {
			t.Errorf("%q is %v, %v; want %v", text, float64(c), err, float64(want))
		}
	}
	for _, text := range []string{"", "-1", "1:60", "x", "NaN", "1e9", "1:2:3"} {
		var c clock
		if err := c.UnmarshalText([]byte(text)); err == nil {
			t.Errorf("%q is taken as %v", text, float64(c))
		}
	}
}
