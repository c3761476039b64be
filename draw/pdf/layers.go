package pdf

import (
	"fmt"
	"slices"
	"strings"

	"rollwright/draw"
)

// layers are the optional content groups (8.11): one for every layer ID, shared
// by all pages.
type layers struct {
	ids    []string
	names  map[string]string
	off    map[string]bool
	object map[string]int
}

func (l *layers) collect(e *encoder, pages []*draw.Drawing) {
	l.names, l.off, l.object = map[string]string{}, map[string]bool{}, map[string]int{}
	for _, d := range pages {
		for _, layer := range d.Layers {
			if _, ok := l.object[layer.ID]; ok {
				continue
			}
			l.ids = append(l.ids, layer.ID)
			l.names[layer.ID] = layer.Name()
			l.off[layer.ID] = layer.Off
			l.object[layer.ID] = e.reserve()
		}
	}
}

func (l *layers) write(e *encoder) {
	for _, id := range l.ids {
		e.object(l.object[id], "<</Type/OCG/Name %s>>", textString(l.names[id]))
	}
}

func (l *layers) resources() string {
	if len(l.ids) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("/Properties<<")
	for i, id := range l.ids {
		fmt.Fprintf(&b, "/L%d %d 0 R", i, l.object[id])
	}
	return b.String() + ">>"
}

// catalog is the catalog's entry for the groups: all of them, in order, those
// that are off.
func (l *layers) catalog() string {
	if len(l.ids) == 0 {
		return ""
	}
	var all, off strings.Builder
	for _, id := range l.ids {
		fmt.Fprintf(&all, "%d 0 R ", l.object[id])
		if l.off[id] {
			fmt.Fprintf(&off, "%d 0 R ", l.object[id])
		}
	}
	return fmt.Sprintf("/OCProperties<</OCGs[%s]/D<</Name(Layers)/Order[%s]/OFF[%s]/ON[]>>>>", all.String(), all.String(),
		off.String())
}

func (l *layers) index(id string) int { return slices.Index(l.ids, id) }

// alphas are the graphics states of inks that are not opaque (11.6.4.4).
type alphas struct {
	values []uint8
	object []int
}

func (a *alphas) collect(e *encoder, pages []*draw.Drawing) {
	add := func(i draw.Ink) {
		if i.A > 0 && i.A < 255 && !slices.Contains(a.values, i.A) {
			a.values = append(a.values, i.A)
		}
	}
	for _, d := range pages {
		add(d.Ground)
		for _, l := range d.Layers {
			for _, m := range l.Marks {
				switch m := m.(type) {
				case *draw.Slots:
					add(m.Ink)
				case *draw.Path:
					add(m.Fill)
					add(m.Stroke.Ink)
				case *draw.Text:
					add(m.Ink)
				}
			}
		}
	}
	if len(a.values) > 0 {
		a.values = append(a.values, 255)
	}
	slices.Sort(a.values)
	for range a.values {
		a.object = append(a.object, e.reserve())
	}
}

func (a *alphas) write(e *encoder) {
	for i, v := range a.values {
		e.object(a.object[i], "<</Type/ExtGState/ca %.4f/CA %.4f>>", float64(v)/255, float64(v)/255)
	}
}

func (a *alphas) resources() string {
	if len(a.values) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("/ExtGState<<")
	for i, v := range a.values {
		fmt.Fprintf(&b, "/A%d %d 0 R", v, a.object[i])
	}
	return b.String() + ">>"
}
