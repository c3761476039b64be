package punching_test

import (
	"math"
	"testing"

	"rollwright/making/punching"
)

// Whatever a person types as a slip: what is read names a port of the bar and a
// finite length; what is noted is on the paper.
func FuzzSlip(f *testing.F) {
	for _, text := range []string{"32", "D3", "Bb3 @ 117.5", "D3 @ 4 5/8 in", "missed 18", "row 12", "row @ 14.4", "row 1:20.5",
		"32 @ -1e308", "@", "18 @ 1e999", "D3 @ nan", "\x1b[2J"} {
		f.Add(text)
	}
	p := plan(f, twoNotes)
	j := open(f, f.TempDir())
	s, err := punching.New(p, j, noon)
	must(f, err)
	f.Fuzz(func(t *testing.T, text string) {
		port, mm, err := s.ParseSlip(text)
		if err == nil && (port < 0 || port >= len(p.Roll.Instrument.Bar.Ports) || math.IsNaN(mm) || math.IsInf(mm, 0)) {
			t.Errorf("%q is port %d at %v mm", text, port, mm)
		}
		if said, err := s.Note(text); err == nil && said == "" {
			t.Errorf("%q is taken down, and nothing is said", text)
		}
	})
}
