package sheet_test

import (
	"math"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/internal/rollcases"
	"rollwright/paper/sheet"
	"rollwright/paper/tear"
)

// The weak line is drawn over every tile and over the long page, from edge to edge
// and on a layer of its own; its longest side on a drawing is as long as on the roll.
func TestWeakLinesAreDrawn(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"run\" {\n  talea = \"16\"\n  color = \"gliss(A0 C8 chromatic)\"\n}\n")[0]
	lines := tear.Below(r, r.Instrument.Paper.LineMM())
	if len(lines) != 1 {
		t.Fatalf("%d lines", len(lines))
	}
	o := &sheet.Options{Weak: lines}
	page, err := sheet.Long(r, o)
	if err != nil {
		t.Fatal(err)
	}
	from, to := lines[0].Span()
	if box := boxOf(weakLayer(t, page)); math.Abs(box.Max.X-box.Min.X-(to-from)) > 1e-6 ||
		math.Abs(box.Max.Y-box.Min.Y-r.Instrument.Paper.WidthMM) > 1e-6 {
		t.Errorf("drawn in %v, the line goes from %g to %g", box, from, to)
	}
	tiles, err := sheet.Tiles(r, o)
	if err != nil {
		t.Fatal(err)
	}
	drawn := 0
	for _, tile := range tiles {
		if layer := weakLayer(t, tile); layer != nil {
			drawn++
		}
	}
	if drawn == 0 {
		t.Error("on no tile")
	}
	picture, _, err := sheet.Preview(r, &sheet.Look{Weak: lines, Strips: 2})
	if err != nil {
		t.Fatal(err)
	}
	if box := boxOf(weakLayer(t, picture)); box.Max.Y-box.Min.Y < r.Instrument.Paper.WidthMM {
		t.Errorf("drawn on the picture in %v", box)
	}
	bare, _, err := sheet.Preview(r, nil)
	if err != nil || weakLayer(t, bare) != nil {
		t.Errorf("drawn on a picture without being asked for (%v)", err)
	}
	plain, err := sheet.Long(r, nil)
	if err != nil || weakLayer(t, plain) != nil {
		t.Errorf("drawn without being asked for (%v)", err)
	}
}

func weakLayer(t *testing.T, d *draw.Drawing) *draw.Layer {
	t.Helper()
	for _, l := range d.Layers {
		if l.ID == sheet.WeakLayer {
			return l
		}
	}
	return nil
}

func boxOf(l *draw.Layer) draw.Rect {
	box := draw.Rect{Min: draw.Point{X: math.Inf(1), Y: math.Inf(1)},
		Max: draw.Point{X: math.Inf(-1), Y: math.Inf(-1)}}
	for _, m := range l.Marks {
		p, ok := m.(*draw.Path)
		if !ok || !strings.HasPrefix(p.Title, "weak line: ") {
			continue
		}
		for _, s := range p.Steps {
			box.Min.X, box.Max.X = min(box.Min.X, s.P[0].X), max(box.Max.X, s.P[0].X)
			box.Min.Y, box.Max.Y = min(box.Min.Y, s.P[0].Y), max(box.Max.Y, s.P[0].Y)
		}
	}
	return box
}

// TestWeakWordsKeepClear: of a line that begins at time 0 the words on a tile lie
// beside the row of time 0 and its words, not over them.
func TestWeakWordsKeepClear(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"run\" {\n  talea = \"16\"\n  color = \"gliss(A0 C8 chromatic)\"\n}\n")[0]
	tiles, err := sheet.Tiles(r, &sheet.Options{Weak: tear.Below(r, r.Instrument.Paper.LineMM())})
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for _, d := range tiles {
		var zero, words []draw.Rect
		for _, l := range d.Layers {
			for _, m := range l.Marks {
				text, ok := m.(*draw.Text)
				switch {
				case ok && text.Text == "time 0":
					zero = append(zero, text.Bounds())
				case ok && strings.HasPrefix(text.Text, "weak line"):
					words = append(words, text.Bounds())
				case !ok && draw.NameOf(m).Title == "the row that lies on the bar at time 0":
					for _, s := range m.(*draw.Path).Steps {
						zero = append(zero, draw.Box(d.Frame.Min.X, s.P[0].Y, d.Frame.Max.X, s.P[0].Y))
					}
				}
			}
		}
		told += len(words)
		for _, w := range words {
			for _, z := range zero {
				if w.Overlaps(z) {
					t.Errorf("the words at %v lie over %v", w, z)
				}
			}
		}
	}
	if told == 0 {
		t.Error("no words on any tile")
	}
}
