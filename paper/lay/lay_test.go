package lay

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// changed is a built-in instrument with one thing different.
func changed(t testing.TB, name string, change func(*instrument.Instrument)) *instrument.Instrument {
	in := *builtin(t, name)
	change(&in)
	return &in
}

func lay(t testing.TB, in *instrument.Instrument, spans []roll.Span, events ...event.Event) *roll.Roll {
	t.Helper()
	for i := range events {
		events[i].Part = 1
		if events[i].Level == 0 {
			events[i].Level = 80
		}
	}
	rolls, err := Out(onePiano("a", "b"), slices.Values(events), []*instrument.Instrument{in}, Options{Spans: spans})
	if err != nil {
		t.Fatal(err)
	}
	return rolls[0]
}

// lines are the slots as text: port's task or key, edges, causes.
func lines(r *roll.Roll) string {
	var b strings.Builder
	for i := range r.Slots {
		s := &r.Slots[i]
		p := r.Instrument.Bar.Ports[s.Port]
		name := [...]string{instrument.Note: "", instrument.Sustain: "sustain", instrument.Soft: "soft",
			instrument.ThemeBass:   "bass accent",
			instrument.ThemeTreble: "treble accent", instrument.Level: fmt.Sprintf("level %d", p.Weight)}[p.Role]
		if p.Role == instrument.Note {
			name = pitch.Name(p.Key)
		}
		fmt.Fprintf(&b, "%s %.4f %.4f", name, s.LeadMM, s.TrailMM)
		for c := range s.Causes.All() {
			fmt.Fprintf(&b, " %c%d", 'a'+c.Voice, c.Note)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func wantLines(t *testing.T, r *roll.Roll, want string) {
	t.Helper()
	if got := lines(r); strings.TrimSpace(got) != strings.TrimSpace(want) {
		t.Errorf("slots\n%swant\n%s", got, want)
	}
}

func note(voice, n int32, key int16, start, end float64) event.Event {
	return event.Event{StartSec: start, EndSec: end, Voice: voice, Note: n, Key: key, Single: start == end}
}

// At roll tempo 80 the paper runs 40.64 mm/s: 0.1 s are 4.064 mm. The die is
// 1.7272 mm, the gap 1.4 mm of paper and 35 ms, which is 1.4224 mm.
func TestStrokesOnOnePort(t *testing.T) {
	in := builtin(t, "88-note")
	tests := []struct {
		name   string
		events []event.Event
		want   string
		fate   string
	}{
		{"apart", []event.Event{note(0, 1, 60, 0, 0.1), note(0, 2, 60, 0.2, 0.3)},
			"C4 0.0000 4.0640 a1\nC4 8.1280 12.1920 a2", ""},
		// The later one opens at 4.064; the earlier one ends 1.4224 before.
		{"moved back", []event.Event{note(0, 1, 60, 0, 0.1), note(0, 2, 60, 0.1, 0.2)},
			"C4 0.0000 2.6416 a1\nC4 4.0640 8.1280 a2", ""},
		// 77.5 ms are 3.1496 mm: exactly one punch and the gap.
		{"moved back to one punch", []event.Event{note(0, 1, 60, 0, 0.1), note(0, 2, 60, 0.0775, 0.2)},
			"C4 0.0000 1.7272 a1\nC4 3.1496 8.1280 a2", "cut a1 by a2, 0.0225 s"},
		{"too soon", []event.Event{note(0, 1, 60, 0, 0.1), note(0, 2, 60, 0.077, 0.2)},
			"C4 0.0000 8.1280 a1 a2", "lost a2 after a1, 0.0770 s"},
		{"too soon, the longer end stays", []event.Event{note(0, 1, 60, 0, 0.3), note(1, 1, 60, 0.07, 0.2)},
			"C4 0.0000 12.1920 a1 b1", "lost b1 after a1, 0.0700 s"},
		{"together", []event.Event{note(0, 1, 60, 0, 0.1), note(1, 1, 60, 0.0005, 0.2)},
			"C4 0.0000 8.1280 a1 b1", "shared b1 with a1"},
		{"cut off", []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0.5, 0.6)},
			"C4 0.0000 18.8976 a1\nC4 20.3200 24.3840 b1", "cut a1 by b1, 0.5000 s"},
		// Within a voice the loss is told of that voice, though another struck between.
		{"its own voice", []event.Event{note(0, 1, 60, 0, 0.1), note(1, 1, 60, 0, 0.1), note(0, 2, 60, 0.03, 0.1)},
			"C4 0.0000 4.0640 a1 b1 a2", "shared b1 with a1; lost a2 after a1, 0.0300 s"},
		{"single", []event.Event{note(0, 1, 60, 0.1, 0.1)}, "C4 4.0640 5.7912 a1", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := lay(t, in, nil, tt.events...)
			wantLines(t, r, tt.want)
			if got := fates(r); got != tt.fate {
				t.Errorf("fate %q, want %q", got, tt.fate)
			}
		})
	}
}

