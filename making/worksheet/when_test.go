package worksheet_test

import (
	"fmt"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/making/worksheet"
)

// TestTimeInThePiece: every row of one column says its time, in the row's own line and
// beside no other words; two columns say it above each; without one nothing is said.
func TestTimeInThePiece(t *testing.T) {
	var wide, narrow []rollcases.Note
	for i := range 60 {
		for k := range 8 {
			wide = append(wide, rollcases.Note{float64(30 + 5*k), float64(i), float64(i)})
		}
		narrow = append(narrow, rollcases.Note{60, float64(i), float64(i) + 0.5})
	}
	when := func(mm float64) string { return fmt.Sprintf("at %.1f", mm) }
	for name, notes := range map[string][]rollcases.Note{"wide": wide, "narrow": narrow} {
		p, err := bench.Load("crank-2mm", "")
		if err != nil {
			t.Fatal(err)
		}
		plan, err := bench.New(rollcases.Lay(t, nil, notes...), p)
		if err != nil {
			t.Fatal(err)
		}
		said, pages := 0, worksheet.Pages(plan, worksheet.Options{When: when})
		for _, d := range pages[1 : len(pages)-1] {
			var all []*draw.Text
			for _, l := range d.Layers {
				for _, m := range l.Marks {
					if text, ok := m.(*draw.Text); ok {
						all = append(all, text)
					}
				}
			}
			for i, text := range all {
				if !strings.HasPrefix(text.Text, "at ") && !strings.Contains(text.Text, " · from at ") {
					continue
				}
				said++
				for k, other := range all {
					if k != i && text.Bounds().Overlaps(other.Bounds()) {
						t.Errorf("%s: %q lies over %q", name, text.Text, other.Text)
					}
				}
			}
		}
		if name == "wide" && said != len(plan.Rows) || name == "narrow" && (said < 2 || said >= len(plan.Rows)) {
			t.Errorf("%s: said %d times for %d rows on %d pages", name, said, len(plan.Rows), len(pages)-2)
		}
		for _, d := range worksheet.Pages(plan, worksheet.Options{}) {
			for _, l := range d.Layers {
				for _, m := range l.Marks {
					if text, ok := m.(*draw.Text); ok && text.Text == "in the piece" {
						t.Errorf("%s: a head without times", name)
					}
				}
			}
		}
	}
}
