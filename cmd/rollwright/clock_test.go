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

func TestClockText(t *testing.T) {
	for c, want := range map[clock]string{
		0: "0 s", 12.5: "12.5 s", 31.71963046751356: "31.72 s", 59.9996: "1:00.0", 60: "1:00.0", 119.97: "2:00.0",
		3725.25: "1:02:05.3",
	} {
		if got := c.String(); got != want {
			t.Errorf("%v s is %q, want %q", float64(c), got, want)
		}
	}
}
