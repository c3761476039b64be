package event

import (
	"cmp"
	"iter"
	"slices"
)

// Span is a stretch of time during which the sustaining pedal of a piano is
// down.
type Span struct {
	Piano            int16
	StartSec, EndSec float64
}

// Sustain are the events as the sustaining pedal leaves them: a note that would
// end while the pedal of its piano is down goes on until the pedal comes up.
// That the next stroke of its key ends it is sound.Mix's affair. Spans come in any
// order and may overlap. A single
// punch under the pedal becomes a note up to there.
func Sustain(events iter.Seq[Event], spans []Span) iter.Seq[Event] {
	if len(spans) == 0 {
		return events
	}
	held := joined(spans)
	return func(yield func(Event) bool) {
		for e := range events {
			if end, ok := pedalUp(held[e.Piano], e.EndSec); ok {
				e.EndSec, e.Single = end, false
			}
			if !yield(e) {
				return
			}
		}
	}
}

// joined are the spans of each piano in order of time, those that overlap
// made one.
func joined(spans []Span) map[int16][]Span {
	sorted := slices.Clone(spans)
	slices.SortStableFunc(sorted, func(a, b Span) int { return cmp.Compare(a.StartSec, b.StartSec) })
	held := map[int16][]Span{}
	for _, s := range sorted {
		list := held[s.Piano]
		if n := len(list); n > 0 && s.StartSec < list[n-1].EndSec {
			list[n-1].EndSec = max(list[n-1].EndSec, s.EndSec)
			continue
		}
		held[s.Piano] = append(list, s)
	}
	return held
}

// pedalUp is when the pedal that is down at sec comes up, and whether one is.
func pedalUp(spans []Span, sec float64) (float64, bool) {
	i, found := slices.BinarySearchFunc(spans, sec, func(s Span, sec float64) int {
		switch {
		case s.EndSec <= sec:
			return -1
		case s.StartSec > sec:
			return 1
		}
		return 0
	})
	if !found {
		return 0, false
	}
	return spans[i].EndSec, true
}
