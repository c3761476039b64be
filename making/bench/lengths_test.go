package bench_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"rollwright/making/bench"
)

// 117.475 mm is 4.625 in, 4 5/8 in (an inch is 25.4 mm exactly).
func TestLengths(t *testing.T) {
	for _, c := range []struct {
		mm                     float64
		metric, sixty, decimal string
	}{
		{117.475, "117.48 mm", "4 5/8 in", "4.625 in"},
		{0, "0.00 mm", "0 in", "0.000 in"},
		{-0.001, "0.00 mm", "0 in", "0.000 in"},
		{25.4, "25.40 mm", "1 in", "1.000 in"},
		{12.7, "12.70 mm", "1/2 in", "0.500 in"},
		{0.396875, "0.40 mm", "1/64 in", "0.016 in"}, // 25.4/64
		{0.198, "0.20 mm", "0 in", "0.008 in"},       // just under half a 64th
		{0.199, "0.20 mm", "1/64 in", "0.008 in"},    // just over
		{-6.35, "-6.35 mm", "-1/4 in", "-0.250 in"},
		{609.6, "609.60 mm", "24 in", "24.000 in"},
	} {
		got := [3]string{bench.Millimetres.With(c.mm), bench.Inches64.With(c.mm), bench.InchesDecimal.With(c.mm)}
		if want := [3]string{c.metric, c.sixty, c.decimal}; got != want {
			t.Errorf("%g mm: %v, want %v", c.mm, got, want)
		}
	}
	if got := bench.Inches64.Long(12344.4); got != "40 ft 6 in" { // 486 in
		t.Errorf("12344.4 mm: %s", got)
	}
}

func TestParseLength(t *testing.T) {
	for text, want := range map[string]float64{
		"2 mm": 2, "2mm": 2, "1.5 m": 1500, "3 cm": 30, "1/8 in": 3.175, "0.125in": 3.175, "4 5/8 in": 117.475, "1 ft": 304.8,
		"1/3 in": 25.4 / 3,
	} {
		if got, ok := bench.ParseLength(text); !ok || got != want {
			t.Errorf("%q: %v %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "2", "mm", "-2 mm", "4 5 in", "4 5/8 9 in", "4 -5/8 in", "1.5 1/2 in", "x in",
		"1/0 in", "nan mm", "1e400 m"} {
		if got, ok := bench.ParseLength(text); ok {
			t.Errorf("%q was read as %v mm", text, got)
		}
	}
}

// What is written in 64ths reads back to the nearest 64th.
func TestLengthsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 1_000_000).Draw(t, "64ths")
		mm := float64(n) * 25.4 / 64
		if got, ok := bench.ParseLength(bench.Inches64.With(mm)); !ok || math.Abs(got-mm) > 1e-9 {
			t.Fatalf("%s reads back to %v mm, was %v", bench.Inches64.With(mm), got, mm)
		}
	})
}
