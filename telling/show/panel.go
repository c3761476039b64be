package show

import (
	"math"
	"slices"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/telling/figure"
)

// On the page a figure shares its side with title, text and counters. There it
// is a copy whose type can be read in a hall: its letters are made larger where
// they stand, what the page says elsewhere is left out, and charts are
// stretched to the height that there is. Whole figures are for the handout and
// for the screen that shows nothing else.

// hallPixels is the size of type that is read from the last row, on a page of
// 1280 by 720 pixels.
const hallPixels = 28

// panel is what the page has for a figure, in pixels of a page of 1280 by 720.
type panel struct {
	wide, high float64
	alone      bool // no counters say what the figure says
}

// Sizes of page.css, in the same pixels.
const (
	sideWide        = 0.59*1280 - 2*30
	sideHigh        = 720 - 52 - 22 - 8
	titlePixels     = 46
	firstPixels     = 72 // the title of the first step
	firstTextPixels = 32
	textPixels      = 30
	stepGap         = 12
	figurePadding   = 2 * 8
)

// panelOf is the room of a figure beside so much else: high is what that takes.
func panelOf(s *Step, high float64) panel {
	size, text := float64(titlePixels), itoa(s.Number)+" "+s.Title
	if s.Kind == Title {
		size, text = firstPixels, s.Title
	}
	title := float64(len(typeface.Serif.Wrap(text, size, sideWide))) * size * 1.1
	return panel{wide: sideWide - figurePadding, high: max(120, sideHigh-title-high-2*stepGap-figurePadding)}
}

// reading is the panel while the audience reads the step's text.
func reading(s *Step) panel {
	high, size := 0.0, float64(textPixels)
	if s.Kind == Title {
		size = firstTextPixels
	}
	for _, p := range s.Text {
		high += float64(len(typeface.Sans.Wrap(p, size, sideWide)))*size*1.3 + 10
	}
	return panelOf(s, high)
}

// sounds is the panel while the step sounds.
func sounds(s *Step) panel {
	switch {
	case s.Hear == Nothing:
		return reading(s)
	case len(s.Voices) == 1 && (s.Hear == Rhythm || s.Hear == Knock):
		return panelOf(s, 150+60+50+30+42)
	case len(s.Voices) == 1:
		return panelOf(s, 2*92+10)
	}
	high := 0.0
	switch n := len(s.Voices); { // rows of the counters
	case n <= 6:
		high = float64(n) * (36.4 + 4)
	case n <= 12:
		high = float64((n+1)/2) * (28.6 + 4)
	}
	if s.Kind == Meeting {
		high += 54*1.1 + 10
	}
	return panelOf(s, high)
}

// fit is a copy of a figure for a panel.
func (p panel) fit(f *figure.Figure) *figure.Figure {
	g := &growth{figure: f, type0: math.Inf(1), alone: p.alone}
	g.take()
	if g.type0 == math.Inf(1) {
		return f // without letters
	}
	grow, stretch := 1.0, 1.0
	for range 12 { // each changes the room of the other
		box := inked(g.drawing(grow, stretch))
		scale := min(p.wide/box.W(), p.high/box.H())
		if g.stretches() {
			stretch = min(4, max(0.5, stretch*math.Sqrt(box.W()/box.H()*p.high/p.wide)))
		}
		grow = min(g.most(), max(1, hallPixels/(g.type0*scale)))
	}
	if g.collide(grow, stretch) {
		g.thin()
	}
	for grow > 1.02 && g.collide(grow, stretch) {
		grow = max(1, grow*0.96)
	}
	copied := *f
	copied.Drawing = g.drawing(grow, stretch)
	return &copied
}

// growth makes the letters of a figure larger, and the figure higher.
type growth struct {
	figure *figure.Figure
	layers []*draw.Layer // without what a panel leaves out
	type0  float64       // size of its letters, the smallest
	alone  bool          // as panel has it
	top    float64       // of a chart, without what is written above it
	bottom float64       // of a chart, without what is written below it
}

// take keeps what a panel shows, and finds the size of its letters.
func (g *growth) take() {
	g.top, g.bottom = g.plot()
	for _, l := range g.figure.Drawing.Layers {
		kept := *l
		kept.Marks = slices.DeleteFunc(slices.Clone(l.Marks), func(m draw.Mark) bool { return g.leaves(l, m) })
		g.layers = append(g.layers, &kept)
		for _, m := range kept.Marks {
			if t, ok := letters(m); ok && t.Text != "" {
				g.type0 = min(g.type0, t.SizeMM)
			}
		}
	}
}

