package event

import (
	"cmp"
	"iter"
	"slices"
)

// Span is a stretch of time during which a pedal of a piano is down: the sustaining one, unless
// whoever takes it says otherwise.
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
	held := Held(spans)
	return func(yield func(Event) bool) {
		for e := range events {
			if end, ok := held.At(e.Piano, e.EndSec); ok {
				e.EndSec, e.Single = end, false
			}
			if !yield(e) {
				return
			}
		}
	}
}

// A Pedal knows when one pedal of each of several pianos is down.
type Pedal struct{ spans map[int16][]Span }

// Held is the pedal of spans in any order, which may overlap.
func Held(spans []Span) Pedal {
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
	return Pedal{held}
}

// At reports whether the pedal of a piano is down at a time, which counts from the moment it goes
// down to before it comes up, and when it comes up.
func (p Pedal) At(piano int16, sec float64) (upSec float64, down bool) {
	spans := p.spans[piano]
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
