package show

import (
	"context"
	"math"
	"slices"

	"rollwright/music/event"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/sound"
	"rollwright/telling/onpage"
	"rollwright/text/words"
)

// pageData is all that the page's script is told.
type pageData struct {
	Title   string            `json:"title"`
	Minutes float64           `json:"minutes"`
	Mono    bool              `json:"mono"`
	Decimal string            `json:"decimal"`
	Words   map[string]string `json:"words"`
	Steps   []stepData        `json:"steps"`
	Voices  []*lineData       `json:"voices"`
	Events  []*eventData      `json:"events"`
	Papers  []*onpage.Paper   `json:"papers"` // beside each other: those of one roll set
	Rolls   [][]int           `json:"rolls"`  // indices of Papers
	Pianos  []pianoData       `json:"pianos"`
	Bank    []toneData        `json:"bank"`
	Rate    int               `json:"rate"` // frames a second of the bank
	WhatIf  *whatIfData       `json:"whatif"`
}

type stepData struct {
	Kind    string      `json:"kind"`
	Besides bool        `json:"besides,omitempty"`
	Title   string      `json:"title"`
	Say     []string    `json:"say"`
	Sec     float64     `json:"sec"` // as played
	Sound   *soundData  `json:"sound"`
	Roll    int         `json:"roll"`  // index of Rolls
	Lines   []int       `json:"lines"` // voices whose counters are shown
	Items   *itemData   `json:"items"` // of the only line, in place of the voice's own
	Meet    *meetData   `json:"meet"`
	Time    *axisData   `json:"time"`
	Wheels  []wheelData `json:"wheels"`
	Pulses  *pulseData  `json:"pulses,omitempty"`
	Claps   *clapData   `json:"claps,omitempty"`
	EndsAt  int64       `json:"endsAt"` // when both series end together, in microseconds; -1: not
	Chips   bool        `json:"chips"`  // the members of both series are shown
	Counted bool        `json:"counted"`
}

// soundData says which events of a set sound.
type soundData struct {
	Events int     `json:"events"` // index of pageData.Events
	Voices []int   `json:"voices"`
	From   int64   `json:"from"` // microseconds of the piece
	To     int64   `json:"to"`
	Rate   float64 `json:"rate"`
	Gain   float64 `json:"gain"`
	Auto   bool    `json:"auto"`
}

// pulseData is what the page draws of two tempos; of the slower one, in its times a second.
type pulseData struct {
	Slow  int     `json:"slow"` // voices
	Fast  int     `json:"fast"`
	Ratio float64 `json:"ratio"`
	Name  string  `json:"name"` // of the interval
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Hold  float64 `json:"hold"` // seconds at both ends
	Ramp  float64 `json:"ramp"`
	Tone  float64 `json:"tone"`
}

// clapData is when the hall claps, in microseconds.
type clapData struct {
	Count []int64 `json:"count"`
	Left  []int64 `json:"left"`
	Right []int64 `json:"right"`
}

type meetData struct {
	At    int64   `json:"at"`
	Place bool    `json:"place"` // a canon is at one place of the music then
	Notes [][]int `json:"notes"` // voice and note
}

type axisData struct {
	From   float64 `json:"from"`
	To     float64 `json:"to"`
	FromMM float64 `json:"fromMM"`
	ToMM   float64 `json:"toMM"`
}

type wheelData struct {
	Layer string  `json:"layer"`
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
	Teeth int     `json:"teeth"`
	Sense int     `json:"sense"`
}

// eventData are the columns of a set of events, in order of time.
type eventData struct {
	At    []int64 `json:"at"`  // microseconds of the piece
	Len   []int64 `json:"len"` // microseconds
	Tone  []int   `json:"tone"`
	Gain  []int   `json:"gain"` // thousandths
	Voice []int   `json:"voice"`
	Piano []int   `json:"piano"` // nil: all the first
}

type pianoData struct {
	Seat  float64 `json:"seat"`
	Width float64 `json:"width"`
}

type toneData struct {
	Start int64   `json:"start"` // frames
	Len   int64   `json:"len"`
	Key   int     `json:"key"`
	T60   float64 `json:"t60"`  // seconds in which its damper takes 60 dB; 0: none
	Kept  float64 `json:"kept"` // of what rings, the share that a hammer leaves that strikes again
}

// hearing is a set of events that one or several steps play.
type hearing struct {
	hear  Hear
	voice int // -1: all
}

// builder puts the page's data together.
type builder struct {
	l        *Lecture
	steps    []*Step // of the lecture, and what the page shows beside them
	data     *pageData
	bank     *Bank
	hearings []hearing
	events   [][]event.Event
}

