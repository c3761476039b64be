package draw

// Grey turns every ink of the drawing into the grey of its lightness, for print
// in one colour.
func (d *Drawing) Grey() {
	d.Ground = d.Ground.Grey()
	for _, l := range d.Layers {
		for _, m := range l.Marks {
			switch m := m.(type) {
			case *Text:
				m.Ink = m.Ink.Grey()
			case *Slots:
				m.Ink = m.Ink.Grey()
			case *Path:
				m.Fill, m.Stroke.Ink = m.Fill.Grey(), m.Stroke.Ink.Grey()
			}
		}
	}
}

// Grey is the grey of the ink's lightness, as opaque as the ink: the luma of
// ITU-R BT.601, nearest.
func (i Ink) Grey() Ink {
	y := uint8((299*int(i.R) + 587*int(i.G) + 114*int(i.B) + 500) / 1000)
	return Ink{R: y, G: y, B: y, A: i.A}
}
