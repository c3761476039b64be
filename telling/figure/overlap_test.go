package figure_test

import (
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/examples"
	"rollwright/telling/figure"
)

// TestNoWordsOverlap looks at every figure of every example: no word lies over
// another. A word is taken as its letters' breadth and half its size.
func TestNoWordsOverlap(t *testing.T) {
	for _, e := range examples.List() {
		text, err := examples.Source(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		in := input(t, string(text))
		for _, kind := range figure.Kinds() {
			for _, size := range []figure.Size{figure.Page, figure.Slide} {
				f, err := figure.Draw(kind.Name, in, figure.Options{Size: size})
				if err != nil {
					continue // a piece that has no such figure
				}
				var words []*draw.Text
				for _, l := range f.Drawing.Layers {
					for _, m := range l.Marks {
						if w, ok := m.(*draw.Text); ok && w.Face != typeface.Music && w.TurnDeg == 0 && strings.TrimSpace(w.Text) != "" &&
							w.SizeMM > 0 {
							words = append(words, w)
						}
					}
				}
				for i, a := range words {
					for _, b := range words[:i] {
						if over(a, b) {
							t.Errorf("%s, %s, size %d: %q lies over %q", e.Name, kind.Name, size, a.Text, b.Text)
						}
					}
				}
			}
		}
	}
}

// over reports whether two level words share a place.
func over(a, b *draw.Text) bool {
	box := func(w *draw.Text) draw.Rect {
		x := w.At.X + w.StartMM()
		return draw.Box(x+0.05*w.SizeMM, w.At.Y-0.6*w.SizeMM, x+w.WidthMM()-0.05*w.SizeMM, w.At.Y)
	}
	p, q := box(a), box(b)
	return p.Min.X < q.Max.X && q.Min.X < p.Max.X && p.Min.Y < q.Max.Y && q.Min.Y < p.Max.Y
}
