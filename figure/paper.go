package figure

import (
	"errors"
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/instrument"
	"rollwright/roll"
	"rollwright/typeface"
	"rollwright/words"
)

// paper is a stretch of the roll, seen from the player's side with the start at
// the left, its notes named. Its layers are "paper", "guides", "holes",
// "rims", "names" and "axes".
type paper struct {
	in       *Input
	roll     *roll.Roll
	from, to float64 // seconds
	asked    bool
	slots    []*roll.Slot
	low      float64 // least and greatest place across of what is shown
	high     float64
}

// usualStretch is how much of the roll is shown when nobody asks.
const usualStretch = 5.0 // s

func newPaper(in *Input, o *Options) (view, error) {
	if in.Rolls == nil {
		return nil, errors.New("there is no roll to draw")
	}
	rolls, err := in.Rolls()
	if err != nil {
		return nil, err
	}
	piano := 0
	if o.Voice != "" {
		i, err := in.voice(o.Voice)
		if err != nil {
			return nil, err
		}
		piano = in.Performance.Piece.Voices[i].Piano
	}
	v := &paper{in: in, roll: rolls[piano], low: math.Inf(1), high: math.Inf(-1)}
	if len(v.roll.Slots) == 0 {
		return nil, errors.New("the roll has no hole to draw")
	}
	if v.asked = o.FromSec != 0 || o.ToSec != 0; v.asked {
		if v.from, v.to, err = in.stretch(o, nil); err != nil {
			return nil, err
		}
	} else {
		v.from = max(0, v.transport().Sec(v.roll.Slots[0].LeadMM)-0.3)
		v.to = v.from + usualStretch
	}
	v.take()
	if len(v.slots) == 0 {
		return nil, fmt.Errorf("there is no hole between %g s and %g s", v.from, v.to)
	}
	return v, nil
}

func (v *paper) transport() instrument.Transport { return v.roll.Instrument.Transport }

func (v *paper) port(s *roll.Slot) *instrument.Port { return &v.roll.Instrument.Bar.Ports[s.Port] }

// take collects the slots of the stretch.
func (v *paper) take() {
	a, b := v.transport().AlongMM(v.from), v.transport().AlongMM(v.to)
	for i := range v.roll.Slots {
		s := &v.roll.Slots[i]
		if s.TrailMM < a || s.LeadMM > b {
			continue
		}
		v.slots = append(v.slots, s)
		across := v.port(s).AcrossMM
		v.low, v.high = min(v.low, across), max(v.high, across)
	}
}

func (v *paper) title(t *words.Talk) string {
	return t.Book().Say("paper.title", words.Args{"from": t.Book().Decimal(clock(v.from, 1)), "to": t.Book().Decimal(clock(v.to, 1))})
}

func (v *paper) caption(t *words.Talk, short bool) string {
	speed := v.transport().SpeedAt(v.from)
	var first *roll.Slot // the first note's hole: it shows the arithmetic
	for _, s := range v.slots {
		if v.port(s).Role == instrument.Note && s.LeadMM >= v.transport().AlongMM(v.from) {
			first = s
			break
		}
	}
	text := ""
	if !short || first == nil {
		text = t.Say("paper.read", words.Args{"speed": t.Book().Decimal(significant(speed, 4)), "seconds": t.Book().Decimal(significant(v.to-v.from, 3))})
	}
	if first != nil {
		length := first.TrailMM - first.LeadMM
		if text != "" {
			text += " "
		}
		text += t.Say("paper.hole", words.Args{
			"pitch": pitchName(v.port(first).Key), "length": t.Book().Decimal(significant(length, 3)),
			"speed": t.Book().Decimal(significant(speed, 4)), "span": t.Book().Decimal(span(length / speed)),
		})
	}
	return text
}

// bassUp reports whether the bass edge is at the top when the start is at the
// left.
func (v *paper) bassUp() bool {
	p := v.roll.Instrument.Paper
	return (p.Bass == instrument.Left) != p.TravelsUp
}

