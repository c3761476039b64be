package sound

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"rollwright/music/event"
)

// OfVoices are the events of the voices that keep says yes to.
func OfVoices(events iter.Seq[event.Event], keep func(voice int32) bool) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		for e := range events {
			if keep(e.Voice) && !yield(e) {
				return
			}
		}
	}
}

// OnlyRhythm is the rhythm of a voice alone: its events on one key, 0 to 127, one
// for each instant, however many notes it had. Of those that fall together the
// loudest level and the latest end stay. With Options.Knock they are heard as
// knocks without strings.
func OnlyRhythm(events []event.Event, key int16) []event.Event {
	sorted := byStart(events)
	out := make([]event.Event, 0, len(sorted))
	last := map[int32]int{}
	for _, e := range sorted {
		e.Key = key
		if i, ok := last[e.Voice]; ok && out[i].StartSec == e.StartSec {
			out[i].EndSec = max(out[i].EndSec, e.EndSec)
			out[i].Level = max(out[i].Level, e.Level)
			out[i].Single = out[i].Single && e.Single
			continue
		}
		last[e.Voice] = len(out)
		out = append(out, e)
	}
	return out
}

// OnlyMelody is the melody of one voice alone: its notes in their order, all of
// them eachSec long without a break, from where the first began. A chord stays a
// chord; the strokes of a gesture keep their proportions inside the time of their
// note. eachSec 0 is the voice's own mean, EvenSec.
func OnlyMelody(events []event.Event, eachSec float64) []event.Event {
	if eachSec == 0 {
		eachSec = EvenSec(events)
	}
	notes := notesOf(events)
	var out []event.Event
	for i, note := range notes {
		begin := notes[0][0].StartSec + float64(i)*eachSec
		from, to := note[0].StartSec, note[0].EndSec
		gesture := false
		for _, e := range note {
			to = max(to, e.EndSec)
			gesture = gesture || e.StartSec > from
		}
		for _, e := range note {
			start, end := 0.0, 1.0
			if gesture && to > from {
				start, end = (e.StartSec-from)/(to-from), (e.EndSec-from)/(to-from)
			}
			e.StartSec, e.EndSec, e.Single = begin+start*eachSec, begin+end*eachSec, false
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
	return out
}

// EvenSec is the mean time from note to note of a voice, or how long its only note
// lasts, and never less than 50 ms: what makes its melody in equal notes as long
// as it was.
func EvenSec(events []event.Event) float64 {
	const shortest = 0.05
	notes := notesOf(events)
	switch len(notes) {
	case 0:
		return shortest
	case 1:
		return max(shortest, notes[0][0].EndSec-notes[0][0].StartSec)
	}
	first, last := notes[0][0].StartSec, notes[len(notes)-1][0].StartSec
	return max(shortest, math.Abs(last-first)/float64(len(notes)-1))
}

// notesOf groups events by their note, in the order of the notes' numbers, each in
// order of time.
func notesOf(events []event.Event) [][]event.Event {
	byNote := map[int32][]event.Event{}
	for _, e := range byStart(events) {
		byNote[e.Note] = append(byNote[e.Note], e)
	}
	var notes [][]event.Event
	for _, note := range byNote {
		notes = append(notes, note)
	}
	slices.SortFunc(notes, func(a, b []event.Event) int { return cmp.Compare(a[0].Note, b[0].Note) })
	return notes
}

func byStart(events []event.Event) []event.Event {
	sorted := slices.Clone(events)
	slices.SortStableFunc(sorted, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
	return sorted
}
