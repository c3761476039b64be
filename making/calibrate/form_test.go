package calibrate

import (
	"strings"
	"testing"

	"rollwright/draw"
)

// TestForm: two pages that can be drawn, on which every mark and every try
// stands; a long roll takes more.
func TestForm(t *testing.T) {
	for _, letter := range []bool{false, true} {
		test, err := NewTest(load(t, "88-note"), Options{})
		if err != nil {
			t.Fatal(err)
		}
		pages := test.Form(FormOptions{Instrument: "88-note", Letter: letter})
		if len(pages) != 2 {
			t.Errorf("%d pages", len(pages))
		}
		var words []string
		for _, p := range pages {
			if err := p.Check(); err != nil {
				t.Fatal(err)
			}
			for _, l := range p.Layers {
				for _, m := range l.Marks {
					if text, ok := m.(*draw.Text); ok {
						words = append(words, text.Text)
						if b := text.Bounds(); b.Max.X > p.Frame.Max.X-5 || b.Max.Y > p.Frame.Max.Y-5 {
							t.Errorf("%q runs off the page", text.Text)
						}
					}
				}
			}
		}
		all := strings.Join(words, "\n")
		for _, want := range []string{"12: 12000 mm", "10: 5.33 mm", "13: 16.0 a second", "24 notes", "18: 3.70 mm",
			"local codes", "Set the tempo lever to 80"} {
			if !strings.Contains(all, want) {
				t.Errorf("the form does not say %q", want)
			}
		}
	}
	test, err := NewTest(load(t, "88-note"), Options{LengthMM: 30_000})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(test.Form(FormOptions{})); n != 3 {
		t.Errorf("30 m: %d pages", n)
	}
}
