package strip_test

import (
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/internal/rollcases"
	"rollwright/paper/inspect"
	"rollwright/paper/strip"
)

// TestSheets: on paper stand the doubts of the form with the same names, each with two
// boxes to tick, whole on a page of either size; a long form goes on on more pages.
func TestSheets(t *testing.T) {
	text := `tempo = 60
voice "fast" {
  line = "C5:1 repeat(C5 14/s):4"
}
`
	f, _ := rollcases.Performed(t, text)
	rolls := rollcases.Rolls(t, text)
	s, err := strip.Make(rolls[0], inspect.All(f.Piece, rolls), strip.Options{LongestMM: 1000})
	if err != nil {
		t.Fatal(err)
	}
	doubts := len(s.Windows[0].Doubts)
	for range 30 {
		s.Windows = append(s.Windows, s.Windows[0])
	}
	for _, letter := range []bool{false, true} {
		pages := s.Sheets("Looms", letter)
		names, boxes := 0, 0
		for _, p := range pages {
			if err := p.Check(); err != nil {
				t.Fatal(err)
			}
			for _, m := range p.Layers[0].Marks {
				switch m := m.(type) {
				case *draw.Text:
					if b := m.Bounds(); b.Max.X > p.Frame.Max.X-10 || b.Max.Y > p.Frame.Max.Y-10 {
						t.Errorf("%q runs off the page", m.Text)
					}
					if strings.HasPrefix(m.Text, "A1") {
						names++
					}
				case *draw.Path:
					if len(m.Steps) == 5 {
						boxes++
					}
				}
			}
		}
		if len(pages) < 2 || names != 31 || boxes != 31*2*doubts {
			t.Errorf("letter %v: %d pages, A1 %d times, %d boxes for %d doubts", letter, len(pages), names, boxes, 31*doubts)
		}
	}
}