// letters is a mark as text in a face of letters; music has its own sizes.
func letters(m draw.Mark) (*draw.Text, bool) {
	t, ok := m.(*draw.Text)
	return t, ok && t.Face != typeface.Music
}

// leaves reports whether a panel leaves a mark out: what the counters beside
// the figure say, and what is too small to be read there.
func (g *growth) leaves(l *draw.Layer, m draw.Mark) bool {
	t, isText := letters(m)
	switch g.figure.Kind {
	case "wheels":
		return !g.alone && isText && l.ID == "heads" && t.ID != "counts"
	case "lines":
		return isText && (l.ID == "rows" || l.ID == "meetings" && t.Face == typeface.Sans)
	case "meeting":
		return isText && strings.HasPrefix(t.ID, "times-")
	case "notation":
		box, ok := boundsOf(m)
		return l.ID == "statements" || l.ID == "heads" && ok && box.Min.Y > g.end("talea")
	}
	return false
}

// plot is where the axes of a chart begin and end.
func (g *growth) plot() (top, bottom float64) {
	if g.figure.Time == nil {
		return math.Inf(-1), math.Inf(1)
	}
	top, bottom = math.Inf(1), math.Inf(-1)
	for _, l := range g.figure.Drawing.Layers {
		for _, m := range l.Marks {
			if box, ok := boundsOf(m); !ok || l.ID != "axes" {
				continue
			} else if _, text := m.(*draw.Text); text {
				continue
			} else if top = min(top, box.Min.Y); box.W() > box.H() { // the axis, not its marks below it
				bottom = max(bottom, box.Max.Y)
			}
		}
	}
	return top, bottom
}

// end is where the marks of a layer end.
func (g *growth) end(id string) float64 {
	bottom := math.Inf(1)
	for _, l := range g.figure.Drawing.Layers {
		if l.ID == id && len(l.Marks) > 0 {
			bottom = inked(&draw.Drawing{Frame: g.figure.Drawing.Frame, Layers: []*draw.Layer{l}}).Max.Y
		}
	}
	return bottom
}

// stretches reports whether the figure is a chart that may be higher than it was
// drawn.
func (g *growth) stretches() bool {
	return slices.Contains([]string{"lines", "meeting", "lag", "tempo"}, g.figure.Kind)
}

// most is how much larger the letters may be: those of wheels have to find
// room between the teeth and the hub.
func (g *growth) most() float64 {
	most := 4.0
	for _, w := range g.figure.Wheels {
		if widest := g.widest(w.Layer); widest > 0 {
			inside := w.RadiusMM * (1 - 0.9/float64(w.Teeth))
			most = min(most, 2*math.Pi*inside*0.8/float64(w.Teeth)/g.type0, 0.72*w.RadiusMM/widest)
		}
	}
	return max(1, most)
}

// collide reports whether letters run into each other that stood apart.
func (g *growth) collide(grow, stretch float64) bool {
	before, after := g.boxes(1, stretch), g.boxes(grow, stretch)
	for i := range after {
		for j := range i {
			if meet(after[i], after[j]) && !meet(before[i], before[j]) {
				return true
			}
		}
	}
	return false
}

// thin leaves out every other number of the axis of time.
func (g *growth) thin() {
	for _, l := range g.layers {
		n := 0
		l.Marks = slices.DeleteFunc(l.Marks, func(m draw.Mark) bool {
			t, ok := letters(m)
			if !ok || l.ID != "axes" || t.At.Y < g.bottom || !strings.ContainsAny(t.Text, "0123456789") {
				return false
			}
			n++
			return n%2 == 0
		})
	}
}

// boxes are where the level letters stand.
func (g *growth) boxes(grow, stretch float64) []draw.Rect {
	var all []draw.Rect
	for _, l := range g.drawing(grow, stretch).Layers {
		for _, m := range l.Marks {
			if t, ok := letters(m); ok && t.TurnDeg == 0 && t.Text != "" {
				all = append(all, t.Bounds())
			}
		}
	}
	return all
}

func meet(r, s draw.Rect) bool {
	return r.Min.X < s.Max.X && s.Min.X < r.Max.X && r.Min.Y < s.Max.Y && s.Min.Y < r.Max.Y
}

