package figure

import "rollwright/draw"

// enlarge multiplies every length of a figure.
func enlarge(f *Figure, by float64) {
	d := f.Drawing
	d.Frame = largerRect(d.Frame, by)
	d.UpMM *= by
	for _, l := range d.Layers {
		if l.Clip != nil {
			clip := largerRect(*l.Clip, by)
			l.Clip = &clip
		}
		for _, m := range l.Marks {
			enlargeMark(m, by)
		}
	}
	for _, a := range []*Axis{f.Time, f.Units} {
		if a != nil {
			a.FromMM, a.ToMM = a.FromMM*by, a.ToMM*by
		}
	}
	for i := range f.Wheels {
		w := &f.Wheels[i]
		w.Centre, w.RadiusMM = larger(w.Centre, by), w.RadiusMM*by
	}
}

func enlargeMark(m draw.Mark, by float64) {
	switch m := m.(type) {
	case *draw.Text:
		m.At = larger(m.At, by)
		m.SizeMM *= by
	case *draw.Slots:
		m.WidthMM *= by
		for i := range m.Segments {
			s := &m.Segments[i]
			s.X1, s.Y1, s.X2, s.Y2 = s.X1*by, s.Y1*by, s.X2*by, s.Y2*by
		}
	case *draw.Path:
		for i := range m.Steps {
			for j := range m.Steps[i].P {
				m.Steps[i].P[j] = larger(m.Steps[i].P[j], by)
			}
		}
		m.Stroke.WidthMM *= by
		dashes := make([]float64, len(m.Stroke.DashMM)) // patterns may be shared
		for i, dash := range m.Stroke.DashMM {
			dashes[i] = dash * by
		}
		if len(dashes) > 0 {
			m.Stroke.DashMM = dashes
		}
	}
}

func larger(p draw.Point, by float64) draw.Point { return draw.Point{X: p.X * by, Y: p.Y * by} }

func largerRect(r draw.Rect, by float64) draw.Rect {
	return draw.Rect{Min: larger(r.Min, by), Max: larger(r.Max, by)}
}
