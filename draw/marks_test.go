package draw

import (
	"testing"

	"rollwright/draw/typeface"
)

func TestLabels(t *testing.T) {
	for _, tt := range []struct {
		got  *Text
		face typeface.Face
		ink  Ink
	}{
		{Label(3, 4, 2.5, "A0", End), typeface.Sans, InkDark},
		{Bold(3, 4, 2.5, "A0", End), typeface.SansBold, InkDark},
		{Second(Serif(3, 4, 2.5, "A0", End)), typeface.Serif, InkSecond},
	} {
		want := Text{At: Point{3, 4}, Text: "A0", SizeMM: 2.5, Face: tt.face, Ink: tt.ink, Anchor: End}
		if *tt.got != want {
			t.Errorf("%+v, want %+v", *tt.got, want)
		}
	}
}

// A ruler of 100 mm downwards has eleven ticks to its right, which is the left of
// the page: the long ones, 2.4 mm, at 0, 50 and 100. At scale 1.01 it is 101 mm
// long. Half of the hairline, 0.125 mm, goes beyond on every side.
func TestRuler(t *testing.T) {
	if got, _ := Ruler(10, 20, 0, 1, 100, 1.01).Bounds(); got != (Rect{Point{7.6 - 0.125, 20 - 0.125},
		Point{10.125, 121.125}}) {
		t.Errorf("a ruler within %v", got)
	}
}

// An arrow to the right ends at its tip; its head of 3 mm is 2 x 0.36 x 3 =
// 2.16 mm wide, and the hairline goes beyond as above.
func TestArrow(t *testing.T) {
	if got, _ := Arrow(0, 0, 20, 0, 3).Bounds(); got != (Rect{Point{-0.125, -1.08 - 0.125}, Point{20.125, 1.08 + 0.125}}) {
		t.Errorf("an arrow within %v", got)
	}
}