func fates(r *roll.Roll) string {
	var out []string
	name := func(c roll.Cause) string { return fmt.Sprintf("%c%d", 'a'+c.Voice, c.Note) }
	for _, c := range r.Clashes {
		switch c.Fate {
		case roll.Shared:
			out = append(out, fmt.Sprintf("shared %s with %s", name(c.Later), name(c.Earlier)))
		case roll.Lost:
			out = append(out, fmt.Sprintf("lost %s after %s, %.4f s", name(c.Later), name(c.Earlier), c.ApartSec))
		case roll.Cut:
			out = append(out, fmt.Sprintf("cut %s by %s, %.4f s", name(c.Earlier), name(c.Later), c.HeldSec))
		}
	}
	return strings.Join(out, "; ")
}

// TestOpenShare: with f = 0.25 a port of 2 mm opens when the row 0.5 mm before
// the leading edge lies on its middle, so slots are 1 mm shorter: from
// 40.64*0.1 + 0.5 to 40.64*0.3 - 0.5. An action that takes 50 ms has them
// 2.032 mm earlier.
func TestOpenShare(t *testing.T) {
	in := changed(t, "88-note", func(in *instrument.Instrument) {
		in.Bar.HeightMM, in.Bar.OpenShare, in.Action.DelaySec = 2, 0.25, 0.05
	})
	r := lay(t, in, nil, note(0, 1, 60, 0.1, 0.3))
	wantLines(t, r, "C4 2.5320 9.6600 a1")
	for e := range roll.Play(r) {
		if math.Abs(e.StartSec-0.1) > 1e-12 || math.Abs(e.EndSec-0.3) > 1e-12 {
			t.Errorf("sounds from %v to %v, want 0.1 to 0.3", e.StartSec, e.EndSec)
		}
	}
}

func TestPedals(t *testing.T) {
	span := func(role instrument.Role, from, to float64) roll.Span {
		return roll.Span{Voice: 1, Role: role, StartSec: from, EndSec: to}
	}
	spans := []roll.Span{
		span(instrument.Sustain, 1, 2), span(instrument.Sustain, 0, 0.5), span(instrument.Sustain, 0.4, 0.6),
		span(instrument.Soft, 0.1, 0.2),
	}
	r := lay(t, builtin(t, "88-note"), spans, note(0, 1, 60, 0, 0.1))
	wantLines(t, r, `
sustain 0.0000 24.3840
C4 0.0000 4.0640 a1
soft 4.0640 8.1280
sustain 40.6400 81.2800`)
	if r.EndSec != 2 {
		t.Errorf("the music ends at %v, want 2", r.EndSec)
	}
	if at := r.Instrument.Bar.Ports[r.Slots[0].Port].AcrossMM; math.Abs(at-11.641666666666667) > 1e-12 {
		t.Errorf("the sustaining pedal's port lies at %v", at) // third place beyond the lowest note: Chicago 1911
	}
	r = lay(t, builtin(t, "65-note"), spans)
	if len(r.NoPort) != 4 || len(r.Slots) != 0 {
		t.Errorf("%d spans without a port, %d slots", len(r.NoPort), len(r.Slots))
	}
}

