package price_test

import (
	"regexp"
	"strings"
	"testing"

	"rollwright/making/bench"
	"rollwright/making/price"
)

// Three voices of 61 s, 61 s and 58 s are 180 s, 3 min, but rounded up each they
// would be 2, 2 and 1 min: the column adds up to what stands below it.
func TestMinutesAddUp(t *testing.T) {
	pace := bench.Pace{StrokeSec: 1}
	b := price.Bill{Bench: "b", Pace: pace, Whole: price.Cost{Slots: 3, Punches: 180, Rows: 180, WorkSec: 180}}
	for i, n := range []int{61, 61, 58} {
		c := price.Cost{Slots: 1, Punches: n, Rows: n, WorkSec: float64(n)}
		name := string(rune('a' + i))
		b.Voices = append(b.Voices, price.Voice{Name: name, Cost: c, Lines: []price.Line{{Voice: name, Hold: "1",
			What: price.Notes, Cost: c}}})
	}
	var out strings.Builder
	if err := price.WriteText(&out, &b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`a, hold 1 +1 +61 +61  1 min`, `b, hold 1 +1 +61 +61  1 min`,
		`c, hold 1 +1 +58 +58  1 min`, `together +3 +180 +180  3 min`} {
		if !regexp.MustCompile(want).MatchString(out.String()) {
			t.Errorf("no %q in\n%s", want, out.String())
		}
	}
}