func (l *Lecture) data(ctx context.Context, asked *whatIfData) (*pageData, *Bank, error) {
	b := &builder{l: l, steps: l.Steps, bank: newBank()}
	b.data = &pageData{Title: l.Title, Minutes: l.Minutes, Mono: l.Mono, Decimal: l.Book.Decimal("."),
		Words: pageWords(l.Book), Rate: bankRate}
	for i := range l.in.piece().Voices {
		b.data.Voices = append(b.data.Voices, lineOf(l.Book, l.in, i))
	}
	for _, p := range l.in.Pianos {
		b.data.Pianos = append(b.data.Pianos, pianoData{p.Seat, p.Width})
	}
	if asked != nil {
		asked.Step = len(b.steps)
		b.steps = append(slices.Clip(b.steps), l.whatIfStep())
	}
	for _, s := range b.steps {
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		if err := b.step(s); err != nil {
			return nil, nil, err
		}
	}
	if err := b.sounds(ctx); err != nil {
		return nil, nil, err
	}
	if asked != nil {
		asked.Tones = b.bank.tonesOf(l.in.Pianos)
		b.data.WhatIf = asked
	}
	return b.data, b.bank, nil
}

// pageWords are the words that the script needs, with their gaps.
func pageWords(book *words.Book) map[string]string {
	all := map[string]string{}
	for _, key := range book.Keys() {
		if len(key) > 5 && key[:5] == "page." {
			all[key[5:]] = book.Say(key, nil)
		}
	}
	return all
}

func (b *builder) step(s *Step) error {
	d := stepData{Kind: s.Kind.String(), Besides: s.Besides, Title: s.Title, Say: s.Say, Sec: round(s.Seconds(), 3),
		EndsAt: -1,
		Lines:  s.Voices}
	if s.Hear != Nothing {
		set, err := b.set(s)
		if err != nil {
			return err
		}
		d.Sound = &soundData{Events: set, Voices: s.Voices, From: onpage.Micros(s.FromSec),
			To: onpage.Micros(s.ToSec), Rate: s.Rate, Auto: s.Auto}
		if d.Roll, err = b.roll(s, b.events[set]); err != nil {
			return err
		}
		if s.Hear == Melody {
			items := melodyItems(b.l.in, s.Voices[0], b.events[set])
			d.Items = &items
		}
		d.Chips = len(s.Voices) == 1 && !s.apart()
		d.Counted = s.Hear == Rhythm || s.Hear == Knock
	} else if len(b.data.Rolls) == 0 {
		if _, err := b.roll(s, nil); err != nil {
			return err
		}
	}
	if p := s.pulses; p != nil {
		d.Pulses = &pulseData{p.slow, p.fast, p.ratio.Float64(), s.soundsAs, pulseSlowHz, pulseFastHz, pulseHoldSec,
			pulseRampSec, pulseToneSec}
	}
	if c := s.claps; c != nil {
		d.Claps = c.data()
	}
	if s.Kind == Together && s.cycle.reached && len(s.Voices) == 1 && s.Voices[0] == s.lead && s.Hear != Melody {
		d.EndsAt = onpage.Micros(s.cycle.endSec)
	}
	if s.Kind == Meeting && s.special { // nobody counts down to what comes all the time
		d.Meet = &meetData{At: onpage.Micros(s.MeetAt), Place: len(s.Place) > 0, Notes: [][]int{}}
		for _, m := range s.Meets {
			d.Meet.Notes = append(d.Meet.Notes, []int{m.Voice, m.Note})
		}
	}
	if f := s.Figure; f != nil && s.Hear != Melody {
		if f.Time != nil && !f.Time.Log {
			d.Time = &axisData{f.Time.From, f.Time.To, f.Time.FromMM, f.Time.ToMM}
		}
		for _, w := range f.Wheels {
			d.Wheels = append(d.Wheels, wheelData{w.Layer, w.Centre.X, w.Centre.Y, w.Teeth, w.Sense})
		}
	}
	b.data.Steps = append(b.data.Steps, d)
	return nil
}

// set is the index of the events that the step plays. Steps that play the score
// share one set, and so do those that play the roll.
func (b *builder) set(s *Step) (int, error) {
	h := hearing{s.Hear, -1}
	var voices []int
	switch {
	case s.Hear == Rhythm || s.Hear == Knock || s.Hear == Melody:
		h.voice, voices = s.Voices[0], s.Voices
	case s.apart(): // never shared
		h.voice = -2 - len(b.hearings)
	}
	if i := slices.Index(b.hearings, h); i >= 0 {
		return i, nil
	}
	events := s.Events()
	if !s.apart() {
		var err error
		if events, err = b.l.in.Events(h.hear, voices); err != nil {
			return 0, err
		}
	}
	slices.SortStableFunc(events, func(x, y event.Event) int {
		switch {
		case x.StartSec < y.StartSec:
			return -1
		case x.StartSec > y.StartSec:
			return 1
		}
		return 0
	})
	for i := range events {
		e := &events[i]
		if p := b.l.in.Pianos[e.Piano]; playable(e) && b.wanted(h, e) {
			b.bank.ask(p, e, h.hear.dull())
		}
	}
	b.hearings, b.events = append(b.hearings, h), append(b.events, events)
	return len(b.hearings) - 1, nil
}