func TestAccents(t *testing.T) {
	loud := func(e event.Event) event.Event { e.Level = 112; return e }
	r := lay(t, builtin(t, "88-note"), nil, loud(note(0, 1, 40, 1, 1.1)), loud(note(0, 2, 70, 2, 2.1)),
		note(1, 1, 71, 2, 2.1))
	// The theme ports open 20 ms before and shut 20 ms after: 0.8128 mm each way, and a punch is longer.
	wantLines(t, r, `
bass accent 39.8272 41.5544 a1
E2 40.6400 44.7040 a1
treble accent 80.4672 82.1944 a2
A#4 81.2800 85.3440 a2
B4 81.2800 85.3440 b1`)
	if got := playedLevels(r); got != "112 112 112" {
		t.Errorf("played %s: what begins with an accent of its half is accented", got)
	}
	shifted := changed(t, "88-note", func(in *instrument.Instrument) { in.Levels.AccentShiftSec = 0.03 })
	r = lay(t, shifted, nil, loud(note(0, 1, 70, 2, 2.1)), note(1, 1, 40, 2, 2.1), note(1, 1, 71, 2, 2.1),
		note(1, 2, 60, 2.02, 2.1))
	// 30 ms are 1.2192 mm. The other half has no accent and stays.
	wantLines(t, r, `
treble accent 80.4672 82.1944 a1
E2 81.2800 85.3440 b1
A#4 81.2800 85.3440 a1
C4 82.0928 85.3440 b2
B4 82.4992 85.3440 b1`)
	if got := playedLevels(r); got != "80 112 80 80" {
		t.Errorf("played %s", got)
	}
}

func playedLevels(r *roll.Roll) string {
	var out []string
	for p := range r.Played() {
		out = append(out, fmt.Sprint(p.Level))
	}
	return strings.Join(out, " ")
}

// TestSteps: two ports spell four levels for the whole compass.
func TestSteps(t *testing.T) {
	in := changed(t, "88-note", func(in *instrument.Instrument) {
		in.Levels = instrument.Levels{Kind: instrument.Steps, PlainLevel: 80, AccentLeadSec: 0.1, AccentCloseSec: 0.1,
			Steps: []int{40, 60, 80, 100}}
		in.Bar.Ports = append(slices.Clone(in.Bar.Ports),
			instrument.Port{AcrossMM: 278, Role: instrument.Level, Weight: 1},
			instrument.Port{AcrossMM: 281, Role: instrument.Level, Weight: 2})
	})
	level := func(l int16, e event.Event) event.Event { e.Level = l; return e }
	r := lay(t, in, nil,
		level(60, note(0, 1, 60, 1, 1.1)), level(100, note(0, 2, 62, 2, 2.1)), level(98, note(1, 1, 90, 2, 2.1)),
		level(85, note(0, 3, 64, 3, 3.1)), level(49, note(0, 4, 65, 4, 4.1)))
	// Weight 1 is open from 0.1 s before the first note to 0.1 s before the third, weight 2 from the second to the fourth.
	wantLines(t, r, `
level 1 36.5760 117.8560 a1
C4 40.6400 44.7040 a1
level 2 77.2160 158.4960 a2
D4 81.2800 85.3440 a2
F#6 81.2800 85.3440 b1
E4 121.9200 125.9840 a3
F4 162.5600 166.6240 a4`)
	if got := playedLevels(r); got != "60 100 100 80 40" {
		t.Errorf("played %s", got)
	}
}

