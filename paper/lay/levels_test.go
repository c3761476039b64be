package lay

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rollwright/music/event"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

func at(level int16, e event.Event) event.Event { e.Level = level; return e }

// stepped is the 88-note roll with level ports of the given weights: for the
// bass at its own edge, for the treble at the other, or for both.
func stepped(t testing.TB, steps []int, bass, treble, both []int) *instrument.Instrument {
	return changed(t, "88-note", func(in *instrument.Instrument) {
		in.Levels = instrument.Levels{Kind: instrument.Steps, PlainLevel: 80, AccentLeadSec: 0.06, AccentCloseSec: 0.05,
			Steps: steps}
		ports := slices.Clone(in.Bar.Ports)
		across := 268.0
		for half, weights := range [][]int{instrument.BothHalves: both, instrument.Bass: bass, instrument.Treble: treble} {
			for _, w := range weights {
				across += 2.8
				ports = append(ports, instrument.Port{AcrossMM: across, Role: instrument.Level, Half: instrument.Half(half),
					Weight: w})
			}
		}
		in.Bar.Ports = ports
	})
}

// TestClosestAccent: one accented melody note among three plain ones of its half
// is outvoted: 112 for all is off by 32 three times, 80 for all once. In the
// other half it stands alone, and is accented.
func TestClosestAccent(t *testing.T) {
	r := lay(t, builtin(t, "88-note"), nil,
		at(112, note(0, 1, 90, 1, 2)), note(1, 1, 70, 1, 2), note(1, 2, 74, 1, 2), note(1, 3, 77, 1, 2),
		at(112, note(0, 2, 40, 3, 4)), note(1, 4, 70, 3, 4), note(1, 5, 74, 3, 4))
	if got := playedLevels(r); got != "80 80 80 80 112 80 80" {
		t.Errorf("played %s", got)
	}
}

// TestAccentsOfNeighbours, by hand. A theme port opens 20 ms before and, being a
// punch of 42.5 ms long, shuts 22.5 ms after. A plain note 10 ms after an accent of
// its half would be accented too; two such weigh more than the accent.
func TestAccentsOfNeighbours(t *testing.T) {
	for _, tt := range []struct {
		name   string
		events []event.Event
		want   string
	}{
		{"a plain one close after", []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 72, 1.01, 2)}, "112 112"},
		{"two plain ones close after", []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 72, 1.01, 2), note(1, 2, 74, 1.01, 2)}, "80 80 80"},
		{"two plain ones 25 ms after", []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 72, 1.025, 2), note(1, 2, 74, 1.025, 2)}, "112 80 80"},
		{"two plain ones close before", []event.Event{note(1, 1, 72, 1, 2), note(1, 2, 74, 1, 2), at(112, note(0, 1, 70, 1.015, 2))}, "80 80 80"},
		{"two plain ones 25 ms before", []event.Event{note(1, 1, 72, 1, 2), note(1, 2, 74, 1, 2), at(112, note(0, 1, 70, 1.025, 2))}, "80 80 112"},
		// Accents 80 ms apart leave the port 37.5 ms, which is its gap; 70 ms apart their openings are one.
		{"plain between accents", []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 72, 1.04, 2), at(112, note(0, 2, 74, 1.08, 2))}, "112 80 112"},
		{"plain between close accents", []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 72, 1.035, 2), at(112, note(0, 2, 74, 1.07, 2))}, "112 112 112"},
	} {
		if got := playedLevels(lay(t, builtin(t, "88-note"), nil, tt.events...)); got != tt.want {
			t.Errorf("%s: played %s, want %s", tt.name, got, tt.want)
		}
	}
}