func (v *paper) draw(c *canvas, f *Figure) {
	const left, edge, ahead = 9.0, 5.0, 8.0 // ahead: paper before the stretch, for the names of its first notes
	in := v.roll.Instrument
	a, b := v.transport().AlongMM(v.from), v.transport().AlongMM(v.to)
	room := c.height - timeAxisRoom - labelSize*1.8
	if c.size == Page {
		room = 88
	}
	across := max(v.high-v.low, 6*2.8) + 2*edge
	scale := min((c.width-left-ahead)/(b-a), room/across)
	x := func(along float64) float64 { return left + ahead + (along-a)*scale }
	top := labelSize * 1.8
	mid := (v.low + v.high) / 2
	sign := 1.0
	if !v.bassUp() {
		sign = -1
	}
	y := func(at float64) float64 { return top + (across/2+sign*(at-mid))*scale }
	bottom := top + across*scale
	sheet := draw.Box(left, top, x(b), bottom)
	ground := draw.Paper
	if c.ink == BlackInk {
		ground = draw.White
	}
	c.layer("paper").Add(box(sheet, ground, draw.Stroke{}))
	v.guides(c, x, y, sheet, in)
	v.holes(c, x, y, scale, sheet)
	v.names(c, x, y, scale, sheet)
	v.marks(c, sheet)
	h := newChart(c, x(a), top, x(b), bottom)
	h.x.From, h.x.To = v.from, v.to
	if v.transport().Spool {
		h.spoolAxis(v.transport(), x)
	} else {
		f.Time = &h.x
		h.timeAxis("")
	}
	c.layer("axes").Add(label((left+x(b))/2, bottom+1.8+labelSize*2.1, labelSize, c.talk.Book().Say("paper.axis", nil), draw.InkSecond, draw.Middle))
	c.used = bottom + timeAxisRoom + v.legend(c, left, bottom+timeAxisRoom)
}

// spoolAxis is timeAxis for paper that speeds up: x gives the place of a row.
func (h *chart) spoolAxis(t instrument.Transport, x func(float64) float64) {
	l := h.c.layer("axes")
	for _, tick := range timeTicks(h.x.From, h.x.To, (h.x.ToMM-h.x.FromMM)/(labelSize*6)) {
		at := x(t.AlongMM(tick.at))
		l.Add(line(at, h.y.FromMM, at, h.y.FromMM+1, draw.Hair(draw.InkSecond)))
		l.Add(label(at, h.y.FromMM+1.6+labelSize*0.8, labelSize, h.c.talk.Book().Decimal(tick.text), draw.InkDark, draw.Middle))
	}
}

// guides draws a hairline along every port that is used, and names some at the
// left.
func (v *paper) guides(c *canvas, x, y func(float64) float64, sheet draw.Rect, in *instrument.Instrument) {
	l, names := c.layer("guides"), c.layer("names")
	used := map[int32]bool{}
	for _, s := range v.slots {
		used[s.Port] = true
	}
	var taken []float64
	for i := range in.Bar.Ports {
		if !used[int32(i)] {
			continue
		}
		port := &in.Bar.Ports[i]
		at := y(port.AcrossMM)
		l.Add(line(sheet.Min.X, at, sheet.Max.X, at, draw.Stroke{Ink: draw.Hex(0xddd3bd), WidthMM: 0.1}))
		free := true
		for _, t := range taken {
			free = free && math.Abs(t-at) >= c.small*1.05
		}
		if free {
			taken = append(taken, at)
			names.Add(label(sheet.Min.X-1, at+capHalf(c.small), c.small, v.portName(port), draw.InkSecond, draw.End))
		}
	}
}

// portName is what a port is called at the edge.
func (v *paper) portName(p *instrument.Port) string {
	if p.Role == instrument.Note {
		return pitchName(p.Key)
	}
	return "·"
}

// holes draws the openings of every slot, and around them a rim in the look of
// the voice.
func (v *paper) holes(c *canvas, x, y func(float64) float64, scale float64, sheet draw.Rect) {
	holes, rims := c.layer("holes"), c.layer("rims")
	holes.Clip, rims.Clip = &sheet, &sheet
	die := v.roll.Instrument.Die.DiameterMM
	all := &draw.Slots{Named: draw.Named{ID: "openings"}, Ink: draw.InkDark, WidthMM: die * scale}
	for i, s := range v.slots {
		at := y(v.port(s).AcrossMM)
		for o := range v.roll.Openings(s) {
			all.Segments = append(all.Segments, draw.Segment{X1: x(o.FirstMM), Y1: at, X2: x(o.LastMM), Y2: at})
		}
		rim := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("slot-%d", i+1)}, Stroke: draw.Hair(draw.InkSecond)}
		if s.Causes.First.Voice >= 0 && v.port(s).Role == instrument.Note {
			rim.Stroke = c.stroke(int(s.Causes.First.Voice), 0.3)
		}
		r := die/2*scale + 0.35
		rims.Add(rim.Capsule(draw.Segment{X1: x(s.FirstMM), Y1: at, X2: x(s.LastMM), Y2: at}, r))
	}
	holes.Add(all)
}

