package show

import (
	"cmp"
	"slices"

	"rollwright/plan"
)

// How many meeting points a lecture has by itself: at most, and when none of
// them is rare.
const (
	mostMeetings  = 8
	mostEverydays = 4
)

// rarely is how often two voices may meet for each meeting to be worth a step.
const rarely = 6

// instant is a time at which notes of several voices begin.
type instant struct {
	sec   float64
	met   []Met // in order of voice
	canon bool  // where the voices of a canon meet
	rare  bool  // two of its voices meet hardly ever
	fresh int   // how many series begin again there
}

// meetingSteps are the meeting points one by one, in order of time: those of
// canons, those of voices that hardly ever meet, or else those at which the most
// voices fall together.
func meetingSteps(in *Input) []*Step {
	chosen := chooseMeetings(meetings(in))
	var steps []*Step
	for i, m := range chosen {
		s := &Step{Name: "meeting " + itoa(i+1), Kind: Meeting, Meets: m.met, MeetAt: m.sec, of: i + 1, lead: m.met[0].Voice, other: m.met[1].Voice}
		for _, v := range m.met {
			s.Voices = append(s.Voices, v.Voice)
		}
		s.FromSec = max(0, m.sec-beforeSec)
		s.ToSec = max(m.sec+0.5, min(in.Performance.EndSec, m.sec+afterSec))
		steps = append(steps, s)
	}
	return steps
}

// meetings are all instants at which voices of the plan meet, in order of time.
func meetings(in *Input) []*instant {
	p := in.Plan()
	number := map[string]int{}
	for i, v := range in.piece().Voices {
		number[v.Name] = i
	}
	at := map[int64]*instant{}
	for _, pair := range p.Pairs {
		if f := in.Performance.Lines; f[number[pair.A]].Notes < fewNotes || f[number[pair.B]].Notes < fewNotes {
			continue // a last chord meets what it was put to
		}
		for _, m := range pair.Meetings.List {
			i := at[nanos(m.At)]
			if i == nil {
				i = &instant{sec: m.At.Decimal}
				at[nanos(m.At)] = i
			}
			i.meet(number[pair.A], int(m.NoteA))
			i.meet(number[pair.B], int(m.NoteB))
			i.rare = i.rare || pair.Meetings.Count <= rarely
		}
	}
	for _, c := range p.Canons {
		if i := at[nanos(c.At)]; i != nil {
			i.canon = true
		}
	}
	fresh := beginnings(in)
	all := make([]*instant, 0, len(at))
	for _, i := range at {
		if i.beginning() {
			continue // voices that start at one time meet by starting
		}
		for _, m := range i.met {
			i.fresh += fresh[m]
		}
		slices.SortFunc(i.met, func(a, b Met) int { return cmp.Compare(a.Voice, b.Voice) })
		all = append(all, i)
	}
	slices.SortFunc(all, func(a, b *instant) int { return cmp.Compare(a.sec, b.sec) })
	return all
}

// beginning reports whether every voice strikes its first note.
func (i *instant) beginning() bool {
	return !i.canon && !slices.ContainsFunc(i.met, func(m Met) bool { return m.Note != 1 })
}

// beginnings are the notes with which a series begins again, and how many do.
func beginnings(in *Input) map[Met]int {
	fresh := map[Met]int{}
	for v, line := range in.Performance.Lines {
		talea, color := -1, -1
		for item := range line.All() {
			if item.Silent {
				continue
			}
			if item.Talea != talea {
				fresh[Met{v, item.Note}]++
			}
			if item.Color != color {
				fresh[Met{v, item.Note}]++
			}
			talea, color = item.Talea, item.Color
		}
	}
	return fresh
}

func (i *instant) meet(voice, note int) {
	if !slices.ContainsFunc(i.met, func(m Met) bool { return m.Voice == voice }) {
		i.met = append(i.met, Met{voice, note})
	}
}

// nanos is a time in whole nanoseconds, by which meetings of several pairs are
// known to be one.
func nanos(n plan.Number) int64 { return micros(n.Decimal * 1000) }

// telling is how much a meeting says: first those of canons, then rare ones,
// then those of many voices and many series.
func (i *instant) telling() int {
	switch {
	case i.canon:
		return 1e6 + len(i.met)
	case i.rare:
		return 1e5 + len(i.met)
	}
	return 20*len(i.met) + i.fresh
}

// chooseMeetings keeps the most telling of all meetings, in order of time:
// everyday ones only where there is nothing better.
func chooseMeetings(all []*instant) []*instant {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b *instant) int { return cmp.Compare(b.telling(), a.telling()) })
	n := 0
	for n < min(len(sorted), mostMeetings) && sorted[n].telling() >= 1e5 {
		n++
	}
	if n == 0 {
		n = min(len(sorted), mostEverydays)
	}
	chosen := sorted[:n]
	slices.SortFunc(chosen, func(a, b *instant) int { return cmp.Compare(a.sec, b.sec) })
	return chosen
}

// meetingOf is the instant at which two voices of a canon meet, else their first
// meeting.
func meetingOf(in *Input, a, b int) (float64, bool) {
	voices := in.piece().Voices
	p := in.Plan()
	if c := voices[a].Canon; c >= 0 && c == voices[b].Canon {
		for _, canon := range p.Canons {
			if canon.Name == in.piece().Canons[c].Name {
				return canon.At.Decimal, true
			}
		}
	}
	if pair := pairOf(in, a, b); pair != nil && pair.Meetings.First != nil {
		return pair.Meetings.First.At.Decimal, true
	}
	return 0, false
}

// pairOf is what the plan knows of two voices, or nil.
func pairOf(in *Input, a, b int) *plan.Pair {
	p := in.Plan()
	nameA, nameB := in.piece().Voices[min(a, b)].Name, in.piece().Voices[max(a, b)].Name
	for i := range p.Pairs {
		if p.Pairs[i].A == nameA && p.Pairs[i].B == nameB {
			return &p.Pairs[i]
		}
	}
	return nil
}
