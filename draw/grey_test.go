package draw

import "testing"

// Luma of ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B.
func TestGrey(t *testing.T) {
	for _, c := range []struct{ ink, want Ink }{
		{White, White}, {Black, Black}, {Hex(0xff0000), Hex(0x4c4c4c)}, {Hex(0x00ff00), Hex(0x969696)}, {Ink{0, 0, 255, 7}, Ink{29, 29, 29, 7}},
	} {
		if got := c.ink.Grey(); got != c.want {
			t.Errorf("%v becomes %v, want %v", c.ink, got, c.want)
		}
	}
	d := &Drawing{Ground: Paper}
	d.Layer("a", "").Add(&Text{Ink: Brass}, &Slots{Ink: Brass}, &Path{Fill: Brass, Stroke: Hair(Brass)})
	d.Grey()
	g := Brass.Grey()
	m := d.Layers[0].Marks
	if d.Ground != Paper.Grey() || m[0].(*Text).Ink != g || m[1].(*Slots).Ink != g || m[2].(*Path).Fill != g ||
		m[2].(*Path).Stroke.Ink != g {
		t.Errorf("%+v", d)
	}
}
