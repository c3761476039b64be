package figure

import (
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/words"
)

// maxTeeth bounds the teeth that are drawn.
const maxTeeth = 400

// wheels is the color as a wheel with a tooth for each pitch, the talea as one
// with a gap for each sounding duration; note by note a tooth falls into a gap.
// Its layers are "color-wheel", "talea-wheel" and "heads"; the first two turn.
type wheels struct{ *cycle }

func newWheels(in *Input, o *Options) (view, error) {
	c, err := newCycle(in, o)
	if err != nil {
		return nil, err
	}
	if len(c.color) > maxTeeth || len(c.strokes) > maxTeeth {
		return nil, fmt.Errorf("voice %q has %d pitches on %d sounding durations; wheels have up to %d teeth: choose another voice, or the kind strips", c.voice.Name, len(c.color), len(c.strokes), maxTeeth)
	}
	return &wheels{c}, nil
}

func (g *wheels) title(t *words.Talk) string { return t.Book().Say("wheels.title", g.args()) }

func (g *wheels) caption(t *words.Talk, short bool) string {
	return g.explain(t, "wheels.read", short)
}

// gear is one wheel as drawn.
type gear struct {
	layer   string
	x, y, r float64 // pitch circle
	depth   float64 // half the height of a tooth
	names   []string
	facing  float64 // direction of the other wheel, degrees clockwise from x
	sense   float64 // of the order of its members around it
	gaps    bool    // members stand at the gaps, not at the teeth
}

func (g *wheels) draw(c *canvas, f *Figure) {
	durations := make([]string, len(g.strokes))
	for i, at := range g.strokes {
		durations[i] = g.duration(at)
	}
	names, key := g.shortLabels(c.talk.Book())
	lines := keyLines(c, key)
	left, right := gears(c, names, durations, len(lines))
	if left.textSize(c) == 0 && len(lines) > 0 { // rather names without a key than a key without names
		lines = nil
		left, right = gears(c, names, durations, 0)
	}
	left.draw(c, g.index, 0.20)
	right.draw(c, g.index, 0.07)
	bottom := left.y + math.Max(left.r, right.r) + left.depth
	g.heads(c, left, right, bottom+labelSize*1.7)
	c.used = bottom + wheelFoot
	for i, line := range lines {
		c.layer("heads").Add(named(label(c.width/2, c.used+keyStep*0.7, labelSize, line, draw.InkSecond, draw.Middle),
			fmt.Sprintf("key-%d", i+1)))
		c.used += keyStep
	}
	f.Wheels = []Wheel{
		{Layer: left.layer, Centre: draw.Point{X: left.x, Y: left.y}, RadiusMM: left.r, Teeth: len(g.color), Sense: 1},
		{Layer: right.layer, Centre: draw.Point{X: right.x, Y: right.y}, RadiusMM: right.r, Teeth: len(g.strokes), Sense: -1},
	}
}

// gears are the two wheels in their places, above so many lines of key.
func gears(c *canvas, names, durations []string, keyLines int) (left, right *gear) {
	n, m := float64(len(names)), float64(len(durations))
	below := wheelFoot + keyStep*float64(keyLines)
	room := c.height
	if c.size == Page {
		room = 92 + below - wheelFoot
	}
	// Radii are as the teeth. Outside stand a tooth and, for the eye, a margin.
	pitch := math.Max(3.6, leastRadius/math.Min(n, m)) // radius of a tooth's share
	pitch = math.Min(pitch, math.Min((c.width-8)/2/(n+m), (room-wheelHead-below)/2/(math.Max(n, m)+0.85)))
	depth := math.Min(pitch*0.85, 2.9)
	x0, y0 := c.width/2-(n+m)*pitch, wheelHead+math.Max(n, m)*pitch+depth
	left = &gear{layer: "color-wheel", x: x0 + n*pitch, y: y0, r: n * pitch, depth: depth, names: names, facing: 0,
		sense: -1}
	right = &gear{layer: "talea-wheel", x: x0 + 2*n*pitch + m*pitch, y: y0, r: m * pitch, depth: depth, names: durations,
		facing: 180, sense: 1, gaps: true}
	return left, right
}

const (
	wheelHead   = labelSize * 1.6
	wheelFoot   = labelSize * 3.6
	leastRadius = 14.0 // of the smaller wheel where there is room, so that its names fit between hub and rim
	keyStep     = labelSize * 1.35
	mostKey     = 4 // lines
)

// keyLines are what the short names stand for, as many as fit in few lines.
func keyLines(c *canvas, key []string) []string {
	var lines []string
	for _, k := range key {
		k = typeface.Sans.Fit(k, labelSize, c.width)
		if n := len(lines); n > 0 && typeface.Sans.Width(lines[n-1]+" · "+k, labelSize) <= c.width {
			lines[n-1] += " · " + k
			continue
		}
		if len(lines) == mostKey {
			lines[mostKey-1] = typeface.Sans.Fit(lines[mostKey-1]+" …", labelSize, c.width)
			break
		}
		lines = append(lines, k)
	}
	return lines
}

