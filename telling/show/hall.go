package show

import (
	"math"
	"slices"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/telling/onpage"
	"rollwright/text/words"
)

// A step `hall` lets the audience play: one half claps the talea of a voice, the other half
// the same a little later. Times are seconds of the step, which is no stretch of the piece.

// How it goes: slow enough for hands that have not practised, and for lights that may flash
// three times a second at most (WCAG 2.2, 2.3.1), both together.
const (
	clapSec     = 2.0 / 3 // the shortest duration that is clapped
	countIn     = 4       // beats before the first clap
	leastBeat   = 0.6     // seconds
	mostTalea   = 45.0    // seconds of one time through
	enoughClaps = 25.0    // seconds, when it is not gone through a second time
	afterClaps  = 0.5
)

// claps are what two halves of a hall clap.
type claps struct {
	voice   int
	later   float64 // units by which the right half follows
	unitSec float64
	beatSec float64   // of the counting in
	at      []float64 // of the left half, from its start
	laterBy float64   // seconds
	endSec  float64   // of both
}

// clapsOf is the talea of a voice for a hall; nil for one that is too plain, or too long.
func clapsOf(in *Input, voice int) *claps {
	v := &in.piece().Voices[voice]
	var shortest, length float64
	even, strokes := true, 0
	for i, d := range v.Talea {
		even = even && !d.Silent && d.Units.Cmp(v.Talea[0].Units) == 0
		length += d.Units.Float64()
		if !d.Silent {
			strokes++
			if gap := clapGap(v.Talea, i); shortest == 0 || gap < shortest {
				shortest = gap
			}
		}
	}
	if even || strokes < 2 || len(v.Talea) < 3 || v.FromLine {
		return nil
	}
	c := &claps{voice: voice, unitSec: clapSec / shortest}
	taleaSec := length * c.unitSec
	if taleaSec > mostTalea {
		return nil
	}
	times := 2
	if taleaSec > enoughClaps {
		times = 1
	}
	units := 0.0
	for range times {
		for i := range v.Talea {
			d := &v.Talea[turned(i, v.RotateTalea, len(v.Talea))]
			if !d.Silent {
				c.at = append(c.at, units*c.unitSec)
			}
			units += d.Units.Float64()
			if c.later == 0 && 2*units >= length { // the first place at or after the middle
				c.later = units
			}
		}
	}
	c.laterBy = c.later * c.unitSec
	c.beatSec = c.unitSec * math.Ceil(leastBeat/c.unitSec-1e-9)
	c.endSec = c.startSec() + c.at[len(c.at)-1] + c.laterBy + afterClaps
	return c
}

// clapGap is how many units lie between a stroke of a talea and the next one.
func clapGap(talea []piece.Duration, i int) float64 {
	gap := talea[i].Units.Float64()
	for k := 1; k < len(talea) && talea[(i+k)%len(talea)].Silent; k++ {
		gap += talea[(i+k)%len(talea)].Units.Float64()
	}
	return gap
}

// hallStep lets the hall clap the talea of the voice that is explained first.
func hallStep(in *Input, lead int) *Step {
	c := clapsOf(in, lead)
	if c == nil {
		return nil
	}
	return c.step()
}

func (c *claps) step() *Step {
	return &Step{Name: "hall", Kind: Hall, Hear: Claps, Voices: []int{c.voice}, ToSec: c.endSec, lead: c.voice, other: -1,
		claps: c}
}

// Keys of the two halves and of the counting in: far apart, so that each is known.
const (
	leftKey  = 48
	rightKey = 72
	countKey = 96
)

// startSec is when the left half begins.
func (c *claps) startSec() float64 { return countIn * c.beatSec }

// events are the claps and the counting in as blows without strings.
func (c *claps) events() []event.Event {
	var all []event.Event
	add := func(at float64, key int16) {
		all = append(all, event.Event{StartSec: at, EndSec: at + 0.1, Note: int32(len(all) + 1), Part: 1,
			Voice: int32(c.voice), Key: key, Level: 80})
	}
	for i := range countIn {
		add(float64(i)*c.beatSec, countKey)
	}
	for _, at := range c.at {
		add(c.startSec()+at, leftKey)
		add(c.startSec()+at+c.laterBy, rightKey)
	}
	slices.SortStableFunc(all, byStart)
	return all
}

// hall gives the step its words.
func (t *teller) hall(s *Step) {
	c := s.claps
	args := words.Args{"voice": t.voiceOf(c.voice).Name, "units": t.decimal(c.later)}
	s.Title = t.talk.Say("lecture.hall.title", nil)
	s.Text = []string{t.talk.Say("lecture.hall.text", args), t.talk.Say("lecture.hall.lights", nil)}
	s.Say = []string{t.book.Say("lecture.hall.say", words.Args{"unit": t.decimal(math.Round(c.unitSec*100) / 100),
		"later": t.decimal(math.Round(c.laterBy*10) / 10)})}
}

// data is for the page.
func (c *claps) data() *clapData {
	d := &clapData{}
	for i := range countIn {
		d.Count = append(d.Count, onpage.Micros(float64(i)*c.beatSec))
	}
	for _, at := range c.at {
		d.Left = append(d.Left, onpage.Micros(c.startSec()+at))
		d.Right = append(d.Right, onpage.Micros(c.startSec()+at+c.laterBy))
	}
	return d
}