// drawing is the figure with letters so many times as large, and so many times
// as high.
func (g *growth) drawing(grow, stretch float64) *draw.Drawing {
	d := *g.figure.Drawing
	d.Layers = nil
	for _, l := range g.layers {
		out := *l
		out.Marks = make([]draw.Mark, len(l.Marks))
		for i, m := range l.Marks {
			out.Marks[i] = g.mark(l, m, grow, stretch)
		}
		if l.Clip != nil {
			clip := draw.Rect{Min: lower(l.Clip.Min, stretch), Max: lower(l.Clip.Max, stretch)}
			out.Clip = &clip
		}
		d.Layers = append(d.Layers, &out)
	}
	// letters may pass the old one
	d.Frame = draw.Rect{Min: lower(d.Frame.Min, stretch), Max: lower(d.Frame.Max, stretch)}.Grow(d.Frame.W())
	return &d
}

func lower(p draw.Point, stretch float64) draw.Point { return draw.Point{X: p.X, Y: p.Y * stretch} }

// rigid is the size in millimetres up to which a mark keeps its shape when a
// chart is stretched: rings and dots.
const rigid = 12

func (g *growth) mark(l *draw.Layer, m draw.Mark, grow, stretch float64) draw.Mark {
	switch k := m.(type) {
	case *draw.Text:
		return g.grown(k, grow, stretch)
	case *draw.Slots:
		t := *k
		t.Segments = slices.Clone(k.Segments)
		for i := range t.Segments {
			t.Segments[i].Y1 *= stretch
			t.Segments[i].Y2 *= stretch
		}
		return &t
	case *draw.Path:
		if w, ok := g.pointer(l, k); ok {
			return shorter(k, w, g.widest(w.Layer)*(grow-1))
		}
		return stretched(k, stretch)
	}
	return m
}

// grown is a text with larger letters: beside a chart its distance grows with
// them, elsewhere the middle of its capitals stays.
func (g *growth) grown(k *draw.Text, grow, stretch float64) *draw.Text {
	t := *k
	if k.Face == typeface.Music {
		t.At.Y *= stretch
		return &t
	}
	t.SizeMM *= grow
	cos, sin := k.Turn()
	half := float64(k.Face.CapHeight()) / typeface.UnitsPerEm / 2
	middle := k.At.Y - cos*half*k.SizeMM
	switch {
	case middle > g.bottom:
		t.At.Y = g.bottom*stretch + (k.At.Y-g.bottom)*grow
	case middle < g.top:
		t.At.Y = g.top*stretch + (k.At.Y-g.top)*grow
	default:
		t.At.X -= sin * half * (t.SizeMM - k.SizeMM)
		t.At.Y = middle*stretch + cos*half*t.SizeMM
	}
	return &t
}

// stretched is a path made higher; a ring or dot is moved.
func stretched(k *draw.Path, stretch float64) *draw.Path {
	t := *k
	t.Steps = slices.Clone(k.Steps)
	box, ok := k.Bounds()
	middle := (box.Min.Y + box.Max.Y) / 2
	curved := slices.ContainsFunc(k.Steps, func(s draw.Step) bool { return s.Op == draw.CurveTo })
	round := ok && curved && box.W() < rigid && box.H() < rigid
	for i := range t.Steps {
		for j := range t.Steps[i].P {
			if p := &t.Steps[i].P[j]; round {
				p.Y += middle * (stretch - 1)
			} else {
				p.Y *= stretch
			}
		}
	}
	return &t
}

// pointer reports whether a path is the line from the hub of a wheel to its
// first member.
func (g *growth) pointer(l *draw.Layer, k *draw.Path) (figure.Wheel, bool) {
	for _, w := range g.figure.Wheels {
		if w.Layer == l.ID && len(k.Steps) == 2 {
			return w, true
		}
	}
	return figure.Wheel{}, false
}

// widest is the width of the longest name on a wheel.
func (g *growth) widest(layer string) float64 {
	widest := 0.0
	for _, l := range g.layers {
		for _, m := range l.Marks {
			if t, ok := letters(m); ok && l.ID == layer {
				widest = max(widest, t.WidthMM())
			}
		}
	}
	return widest
}

// shorter is the pointer of a wheel whose names reach so much further in.
func shorter(k *draw.Path, w figure.Wheel, by float64) *draw.Path {
	t := *k
	t.Steps = slices.Clone(k.Steps)
	from, to := t.Steps[0].P[0], &t.Steps[1].P[0]
	length := math.Hypot(to.X-from.X, to.Y-from.Y)
	share := max(0, 1-by/length)
	to.X, to.Y = from.X+(to.X-from.X)*share, from.Y+(to.Y-from.Y)*share
	return &t
}