func (w *gear) draw(c *canvas, voice int, share float64) {
	l := c.layer(w.layer)
	rim := w.rim()
	rim.Fill, rim.Stroke = c.tint(voice, share), draw.Stroke{Ink: c.hue(voice), WidthMM: draw.Hairline}
	l.Add(rim)
	if hub := w.hub(); hub > 0.5 {
		l.Add(disc(w.x, w.y, hub, draw.White, draw.Stroke{Ink: c.hue(voice), WidthMM: draw.Hairline}))
	}
	w.label(c, l)
	// The mark of the beginning: from the hub to the first member.
	a := w.angle(0)
	inner, outer := math.Min(w.r*0.2, 3.6), w.r-w.depth-w.textRoom(c, w.names[:1])
	if outer > inner+0.5 {
		l.Add(line(w.at(inner, a).X, w.at(inner, a).Y, w.at(outer, a).X, w.at(outer, a).Y,
			draw.Stroke{Ink: c.accent(), WidthMM: 0.7, Cap: draw.Round}))
	}
}

// angle is the direction of member i, in degrees clockwise from x.
func (w *gear) angle(i float64) float64 {
	return w.facing + w.sense*360*i/float64(len(w.names))
}

func (w *gear) at(r, deg float64) draw.Point {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return draw.Point{X: w.x + r*cos, Y: w.y + r*sin}
}

// rim is the outline: teeth at the members of a wheel of pitches, gaps at those
// of a wheel of durations.
func (w *gear) rim() *draw.Path {
	p := &draw.Path{Named: draw.Named{ID: w.layer + "-rim"}}
	shift := 0.0
	if w.gaps {
		shift = 0.5
	}
	// Flanks are straight; tip and root follow their circles in short chords.
	outline := []struct{ turn, r float64 }{
		{-0.30, -1}, {-0.15, 0.85}, {-0.05, 0.85}, {0.05, 0.85}, {0.15, 0.85}, {0.30, -1}, {0.37, -1}, {0.44, -1}, {0.50, -1},
		{0.57, -1}, {0.64, -1},
	}
	for i := range w.names {
		for k, corner := range outline {
			q := w.at(w.r+w.depth*corner.r, w.angle(float64(i)+shift+corner.turn))
			if i == 0 && k == 0 {
				p.MoveTo(q.X, q.Y)
			} else {
				p.LineTo(q.X, q.Y)
			}
		}
	}
	return p.Close()
}

// hub is the radius of the hole in the middle.
func (w *gear) hub() float64 { return math.Min(w.r*0.16, 3) }

// textRoom is what names take of the radius inside the teeth.
func (w *gear) textRoom(c *canvas, names []string) float64 {
	return w.widest(names, w.textSize(c)) + 1.4
}

func (w *gear) widest(names []string, size float64) float64 {
	widest := 0.0
	for _, s := range names {
		widest = math.Max(widest, typeface.Sans.Width(s, size))
	}
	return widest
}

// textSize is the size of the names, 0 where there is no room for any: neither
// along the rim nor between hub and rim.
func (w *gear) textSize(c *canvas) float64 {
	widest := w.widest(w.names, labelSize)
	size := labelSize * math.Min(1, (w.r-w.depth-1.2-w.hub())/widest)
	// Names stand close where they end, by the hub: there as well each needs its height.
	turn := 2 * math.Pi / float64(len(w.names))
	size = math.Min(size, turn*(w.r-w.depth-1)/(0.8+turn*widest/labelSize))
	if size < c.small*0.6 {
		return 0
	}
	return size
}

// label writes each name along its radius, readable from the side it is on.
func (w *gear) label(c *canvas, l *draw.Layer) {
	size := w.textSize(c)
	if size == 0 {
		return
	}
	for i, s := range w.names {
		a := math.Mod(w.angle(float64(i))+720, 360)
		p := w.at(w.r-w.depth-0.8, a)
		t := label(0, 0, size, s, draw.InkDark, draw.End)
		turn := a
		if a > 90 && a < 270 {
			turn, t.Anchor = a-180, draw.Start
		}
		sin, cos := math.Sincos(turn * math.Pi / 180)
		t.At = draw.Point{X: p.X - sin*capHalf(size), Y: p.Y + cos*capHalf(size)}
		t.TurnDeg = turn
		t.ID = fmt.Sprintf("%s-%d", w.layer, i+1)
		l.Add(t)
	}
}

func (g *wheels) heads(c *canvas, left, right *gear, y float64) {
	l := c.layer("heads")
	book := c.talk.Book()
	put := func(w *gear, id, what, turns string) {
		l.Add(named(label(w.x, y, labelSize, what, draw.InkDark, draw.Middle), id))
		l.Add(named(label(w.x, y+labelSize*1.35, labelSize, turns, draw.InkSecond, draw.Middle), id+"-turns"))
	}
	gap := 4.0
	leftText, rightText := book.Say("wheels.pitches", g.args()), book.Say("wheels.strokes", g.args())
	leftTurns, rightTurns := book.Say("wheels.colores", g.args()), book.Say("wheels.taleae", g.args())
	half := func(a, b string) float64 {
		return math.Max(typeface.Sans.Width(a, labelSize), typeface.Sans.Width(b, labelSize)) / 2
	}
	a, b := *left, *right
	// Names of small wheels side by side must not run into each other.
	if need := half(leftText, leftTurns) + half(rightText, rightTurns) + gap; b.x-a.x < need {
		mid := (a.x + b.x) / 2
		a.x, b.x = mid-need/2, mid+need/2
	}
	put(&a, "color", leftText, leftTurns)
	put(&b, "talea", rightText, rightTurns)
	meet := left.x + left.r
	l.Add(line(meet, left.y-math.Max(left.r, right.r)-left.depth-0.5, meet, left.y-left.depth*1.6,
		draw.Stroke{Ink: c.accent(), WidthMM: draw.Hairline}))
	l.Add(bold(named(label(meet, labelSize, labelSize, g.counts(c.talk), draw.InkDark, draw.Middle), "counts")))
}
