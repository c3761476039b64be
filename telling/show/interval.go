package show

import (
	"math"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/text/words"
)

// A step `interval` makes two tempos heard as two tones: the pulses of two voices get
// faster and faster, in their ratio, until they are tones, and slow down again. Times are
// seconds of the step, which is no stretch of the piece.

// How the pulses go: slow enough to be counted, then to a tone that small loudspeakers
// still have. Chosen by ear.
const (
	pulseSlowHz   = 2.0
	pulseFastHz   = 220.0
	pulseHoldSec  = 2.0 // at both ends
	pulseRampSec  = 8.0
	pulseToneSec  = 4.0
	pulseTotalSec = 2*pulseHoldSec + 2*pulseRampSec + pulseToneSec
	mostInterval  = 4 // two octaves: above, nobody sings it
)

// pulses are two voices by their tempos.
type pulses struct {
	slow, fast int        // voices
	ratio      exact.Real // pulses of the fast one to one of the slow one, more than 1
}

// pulsesOf are two voices whose tempos make an interval; false where one has no one tempo,
// or both the same, or one that is too far from the other's.
func pulsesOf(in *Input, a, b int) (*pulses, bool) {
	x, ok1 := in.Performance.Lines[a].SecondsPerUnit()
	y, ok2 := in.Performance.Lines[b].SecondsPerUnit()
	if a == b || !ok1 || !ok2 {
		return nil, false
	}
	p := &pulses{a, b, x.Quo(y)}
	if x.Cmp(y) < 0 {
		p = &pulses{b, a, y.Quo(x)}
	}
	r := p.ratio.Float64()
	return p, r > 1 && r <= mostInterval
}

// intervalStep is that of the voices that the lecture sets against each other, or else of
// the first two that make an interval; nil where none do.
func intervalStep(in *Input, lead int) *Step {
	a, b := against(in, lead)
	if b >= 0 {
		if p, ok := pulsesOf(in, a, b); ok {
			return p.step()
		}
	}
	lines := in.Performance.Lines
	for i := range lines {
		for j := i + 1; j < len(lines); j++ {
			if lines[i].Notes < fewNotes || lines[j].Notes < fewNotes {
				continue
			}
			if p, ok := pulsesOf(in, i, j); ok {
				return p.step()
			}
		}
	}
	return nil
}

func (p *pulses) step() *Step {
	return &Step{Name: "interval", Kind: Interval, Hear: Pulses, Voices: []int{min(p.slow, p.fast), max(p.slow, p.fast)},
		ToSec: pulseTotalSec, lead: p.slow, other: p.fast, pulses: p}
}

// phase is how many pulses of the slow voice have begun by a time, as a number that grows
// evenly between two of them.
func phase(sec float64) float64 {
	grow := math.Log(pulseFastHz/pulseSlowHz) / pulseRampSec
	ramp := func(sec float64) float64 { return pulseSlowHz / grow * math.Expm1(grow*sec) }
	held := pulseHoldSec * pulseSlowHz
	switch tone := pulseHoldSec + pulseRampSec; {
	case sec <= pulseHoldSec:
		return sec * pulseSlowHz
	case sec <= tone:
		return held + ramp(sec-pulseHoldSec)
	case sec <= tone+pulseToneSec:
		return held + ramp(pulseRampSec) + (sec-tone)*pulseFastHz
	default: // the way back is the way there
		return phase(pulseTotalSec/2)*2 - phase(pulseTotalSec-sec)
	}
}

// phaseSec is when the phase is reached: the inverse of phase, to a tenth of a microsecond.
func phaseSec(pulse float64) float64 {
	low, high := 0.0, pulseTotalSec
	for high-low > 1e-7 {
		if mid := (low + high) / 2; phase(mid) < pulse {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// pulseSec is how long a pulse holds its key: until nothing of the blow is heard.
const pulseSec = 0.02

// events are the pulses as blows without strings, the two voices on keys a twelfth apart.
func (p *pulses) events() []event.Event {
	ratio, total := p.ratio.Float64(), phase(pulseTotalSec)
	var all []event.Event
	add := func(voice int, key int16, pulse float64, note int) {
		at := phaseSec(pulse)
		all = append(all, event.Event{StartSec: at, EndSec: at + pulseSec, Note: int32(note), Part: 1,
			Voice: int32(voice), Key: key, Level: 64})
	}
	for n := 0; float64(n) < total; n++ {
		add(p.slow, 60, float64(n), n+1)
	}
	for n := 0; float64(n)/ratio < total; n++ {
		add(p.fast, 79, float64(n)/ratio, n+1)
	}
	return all
}

// heardAs says which interval a ratio is: of equal temperament, whose semitone is 100
// cents (A. J. Ellis, 1885), or by how much wider or narrower.
func (t *teller) heardAs(ratio exact.Real) string {
	const (
		octave  = 12
		sameAs  = 0.05 // cents: nobody hears that
		nearby  = 20.0 // cents within which an interval has the name of the next one
		aSecond = 100.0
	)
	cents := 1200 * math.Log2(ratio.Float64())
	near := int(math.Round(cents / aSecond))
	off := cents - float64(near)*aSecond
	name := func(n int) string {
		if n > octave {
			return t.talk.Say("interval.and-octave", words.Args{"interval": t.talk.Say("interval."+itoa(n-octave), nil)})
		}
		return t.talk.Say("interval."+itoa(n), nil)
	}
	switch {
	case math.Abs(off) < sameAs:
		return t.talk.Say("interval.exactly", words.Args{"interval": name(near)})
	case math.Abs(off) > nearby:
		low := int(math.Floor(cents / aSecond))
		return t.talk.Say("interval.between", words.Args{"low": name(low), "high": name(low + 1)})
	case off > 0:
		return t.talk.Say("interval.wider", words.Args{"interval": name(near), "cents": t.cents(off)})
	}
	return t.talk.Say("interval.narrower", words.Args{"interval": name(near), "cents": t.cents(-off)})
}

// cents are whole, but for less than one.
func (t *teller) cents(c float64) string {
	if c < 1 {
		return t.short(c)
	}
	return t.decimal(math.Round(c))
}

// interval gives the step its words.
func (t *teller) interval(s *Step) {
	p := s.pulses
	args := words.Args{"slow": t.voiceOf(p.slow).Name, "fast": t.voiceOf(p.fast).Name, "ratio": t.proportion(p.ratio)}
	s.Title = t.talk.Say("lecture.interval.title", nil)
	s.Text = []string{t.talk.Say("lecture.interval.text", args), t.talk.Say("lecture.interval.ask", nil)}
	s.soundsAs = t.heardAs(p.ratio)
	s.Say = []string{t.book.Say("lecture.interval.say", words.Args{"interval": s.soundsAs})}
}

// proportion is a ratio with a colon: 3 : 2, √2 : 1.
func (t *teller) proportion(ratio exact.Real) string {
	if r, ok := ratio.Rat(); ok && len(r.Num().String()) <= 4 && len(r.Denom().String()) <= 4 {
		return r.Num().String() + " : " + r.Denom().String()
	}
	text, ok := signs(ratio.String())
	if !ok || len([]rune(text)) > longestNumber {
		text = t.decimal(ratio.Float64())
	}
	return text + " : 1"
}