func TestPianosAndCompass(t *testing.T) {
	p := onePiano("a", "b")
	p.Pianos = []piece.Piano{{Name: "left", RollTempo: exact.NewRat(100, 1)}, {Name: "right"}}
	left, right := note(0, 1, 60, 1, 1.1), note(1, 1, 60, 1, 1.1)
	right.Piano = 1
	low := note(1, 2, 20, 2, 3)
	low.Piano = 1
	same := builtin(t, "88-note")
	rolls, err := Out(p, slices.Values([]event.Event{left, right, low}), []*instrument.Instrument{same, same}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	wantLines(t, rolls[0], "C4 50.8000 55.8800 a1") // ten feet a minute
	wantLines(t, rolls[1], "C4 40.6400 44.7040 b1")
	if o := rolls[1].Outside; len(o) != 1 || o[0].Key != 20 || o[0].Cause.Note != 2 || rolls[1].EndSec != 3 {
		t.Errorf("outside %v, end %v", o, rolls[1].EndSec)
	}
	// 1200 leader, 3 s of 40.64 mm, 500 trailer.
	if got := rolls[1].LengthMM(); math.Abs(got-1821.92) > 1e-9 {
		t.Errorf("the roll is %v mm long", got)
	}
	p.Pianos[0].RollTempo = exact.NewRat(5000, 1)
	if _, err := Out(p, slices.Values([]event.Event{}), []*instrument.Instrument{same, same}, Options{}); err == nil {
		t.Error("a roll tempo of 5000 is taken")
	}
}

// TestStepNeverAddsUp: on a perforator with rows every leading edge lies within
// half a step of its time, whatever came before.
func TestStepNeverAddsUp(t *testing.T) {
	in := builtin(t, "88-note-45")
	var events []event.Event
	for i := range 5000 {
		start := float64(i) * 0.1001
		events = append(events, note(0, int32(i+1), int16(21+i%88), start, start+0.2))
	}
	r := lay(t, in, nil, events...)
	for _, s := range r.Slots {
		if math.Abs(s.LeadMM-s.OpenMM) > in.StepMM/2+1e-9 {
			t.Fatalf("%v from %v", s.LeadMM, s.OpenMM)
		}
	}
}

// TestLaidRolls: whatever is played, slots are in order; those of one port
// leave the action its gaps; every event is in a slot or noted as outside;
// what the roll plays begins within the arithmetic of when the event did.
func TestLaidRolls(t *testing.T) {
	names := []string{"88-note", "88-note-spool", "88-note-45", "65-note"}
	rapid.Check(t, func(rt *rapid.T) {
		in := builtin(t, rapid.SampledFrom(names).Draw(rt, "instrument"))
		events := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) event.Event {
			start := float64(rapid.IntRange(0, 4000).Draw(t, "ms")) / 1000
			end := start + float64(rapid.IntRange(0, 500).Draw(t, "long"))/1000
			e := note(int32(rapid.IntRange(0, 1).Draw(t, "voice")), 1, int16(rapid.IntRange(58, 64).Draw(t, "key")), start, end)
			e.Level = int16(rapid.IntRange(1, 127).Draw(t, "level"))
			return e
		}), 0, 60).Draw(rt, "events")
		slices.SortStableFunc(events, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
		r := lay(t, in, nil, events...)
		last, causes := map[int32]*roll.Slot{}, 0
		for i := range r.Slots {
			s := &r.Slots[i]
			if i > 0 && roll.CompareSlots(&r.Slots[i-1], s) >= 0 {
				rt.Fatalf("slots %d and %d are out of order", i-1, i)
			}
			if before := last[s.Port]; before != nil && s.LeadMM-before.TrailMM < in.Action.GapPaperMM-1e-6 {
				rt.Fatalf("a gap of %v mm", s.LeadMM-before.TrailMM)
			}
			if s.TrailMM < s.LeadMM+in.Die.DiameterMM-1e-9 {
				rt.Fatalf("a slot from %v to %v", s.LeadMM, s.TrailMM)
			}
			last[s.Port] = s
			if in.Bar.Ports[s.Port].Role == instrument.Note {
				for range s.Causes.All() {
					causes++
				}
			}
		}
		if causes+len(r.Outside) != len(events) {
			rt.Fatalf("%d causes and %d outside of %d events", causes, len(r.Outside), len(events))
		}
		for e := range roll.Play(r) {
			at := slices.IndexFunc(events, func(f event.Event) bool {
				return f.Key == e.Key && math.Abs(f.StartSec-e.StartSec) <= in.StepMM/2/40+1e-9
			})
			if at < 0 {
				rt.Fatalf("the roll sounds %v, which nobody wrote", e)
			}
		}
	})
}
