package inspect_test

import (
	"math"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/paper/inspect"
)

// A run over all keys in a quarter second: 87 spaces of 25.4/9 mm less the die of
// 1.7272 mm, a little more for its slant, and the margins on both sides.
func TestWeakLine(t *testing.T) {
	text := "voice \"run\" {\n  talea = \"4 (12)\"\n  color = \"gliss(A0 C8 chromatic)\"\n  extent = \"2 taleae\"\n}\n"
	f, _ := rollcases.Performed(t, text)
	rolls := rollcases.Rolls(t, text)
	in := rolls[0].Instrument
	var found []inspect.Finding
	for f := range inspect.All(f.Piece, rolls) {
		if f.Kind == inspect.WeakLine {
			found = append(found, f)
		}
	}
	if len(found) != 2 {
		t.Fatalf("%d weak lines, want one for each run", len(found))
	}
	step := rolls[0].Slots[1].FirstMM - rolls[0].Slots[0].FirstMM
	low, high := in.Bar.Ports[rolls[0].Slots[0].Port].AcrossMM, in.Bar.Ports[rolls[0].Slots[87].Port].AcrossMM
	straight := low + in.Paper.WidthMM - high - in.Die.DiameterMM + 87*(25.4/9-in.Die.DiameterMM)
	slanted := low + in.Paper.WidthMM - high - in.Die.DiameterMM + 87*(math.Hypot(25.4/9, step+0.02)-in.Die.DiameterMM)
	first := found[0]
	if first.Value < straight || first.Value > slanted || first.Severity != inspect.Risks || first.At.Line != 3 {
		t.Errorf("%+v, want %g to %g mm", first, straight, slanted)
	}
	if got := first.Message(); !strings.Contains(got, "mm of paper are left on a line from edge to edge") ||
		!strings.Contains(got, "% of the width") {
		t.Error(got)
	}
	if remedy := first.Remedy(); remedy != "" {
		t.Errorf("a remedy that nobody tried: %s", remedy)
	}
}