// TestClosestStep: of 40, 60, 80, 100 the chord 100, 30 is closest to 60 (40*40 +
// 30*30 = 2500; 80 gives 2900), the chord 100, 98 to 100; each half for itself.
func TestClosestStep(t *testing.T) {
	steps := []int{40, 60, 80, 100}
	r := lay(t, stepped(t, steps, []int{1, 2}, []int{1, 2}, nil), nil,
		at(100, note(0, 1, 40, 1, 2)), at(30, note(0, 2, 43, 1, 2)), at(100, note(1, 1, 80, 1, 2)),
		at(98, note(1, 2, 84, 1, 2)))
	if got := playedLevels(r); got != "60 60 100 100" {
		t.Errorf("halves: played %s", got)
	}
	r = lay(t, stepped(t, steps, nil, nil, []int{1, 2}), nil,
		at(100, note(0, 1, 40, 1, 2)), at(30, note(0, 2, 43, 1, 2)), at(100, note(1, 1, 80, 1, 2)),
		at(98, note(1, 2, 84, 1, 2)))
	if got := playedLevels(r); got != "80 80 80 80" { // the mean is 82
		t.Errorf("both: played %s", got)
	}
	// A digit for the compass and one for each half: 100 in the treble and 80 in the bass share the higher.
	r = lay(t, stepped(t, steps, []int{1}, []int{1}, []int{2}), nil,
		at(80, note(0, 1, 40, 1, 2)), at(100, note(1, 1, 80, 1, 2)))
	if got := playedLevels(r); got != "80 100" {
		t.Errorf("mixed: played %s", got)
	}
}

// TestStepsNeedTheirLead: a change comes 60 ms before its notes, so notes 50 ms
// apart cannot differ: 40 and 100 once each are closest to 60 or 80 (the lower
// number is taken).
func TestStepsNeedTheirLead(t *testing.T) {
	in := stepped(t, []int{40, 60, 80, 100}, nil, nil, []int{1, 2})
	r := lay(t, in, nil, at(40, note(0, 1, 60, 1, 1.02)), at(100, note(0, 2, 62, 1.05, 1.1)))
	if got := playedLevels(r); got != "60 60" {
		t.Errorf("50 ms: played %s", got)
	}
	r = lay(t, in, nil, at(40, note(0, 1, 60, 1, 1.02)), at(100, note(0, 2, 62, 1.07, 1.1)))
	if got := playedLevels(r); got != "40 100" {
		t.Errorf("70 ms: played %s", got)
	}
}

// squaresOff is by how much a roll's notes are off, as its ports say it.
func squaresOff(r *roll.Roll) float64 {
	sum := 0.0
	for p := range r.Played() {
		for c := range r.Slots[p.Slot].Causes.All() {
			d := float64(p.Level - int(c.Level))
			sum += d * d
		}
	}
	return sum
}