// names writes the name of each note where it finds room: ahead of its hole,
// above it, below it or behind it.
func (v *paper) names(c *canvas, x, y func(float64) float64, scale float64, sheet draw.Rect) {
	l := c.layer("names")
	r := v.roll.Instrument.Die.DiameterMM/2*scale + 0.5
	var taken []draw.Rect
	for _, s := range v.slots {
		at := y(v.port(s).AcrossMM)
		taken = append(taken, draw.Box(x(s.LeadMM)-0.4, at-r, x(s.TrailMM)+0.4, at+r))
	}
	size := c.small
	for i, s := range v.slots {
		if v.port(s).Role != instrument.Note {
			continue
		}
		name := pitchName(v.port(s).Key)
		w, h := typeface.Sans.Width(name, size), capHalf(size)
		x0, x1, at := x(s.LeadMM), x(s.TrailMM), y(v.port(s).AcrossMM)
		for _, p := range []draw.Point{{X: x0 - w - 0.8, Y: at + h}, {X: x0, Y: at - r - 0.3}, {X: x0, Y: at + r + 2*h + 0.3}, {X: x1 + 0.8, Y: at + h}} {
			place := draw.Box(p.X, p.Y-2*h, p.X+w, p.Y)
			if place.Min.X < sheet.Min.X || place.Max.X > sheet.Max.X || place.Min.Y < sheet.Min.Y || place.Max.Y > sheet.Max.Y || overlapsAny(place, taken) {
				continue
			}
			taken = append(taken, place)
			l.Add(named(label(p.X, p.Y, size, name, draw.InkDark, draw.Start), fmt.Sprintf("name-%d", i+1)))
			break
		}
	}
}

func overlapsAny(r draw.Rect, all []draw.Rect) bool {
	for _, s := range all {
		if r.Overlaps(s) {
			return true
		}
	}
	return false
}

// marks says which side is which.
func (v *paper) marks(c *canvas, sheet draw.Rect) {
	l := c.layer("axes")
	book := c.talk.Book()
	bass, treble := book.Say("paper.bass", nil), book.Say("paper.treble", nil)
	if !v.bassUp() {
		bass, treble = treble, bass
	}
	l.Add(label(sheet.Min.X, sheet.Min.Y-0.8, labelSize, "← "+book.Say("paper.start", nil)+" · "+bass, draw.InkSecond, draw.Start))
	l.Add(label(sheet.Max.X, sheet.Min.Y-0.8, labelSize, book.Say("paper.side", nil), draw.InkSecond, draw.End))
	l.Add(label(sheet.Min.X, sheet.Max.Y+labelSize*2.2+1.8, labelSize, treble, draw.InkSecond, draw.Start))
}

// legend names the voices whose rims are seen and returns its height.
func (v *paper) legend(c *canvas, x, y float64) float64 {
	seen := map[int32]bool{}
	for _, s := range v.slots {
		for cause := range s.Causes.All() {
			seen[cause.Voice] = true
		}
	}
	const step = labelSize * 1.3
	x0, height := x, step
	for i, voice := range v.in.Performance.Piece.Voices {
		if !seen[int32(i)] {
			continue
		}
		name := typeface.Sans.Fit(voice.Name, labelSize, 40)
		w := 8 + typeface.Sans.Width(name, labelSize)
		if x+w > c.width && x > x0 {
			x, height = x0, height+step
		}
		at := y + height - step/2
		l := c.layer("names")
		l.Add(line(x, at, x+6, at, c.stroke(i, 0.6)), label(x+7.2, at+capHalf(labelSize), labelSize, name, draw.InkDark, draw.Start))
		x += w + 4
	}
	return height
}
