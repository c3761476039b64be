package show

import (
	"cmp"
	"slices"

	"rollwright/music/plan"
	"rollwright/telling/onpage"
)

// How many meeting points a lecture has by itself: at most, and when none of
// them is rare.
const (
	mostMeetings  = 8
	mostEverydays = 4
)

// rarely is how often two voices may meet for each meeting to be worth a step.
const rarely = 6

// instant is a time at which notes of several voices begin, or at which voices
// of a canon are at the same place of the music.
type instant struct {
	sec   float64
	met   []Met     // in order of voice; none where no notes begin together
	canon []int     // whose meeting point it is
	place []int     // voices of those canons that play then
	least encounter // those of its voices that strike together most rarely; count 0: none do
	fresh int       // how many series begin again there
}

// meetingSteps are the meeting points one by one, in order of time: those of
// canons, those of voices that hardly ever meet, or else those at which the most
// voices fall together.
func meetingSteps(in *Input) []*Step {
	chosen := chooseMeetings(meetings(in))
	var steps []*Step
	of := map[bool]int{}
	for i, m := range chosen {
		of[len(m.place) > 0]++
		s := &Step{Name: "meeting " + itoa(i+1), Kind: Meeting, Meets: m.met, MeetAt: m.sec, canons: m.canon, Place: m.place,
			of: of[len(m.place) > 0], rarest: m.least, fresh: m.fresh, special: m.rare() || len(m.canon) > 0}
		s.Voices = m.voices()
		s.lead, s.other = s.Voices[0], s.Voices[1]
		if len(m.place) > 0 {
			s.lead, s.other = m.place[0], m.place[1]
		}
		s.FromSec = max(0, m.sec-beforeSec)
		s.ToSec = max(m.sec+0.5, min(in.Performance.EndSec, m.sec+afterSec))
		steps = append(steps, s)
	}
	return steps
}

// voices are those that meet, in file order.
func (i *instant) voices() []int {
	all := slices.Clone(i.place)
	for _, m := range i.met {
		all = append(all, m.Voice)
	}
	slices.Sort(all)
	return slices.Compact(all)
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
			if i.least.count == 0 || pair.Meetings.Count < i.least.count {
				i.least = encounter{number[pair.A], number[pair.B], pair.Meetings.Count}
			}
		}
	}
	for c := range p.Canons {
		if len(p.Canons[c].Crossings) == 0 {
			canonPoint(in, c, at)
		}
	}
	fresh := beginnings(in)
	all := make([]*instant, 0, len(at))
	for _, i := range at {
		if i.beginning() {
			continue // voices that start at one time meet by starting
		}
		i.everybody(in)
		for _, m := range i.met {
			i.fresh += fresh[m]
		}
		slices.SortFunc(i.met, func(a, b Met) int { return cmp.Compare(a.Voice, b.Voice) })
		all = append(all, i)
	}
	slices.SortFunc(all, func(a, b *instant) int { return cmp.Compare(a.sec, b.sec) })
	return all
}

// canonPoint adds the meeting point of a canon to instants by their nanoseconds.
// One at which no notes fall counts too, unless all its voices only begin there.
func canonPoint(in *Input, canon int, at map[int64]*instant) {
	point := in.Plan().Canons[canon].At
	place, begun := playing(in, in.piece().Canons[canon].Voices, point.Decimal)
	i := at[nanos(point)]
	if len(place) < 2 || i == nil && !begun {
		return
	}
	if i == nil {
		i = &instant{sec: point.Decimal}
		at[nanos(point)] = i
	}
	i.canon, i.place = append(i.canon, canon), append(i.place, place...)
}

// playing are those of the voices that are under way at a time, their start and
// end included; begun reports whether any has begun before.
func playing(in *Input, voices []int, sec float64) (under []int, begun bool) {
	for _, v := range voices {
		line := in.Performance.Lines[v]
		if sec >= line.StartSec-leastSec && sec <= line.EndSec+leastSec {
			under = append(under, v)
			begun = begun || sec > line.StartSec+leastSec
		}
	}
	return under, begun
}

// beginning reports whether every voice strikes its first note.
func (i *instant) beginning() bool {
	return len(i.canon) == 0 && !slices.ContainsFunc(i.met, func(m Met) bool { return m.Note != 1 })
}

// rare reports whether two of its voices strike together hardly ever.
func (i *instant) rare() bool { return i.least.count > 0 && i.least.count <= rarely }

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

// sameSec is how far times of one instant may lie apart by rounding.
const sameSec = 1e-7

// everybody adds the voices that strike then too, whether or not the plan compares
// them.
func (i *instant) everybody(in *Input) {
	if len(i.met) == 0 {
		return
	}
	for v, line := range in.Performance.Lines {
		if note := noteAt(line, i.sec, sameSec); note > 0 {
			i.meet(v, note)
		}
	}
}

func (i *instant) meet(voice, note int) {
	if !slices.ContainsFunc(i.met, func(m Met) bool { return m.Voice == voice }) {
		i.met = append(i.met, Met{voice, note})
	}
}

// nanos is a time in whole nanoseconds, by which meetings of several pairs are
// known to be one.
func nanos(n plan.Number) int64 { return onpage.Micros(n.Decimal * 1000) }

// telling is how much a meeting says: first those of canons, then rare ones,
// then those of many voices and many series.
func (i *instant) telling() int {
	switch {
	case len(i.canon) > 0:
		return 1e6 + len(i.met)
	case i.rare():
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
	if c := voices[a].Canon; c >= 0 && c == voices[b].Canon && !in.piece().Canons[c].Crosses() {
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