// drawNotes are notes on keys of their own (so that none meets another), on a
// grid of 15 ms, of some levels.
func drawNotes(rt *rapid.T, most int) []event.Event {
	n := rapid.IntRange(1, most).Draw(rt, "notes")
	out := make([]event.Event, n)
	for i := range out {
		start := 1 + 0.015*float64(rapid.IntRange(0, 12*n).Draw(rt, "at"))
		out[i] = at(rapid.SampledFrom([]int16{20, 60, 80, 90, 112, 127}).Draw(rt, "level"),
			note(0, int32(i+1), int16(50+i), start, start+0.1))
	}
	slices.SortStableFunc(out, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
	return out
}

// TestAccentsAreTheBest: decoded from the ports, no other set of openings of the
// theme ports comes closer to what is written. All sets are laid out and
// decoded.
func TestAccentsAreTheBest(t *testing.T) {
	in := builtin(t, "88-note")
	rapid.Check(t, func(rt *rapid.T) {
		events := drawNotes(rt, 7)
		r := lay(t, in, nil, events...)
		got, best := squaresOff(r), math.Inf(1)
		var sets [3][]float64
		for _, e := range events {
			half := in.Bar.Half(int(e.Key))
			if n := len(sets[half]); n == 0 || sets[half][n-1] != e.StartSec {
				sets[half] = append(sets[half], e.StartSec)
			}
		}
		bass, treble := sets[instrument.Bass], sets[instrument.Treble]
		for set := range 1 << (len(bass) + len(treble)) {
			best = min(best, squaresOff(forced(t, in, events, bass, treble, set)))
		}
		if got > best {
			rt.Fatalf("off by %v, a better choice by %v: %v", got, best, events)
		}
	})
}

// forced lays out events with the theme ports opened at the chosen instants,
// whatever is written.
func forced(t testing.TB, in *instrument.Instrument, events []event.Event, bass, treble []float64, set int) *roll.Roll {
	plain := *in
	plain.Levels.Kind = instrument.NoLevels
	r := lay(t, &plain, nil, slices.Clone(events)...)
	l := newLayer(r, Options{})
	l.in = in
	l.levels = newLeveller(in)
	for half, list := range [][]float64{instrument.Bass: bass, instrument.Treble: treble} {
		var instants []instant
		var chosen []bool
		for _, sec := range list {
			instants, chosen = append(instants, instant{sec: sec}), append(chosen, set&1 == 1)
			set >>= 1
		}
		newAccents(l, instants).strike(l, l.levels.theme[half], chosen)
	}
	for i := range l.pending {
		if p := &l.pending[i]; p.slot >= 0 {
			l.settle(p, math.Inf(1))
		}
	}
	r.Sort()
	r.Instrument = in
	return r
}

// TestStepsRoundTrip: what the level ports say, decoded, is what was chosen for
// every note; it is what every note asks for where they are far enough apart
// and alone; and it is never worse than one step for all.
func TestStepsRoundTrip(t *testing.T) {
	steps := []int{20, 45, 60, 75, 90, 100, 112, 127}
	tracks := []*instrument.Instrument{
		stepped(t, steps, nil, nil, []int{1, 2, 4}),
		stepped(t, steps, []int{1, 2, 4}, []int{1, 2, 4}, nil),
		stepped(t, steps, []int{1, 2}, []int{1, 2}, []int{4}),
	}
	for _, in := range slices.Clone(tracks) {
		rows := *in
		rows.StepMM = 25.4 / 45
		tracks = append(tracks, &rows)
	}
	rapid.Check(t, func(rt *rapid.T) {
		in := rapid.SampledFrom(tracks).Draw(rt, "instrument")
		events := drawNotes(rt, 25)
		var chosen [128]int // by key, which is one note's alone
		l := newLayer(&roll.Roll{Instrument: in}, Options{})
		for i := range events {
			events[i].Part = 1
			l.take(&events[i])
		}
		for i := range l.levels.tracks {
			tr := l.levels.tracks[i]
			tr.collect(l.levels.halves)
			if len(tr.sec) == 0 {
				continue
			}
			states := tr.choose(l)
			for _, e := range events {
				half := in.Bar.Half(int(e.Key))
				if tr.levels[half] == nil {
					continue
				}
				k, _ := slices.BinarySearchFunc(tr.sec, e.StartSec, func(a, b float64) int {
					if math.Abs(a-b) < 1e-9 {
						return 0
					}
					return cmp.Compare(a, b)
				})
				chosen[e.Key] = tr.levels[half][states[k]]
			}
		}
		r := l.finish()
		for p := range r.Played() {
			key := in.Bar.Ports[r.Slots[p.Slot].Port].Key
			if p.Level != chosen[key] {
				rt.Fatalf("key %d sounds at %d, chosen was %d: %v", key, p.Level, chosen[key], events)
			}
		}
		for _, level := range steps {
			sum := 0.0
			for _, e := range events {
				sum += float64((int(e.Level) - level) * (int(e.Level) - level))
			}
			if got := squaresOff(r); got > sum {
				rt.Fatalf("off by %v, and %v with %d for all", got, sum, level)
			}
		}
	})
}

// TestStepsApart: notes 300 ms apart get the step nearest to each.
func TestStepsApart(t *testing.T) {
	steps := []int{20, 45, 60, 75, 90, 100, 112, 127}
	in := stepped(t, steps, []int{1, 2, 4}, []int{1, 2, 4}, nil)
	rapid.Check(t, func(rt *rapid.T) {
		levels := rapid.SliceOfN(rapid.Int16Range(1, 127), 1, 20).Draw(rt, "levels")
		var events []event.Event
		for i, level := range levels {
			events = append(events, at(level, note(0, int32(i+1), int16(50+i), float64(i)*0.3, float64(i)*0.3+0.1)))
		}
		r := lay(t, in, nil, events...)
		for p := range r.Played() {
			c := r.Slots[p.Slot].Causes.First
			off := func(level int) int { return max(level-int(c.Level), int(c.Level)-level) }
			if want := steps[in.Levels.NearestStep(int(c.Level))]; off(p.Level) != off(want) { // of two as near, either
				rt.Fatalf("%d sounds at %d, want %d", c.Level, p.Level, want)
			}
		}
	})
}
