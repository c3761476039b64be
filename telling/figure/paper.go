package figure

import (
	"errors"
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/words"
)

// paper is a stretch of the roll, seen from the player's side with the start at
// the left, its notes named. Its layers are "paper", "guides", "holes",
// "rims", "names" and "axes".
type paper struct {
	in       *Input
	book     *words.Book // by which notes are called
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
	v := &paper{in: in, book: o.talk().Book(), roll: rolls[piano], low: math.Inf(1), high: math.Inf(-1)}
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
	return t.Book().Say("paper.title", words.Args{"from": t.Book().Decimal(clock(v.from, 1)),
		"to": t.Book().Decimal(clock(v.to, 1))})
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
		text = t.Say("paper.read", words.Args{"speed": t.Book().Decimal(significant(speed, 4)),
			"seconds": t.Book().Decimal(significant(v.to-v.from, 3))})
	}
	if first != nil {
		length := first.TrailMM - first.LeadMM
		if text != "" {
			text += " "
		}
		text += t.Say("paper.hole", words.Args{
			"pitch": v.slotName(first), "length": t.Book().Decimal(significant(length, 3)),
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
	p := v.lay(c)
	ground := draw.Paper
	if c.ink == BlackInk {
		ground = draw.White
	}
	c.layer("paper").Add(box(p.Rect, ground, draw.Stroke{}))
	v.guides(c, p)
	h := newChart(c, p.x(p.a), p.Min.Y, p.Max.X, p.Max.Y)
	h.x.From, h.x.To = v.from, v.to
	if v.transport().Spool {
		h.spoolAxis(v.transport(), p.x)
	} else {
		f.Time = &h.x
		h.timeAxis("")
	}
	v.holes(c, p)
	v.names(c, p, ground)
	v.marks(c, p)
	c.used = p.Max.Y + timeAxisRoom + v.legend(c, p.Min.X, p.Max.Y+timeAxisRoom)
}
