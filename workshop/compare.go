package workshop

import (
	"cmp"
	"context"
	"fmt"
	"iter"
	"math"

	"rollwright/music/event"
	"rollwright/sound"
)

// betweenSec is the silence between two sounds that are compared: long enough to tell them apart,
// short enough to remember the first (chosen by ear).
const betweenSec = 1

// compared mixes with the one and with the other of what l compares. The louder is brought down
// to the softer, for the louder of two sounds seems the better one.
func (j *Job) compared(ctx context.Context, l Listening) (*Heard, error) {
	set, err := comparison(l.Compare)
	if err != nil {
		return nil, err
	}
	var mixed [2]*sound.Sound
	for i, name := range l.Compare {
		one := l
		one.Compare = [2]string{}
		set(&one, name)
		h, err := j.Hear(ctx, one)
		if err != nil {
			if i == 1 {
				mixed[0].Close()
			}
			return nil, err
		}
		mixed[i] = h.Sound
	}
	a, b := mixed[0].Report().LUFS, mixed[1].Report().LUFS
	if !math.IsInf(a, -1) && !math.IsInf(b, -1) {
		mixed[0].Lower(max(0, a-b))
		mixed[1].Lower(max(0, b-a))
	}
	return &Heard{Sound: mixed[0], job: j, how: l, then: mixed[1]}, nil
}

// Comparable refuses names that are not two hammers, or two tunings.
func Comparable(names [2]string) error {
	_, err := comparison(names)
	return err
}

// comparison is what two names change: hammers, or the tuning. Errors: they are neither, or the
// same.
func comparison(names [2]string) (set func(*Listening, string), err error) {
	if names[0] == names[1] {
		return nil, fmt.Errorf("nothing to compare: %s and %s are the same", names[0], names[1])
	}
	hammers, tuning := true, true
	for _, name := range names {
		_, notHammers := sound.ParseHammers(name)
		_, noTuning := sound.ParseTuning(name, 440)
		hammers, tuning = hammers && notHammers == nil, tuning && noTuning == nil
	}
	switch {
	case hammers:
		return func(l *Listening, name string) { l.Hammers = name }, nil
	case tuning:
		return func(l *Listening, name string) { l.Tuning = name }, nil
	}
	return nil, fmt.Errorf("%s and %s cannot be compared: two hammers can, and two tunings", names[0], names[1])
}

// Report is what is known of the sound; of two that are compared, of both together, as loud as
// each of them.
func (h *Heard) Report() sound.Report {
	r := h.Sound.Report()
	if h.then != nil {
		second := h.then.Report()
		r.Frames += int64(betweenSec*r.SampleRate) + second.Frames
		r.Strokes += second.Strokes
		r.TruePeakDB, r.LimitDB = max(r.TruePeakDB, second.TruePeakDB), max(r.LimitDB, second.LimitDB)
	}
	return r
}

// Play is that of sound.Sound, of two that are compared one after the other.
func (h *Heard) Play(ctx context.Context, sink func(left, right []float32) error) error {
	if err := h.Sound.Play(ctx, sink); err != nil || h.then == nil {
		return err
	}
	r := h.Sound.Report()
	left := make([]float32, betweenSec*r.SampleRate)
	right := left
	if r.Channels == 1 {
		right = nil
	}
	if err := sink(left, right); err != nil {
		return err
	}
	return h.then.Play(ctx, sink)
}

// Close lets go of memory and temporary files.
func (h *Heard) Close() error {
	err := h.Sound.Close()
	if h.then != nil {
		err = cmp.Or(err, h.then.Close())
	}
	return err
}

// setApart lays pianos, or the voices of one, from hard left to hard right.
func (j *Job) setApart(o *sound.Options) {
	place := func(i, n int) float64 {
		if n < 2 {
			return 0
		}
		return 2*float64(i)/float64(n-1) - 1
	}
	if n := len(o.Pianos); n > 1 {
		for i := range o.Pianos {
			o.Pianos[i].Seat, o.Pianos[i].Width = place(i, n), 0
		}
		return
	}
	for i := range j.Voices {
		o.Places = append(o.Places, place(i, len(j.Voices)))
	}
}

// again are the events of the stretch that options name so many times, one after the other,
// without a break. What began before it is left out, and what sounds at its end is cut there, but
// for what rings.
func (j *Job) again(events iter.Seq[event.Event], o *sound.Options, times int) iter.Seq[event.Event] {
	from, to := o.FromSec, o.ToSec
	if to == 0 {
		to = j.EndSec
	}
	long := to - from
	var soft []event.Span
	for n := range times {
		for _, s := range o.Soft {
			if s.EndSec = min(s.EndSec, to); s.StartSec < to && s.EndSec > from {
				soft = append(soft, event.Span{Piano: s.Piano, StartSec: max(from, s.StartSec) + float64(n)*long,
					EndSec: s.EndSec + float64(n)*long})
			}
		}
	}
	o.Soft, o.ToSec = soft, from+float64(times)*long
	return func(yield func(event.Event) bool) {
		for e := range events {
			if e.StartSec >= to || e.StartSec < from {
				continue
			}
			e.EndSec = max(e.StartSec, min(e.EndSec, to))
			for n := range times {
				late := e
				late.StartSec += float64(n) * long
				late.EndSec += float64(n) * long
				if !yield(late) {
					return
				}
			}
		}
	}
}