// playable reports whether strings can sound an event.
func playable(e *event.Event) bool { return e.Key >= sound.LowestKey && e.Key <= sound.HighestKey }

// wanted reports whether any step plays the event; a series alone is long, and
// only its beginning is heard.
func (b *builder) wanted(h hearing, e *event.Event) bool {
	for _, s := range b.steps {
		if s.Hear == h.hear && e.StartSec < s.ToSec && e.EndSec >= s.FromSec && (e.Voice < 0 || s.heard(int(e.Voice))) {
			return true
		}
	}
	return false
}

// sounds computes the bank and writes the sets of events in its tones.
func (b *builder) sounds(ctx context.Context) error {
	if err := b.bank.render(ctx, b.l.in.Cache); err != nil {
		return err
	}
	for _, t := range b.bank.tones {
		d := toneData{Start: t.start, Len: t.frames, Key: int(t.key)}
		if c, err := sound.CourseOf(int(t.key)); err == nil {
			d.T60, d.Kept = round(c.DamperT60Sec, 4), round(c.KeptShare, 3)
		}
		b.data.Bank = append(b.data.Bank, d)
	}
	for i, h := range b.hearings {
		b.data.Events = append(b.data.Events, b.columns(h, b.events[i]))
	}
	for i := range b.data.Steps {
		if d := &b.data.Steps[i]; d.Sound != nil {
			d.Sound.Gain = round(b.gain(d.Sound), 4)
		}
	}
	return nil
}

func (b *builder) columns(h hearing, events []event.Event) *eventData {
	d := &eventData{At: []int64{}}
	for i := range events {
		e := &events[i]
		p := b.l.in.Pianos[e.Piano]
		tone, gain := b.bank.find(p, e, h.hear.dull())
		if tone < 0 || !playable(e) || !b.wanted(h, e) {
			continue
		}
		d.At = append(d.At, onpage.Micros(e.StartSec))
		d.Len = append(d.Len, onpage.Micros(lengthOf(p, e)))
		d.Tone = append(d.Tone, tone)
		d.Gain = append(d.Gain, int(math.Round(gain*1000)))
		d.Voice = append(d.Voice, int(e.Voice))
		if len(b.l.in.Pianos) > 1 {
			d.Piano = append(d.Piano, int(e.Piano))
		}
	}
	return d
}

// How loud the page plays before its limiter, which makes up 2 to 3 dB: a little
// softer than the program itself, and never so that one note alone would be cut
// off. Chosen by ear.
const (
	pageLUFS = -20
	mostPeak = 0.5
)

// gain is by what the samples of the bank are multiplied in a step: about equal
// loudness for all steps, reckoned from the energy of their notes (ITU-R
// BS.1770 without its weighting and its gate).
func (b *builder) gain(s *soundData) float64 {
	d := b.data.Events[s.Events]
	energy, peak := 0.0, 1e-9
	for i, at := range d.At {
		if at < s.From || at >= s.To || d.Voice[i] >= 0 && !slices.Contains(s.Voices, d.Voice[i]) {
			continue
		}
		t, gain := b.bank.tones[d.Tone[i]], float64(d.Gain[i])/1000
		energy += gain * gain * t.energyOf(float64(d.Len[i])/1e6)
		peak = max(peak, gain*t.peak*b.bank.gain)
	}
	if energy == 0 {
		return 0.5
	}
	mean := energy / (float64(s.To-s.From) / 1e6 * bankRate)
	return min(mostPeak/peak, math.Pow(10, (pageLUFS+0.691)/20)/math.Sqrt(mean))
}

// round keeps so many decimals.
func round(x float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.Round(x*p) / p
}

// roll is the index of the papers of the step: those of the piece, or of what it
// plays in its place.
func (b *builder) roll(s *Step, events []event.Event) (int, error) {
	if len(b.data.Rolls) == 0 {
		rolls, err := b.l.in.Rolls()
		if err != nil {
			return 0, err
		}
		b.paper(rolls)
	}
	if s.Hear != Rhythm && s.Hear != Knock && s.Hear != Melody {
		return 0, nil
	}
	laid, err := lay.Out(b.l.in.piece(), slices.Values(events), b.l.in.Instruments, lay.Options{})
	if err != nil {
		return 0, err
	}
	b.paper(laid)
	return len(b.data.Rolls) - 1, nil
}

func (b *builder) paper(rolls []*roll.Roll) {
	var set []int
	for _, r := range rolls {
		if len(r.Slots) == 0 && len(rolls) > 1 {
			continue
		}
		set = append(set, len(b.data.Papers))
		b.data.Papers = append(b.data.Papers, onpage.PaperOf(r))
	}
	b.data.Rolls = append(b.data.Rolls, set)
}
