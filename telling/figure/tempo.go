package figure

import (
	"fmt"
	"strings"

	"rollwright/draw"
	"rollwright/text/choice"
	"rollwright/text/words"
)

// tempos is the tempo of each voice over time. Its layers are "axes", "lines"
// and "names".
type tempos struct {
	in       *Input
	voices   []int
	from, to float64
	least    float64
	most     float64
}

func newTempos(in *Input, o *Options) (view, error) {
	voices, err := in.chosen(o)
	if err != nil {
		return nil, err
	}
	if len(voices) > maxLines {
		return nil, choice.Errorf("the piece has %d voices; one figure holds %d: choose with {voice} or {pair}", len(voices),
			maxLines)
	}
	v := &tempos{in: in, voices: voices}
	if v.from, v.to, err = in.stretch(o, voices); err != nil {
		return nil, err
	}
	for _, i := range voices {
		for _, p := range v.curve(i) {
			if v.least == 0 {
				v.least = p.Y
			}
			v.least, v.most = min(v.least, p.Y), max(v.most, p.Y)
		}
	}
	return v, nil
}

// curve is the tempo of a voice, in quarter notes a minute, over seconds of the
// piece: a few points more than straight lines need where it jumps.
func (v *tempos) curve(voice int) []draw.Point {
	l := v.in.Performance.Lines[voice]
	if l.Steady() {
		return []draw.Point{{X: l.StartSec, Y: l.Path.Tempo(0)}, {X: l.EndSec, Y: l.Path.Tempo(0)}}
	}
	var points []draw.Point
	for i := range curveSteps + 1 {
		u := l.Length * float64(i) / curveSteps
		points = append(points, draw.Point{X: l.SecondsAt(u), Y: l.TempoAt(u)})
	}
	return points
}

func (v *tempos) title(t *words.Talk) string {
	return t.Book().Say("tempo.title", words.Args{"voices": len(v.voices)})
}

func (v *tempos) caption(t *words.Talk, short bool) string {
	var say []string
	if !short {
		say = append(say, t.Say("tempo.read", nil))
	}
	// The voice that changes most is the one to speak of.
	best, change := v.voices[0], 0.0
	for _, i := range v.voices {
		curve := v.curve(i)
		a, b := curve[0].Y, curve[len(curve)-1].Y
		if d := max(a/b, b/a); d > change {
			best, change = i, d
		}
	}
	curve := v.curve(best)
	a, b := curve[0], curve[len(curve)-1]
	args := words.Args{
		"voice": v.in.Performance.Piece.Voices[best].Name, "from": decimal(t, a.Y), "to": decimal(t, b.Y),
		"span": t.Book().Decimal(span(b.X - a.X)), "factor": decimal(t, b.Y/a.Y),
	}
	switch {
	case change > 1.0005 && b.Y > a.Y:
		say = append(say, t.Say("tempo.faster", args))
	case change > 1.0005:
		args["factor"] = decimal(t, a.Y/b.Y)
		say = append(say, t.Say("tempo.slower", args))
	case v.most > v.least*1.0005:
		say = append(say, t.Say("tempo.several", words.Args{"least": decimal(t, v.least), "most": decimal(t, v.most),
			"factor": decimal(t, v.most/v.least)}))
	default:
		say = append(say, t.Say("tempo.one", args))
	}
	for _, i := range v.voices {
		if e := v.in.Performance.Piece.Voices[i].EachNote; e.Float64() != 1 {
			say = append(say, t.Say("tempo.each-note", words.Args{"voice": v.in.Performance.Piece.Voices[i].Name}))
			break
		}
	}
	return strings.Join(say, " ")
}

// decimal is a number of at most four digits.
func decimal(t *words.Talk, x float64) string { return t.Book().Decimal(significant(x, 4)) }

func (v *tempos) draw(c *canvas, f *Figure) {
	const left, head, right = 14.0, labelSize * 2.4, 44.0
	bottom := c.height - timeAxisRoom
	if c.size == Page {
		bottom = head + 64
	}
	h := newChart(c, left, head, c.width-right, bottom)
	h.x.From, h.x.To = v.from, v.to
	var ticks []tick
	if v.most/v.least > 4 { // ratios matter: equal ratios at equal distances
		h.y = Axis{From: v.least * 0.9, To: v.most * 1.1, FromMM: bottom, ToMM: head, Log: true}
		ticks = logTicks(h.y.From, h.y.To)
	} else {
		h.y.From, h.y.To = 0, v.most*1.08
		if v.least > v.most*0.4 {
			h.y.From = v.least - (v.most-v.least)*0.3 - v.most*0.05
		}
		ticks = roundTicks(h.y.From, h.y.To, (bottom-head)/(labelSize*3))
	}
	f.Time, f.Units = &h.x, &h.y
	book := c.talk.Book()
	h.timeAxis(book.Say("axis.time", nil))
	h.valueAxis(book.Say("axis.tempo", nil), ticks)
	l := c.layer("lines")
	clip := draw.Box(h.x.FromMM-0.5, h.y.ToMM-1, h.x.ToMM+0.5, h.y.FromMM+1)
	l.Clip = &clip
	var flags []flag
	for _, i := range v.voices {
		var points []draw.Point
		curve := v.curve(i)
		for _, p := range curve {
			points = append(points, draw.Point{X: h.x.At(p.X), Y: h.y.At(p.Y)})
		}
		p := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("tempo-%d", i+1)}, Stroke: c.stroke(i, draw.MainLine)}
		l.Add(p.Polyline(points...))
		a, b := curve[0].Y, curve[len(curve)-1].Y
		text := v.in.Performance.Piece.Voices[i].Name + " " + decimal(c.talk, a)
		if a != b {
			text += "–" + decimal(c.talk, b)
		}
		flags = append(flags, flag{points[len(points)-1].Y, i, text})
	}
	h.flags(h.x.ToMM+2, flags)
	c.used = bottom + timeAxisRoom
}
