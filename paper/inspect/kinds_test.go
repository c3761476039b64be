package inspect

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

func load(t testing.TB, name string, change func(*instrument.Instrument)) *instrument.Instrument {
	t.Helper()
	in, err := instrument.Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	copied := *in
	copied.Bar.Ports = slices.Clone(in.Bar.Ports)
	if change != nil {
		change(&copied)
	}
	return &copied
}

// twoVoices is a piece with voices "low" and "high" whose attributes stand in
// lines 2 to 8.
func twoVoices() *piece.Piece {
	voice := func(name string, line int) piece.Voice {
		return piece.Voice{Name: name, Places: piece.Places{
			"": {Line: line, Column: 1}, "color": {Line: line + 1, Column: 3}, "hold": {Line: line + 2, Column: 3},
		}}
	}
	return &piece.Piece{
		File: &source.File{Name: "tide.piece"}, Pianos: []piece.Piano{{}},
		Voices: []piece.Voice{voice("low", 2), voice("high", 6)},
	}
}

func rollsOf(t testing.TB, p *piece.Piece, in *instrument.Instrument, spans []roll.Span,
	events ...event.Event) []*roll.Roll {
	t.Helper()
	rolls, err := lay.Out(p, slices.Values(events), []*instrument.Instrument{in}, lay.Options{Spans: spans})
	if err != nil {
		t.Fatal(err)
	}
	return rolls
}

// note is an event at mf; one that ends where it starts is a single punch.
func note(voice, n int32, key int16, start, end float64) event.Event {
	return event.Event{StartSec: start, EndSec: end, Voice: voice, Note: n, Part: 1, Key: key, Level: 80,
		Single: start == end}
}

func chord(voice, n int32, start, end float64, keys ...int16) []event.Event {
	var out []event.Event
	for _, k := range keys {
		out = append(out, note(voice, n, k, start, end))
	}
	return out
}

func brief(f Finding) string {
	text := fmt.Sprintf("%s %s: %s", f.Severity, f.Kind, f.Message())
	if r := f.Remedy(); r != "" {
		text += " -> " + r
	}
	return text + " @ " + f.Where()
}

func wantFindings(t *testing.T, p *piece.Piece, rolls []*roll.Roll, want ...string) {
	t.Helper()
	var got []string
	for f := range All(p, rolls) {
		got = append(got, brief(f))
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(want, "\n  "))
	}
}

// At roll tempo 80 the paper runs 40.64 mm/s; the die is 1.7272 mm.
func TestKinds(t *testing.T) {
	var scale, twenty []int16
	for key := int16(30); key < 70; key += 2 {
		twenty = append(twenty, key)
	}
	for key := int16(21); key <= 108; key++ {
		scale = append(scale, key)
	}
	tests := []struct {
		name       string
		instrument string
		change     func(*instrument.Instrument)
		spans      []roll.Span
		events     []event.Event
		want       []string
	}{
		{name: "nothing", events: chord(0, 1, 0, 1, 36, 43, 48)},
		{name: "outside the compass", events: []event.Event{note(0, 1, 60, 0, 1), note(0, 2, 18, 1, 2), note(1, 1, 109, 2, 3)}, want: []string{
			"forbids outside the compass: F#0 is outside the compass, which runs from A0 to C8 -> transpose = 3 in low brings it in, transpose = 12 by whole octaves @ 1.000 s, 40.6 mm, F#0, low note 2, tide.piece:3",
			"forbids outside the compass: C#8 is outside the compass, which runs from A0 to C8 -> transpose = -1 in high brings it in, transpose = -12 by whole octaves @ 2.000 s, 81.3 mm, C#8, high note 1, tide.piece:7",
		}},
		// From F#0 to A7 are 87 semitones, as from A0 to C8: 3 up fit, an octave does not. C8 with it leaves no room at all.
		{name: "outside the compass, hardly room", events: []event.Event{note(0, 1, 105, 0, 1), note(0, 2, 18, 1, 2)}, want: []string{
			"forbids outside the compass: F#0 is outside the compass, which runs from A0 to C8 -> transpose = 3 in low brings it in @ 1.000 s, 40.6 mm, F#0, low note 2, tide.piece:3",
		}},
		{name: "outside the compass, no room", events: []event.Event{note(0, 1, 108, 0, 1), note(0, 2, 18, 1, 2)}, want: []string{
			"forbids outside the compass: F#0 is outside the compass, which runs from A0 to C8 -> other keys for single notes: the voice reaches too far for one transposition @ 1.000 s, 40.6 mm, F#0, low note 2, tide.piece:3",
		}},
		// 77 ms are 3.129 mm; at 12.9 a second a stroke needs 77.5 ms. Speed x with 1.7272/x = 77 - 35 =
		// 42 ms: 41.124 mm/s, roll tempo 81.
		{name: "stroke lost", events: []event.Event{note(0, 1, 60, 0, 0.05), note(0, 2, 60, 0.077, 0.1)}, want: []string{
			"forbids stroke lost: C4 is struck again 77 ms after the stroke before: that takes 77.5 ms, so one stroke is lost -> roll_tempo = 81 for the piece would part them @ 0.077 s, 3.1 mm, C4, low note 2, tide.piece:2",
		}},
		// 50 ms are less than the action's 35 + 40 ms: no paper helps.
		{name: "stroke lost for good", events: []event.Event{note(0, 1, 60, 0, 0.04), note(0, 2, 60, 0.05, 0.1)}, want: []string{
			"forbids stroke lost: C4 is struck again 50 ms after the stroke before: that takes 77.5 ms, so one stroke is lost -> at most 12.9 strokes a second on one key: a speed of 0.64 of what it is, or octaves in turn @ 0.050 s, 2.0 mm, C4, low note 2, tide.piece:2",
		}},
		{name: "stroke lost between voices", events: []event.Event{note(0, 1, 60, 0, 0.04), note(1, 1, 60, 0.05, 0.1)}, want: []string{
			"risks stroke lost: C4 is struck again 50 ms after low: that takes 77.5 ms, so one stroke of the key sounds for both -> another octave: transpose = 12 in high @ 0.050 s, 2.0 mm, C4, high note 1, tide.piece:6",
		}},
		// 8.128 mm from stroke to stroke; the held one ends 1.4224 mm before. 8.128 - 2.794 are 0.656 of it.
		{name: "short bridge", events: []event.Event{note(0, 1, 60, 0, 0.2), note(0, 2, 60, 0.2, 0.3)}, want: []string{
			"risks short bridge: 1.42 mm of paper between two strokes of C4; the standard's bridge is 2.79 mm -> hold = 0.65 in low would leave 2.79 mm @ 0.200 s, 8.1 mm, C4, low note 2, tide.piece:4",
		}},
		// 80 ms are 3.2512 mm: two punches 1.524 mm apart. 4.5212 mm in 80 ms are 56.515 mm/s, roll tempo
		// 112; but then a punch is open for 30.6 ms.
		{name: "short bridge, no room", events: []event.Event{note(0, 1, 60, 0, 0), note(0, 2, 60, 0.08, 0.08)}, want: []string{
			"risks short bridge: 1.52 mm of paper between two strokes of C4; the standard's bridge is 2.79 mm -> at most 8.99 strokes a second leave 2.79 mm @ 0.080 s, 3.3 mm, C4, low note 2, tide.piece:4",
		}},
		// The same at an action that a punch of 30 ms sets off.
		{name: "short bridge, faster paper", change: func(in *instrument.Instrument) { in.Action.ShortestSec = 0.03 },
			events: []event.Event{note(0, 1, 60, 0, 0), note(0, 2, 60, 0.08, 0.08)}, want: []string{
				`risks short bridge: 1.52 mm of paper between two strokes of C4; the standard's bridge is 2.79 mm -> hold = "single" in low and roll_tempo = 112 for the piece would leave 2.79 mm @ 0.080 s, 3.3 mm, C4, low note 2, tide.piece:4`,
			}},
		// At roll tempo 100 a punch of 1.7272 mm is open for 34 ms; 1.7272 mm in 40 ms are 43.18 mm/s, roll tempo 85.
		{name: "too short", change: func(in *instrument.Instrument) { in.Transport.RollTempo = 100 },
			events: []event.Event{note(0, 1, 60, 1, 1)}, want: []string{
				`risks too short to sound: the port of C4 is open for 34 ms; the action needs 40 ms -> hold = "40 ms" in low, or roll_tempo = 85 for the piece @ 1.000 s, 50.8 mm, C4, low note 1, tide.piece:4`,
			}},
		// The standard's shortest slot is for holes of 0.060 in at most (1.524 mm).
		{name: "short slot", change: func(in *instrument.Instrument) { in.Die.DiameterMM = 1.524; in.Action.ShortestSec = 0.03 },
			events: []event.Event{note(0, 1, 60, 1, 1)}, want: []string{
				`risks short slot: a slot of 1.52 mm on C4; the standard's shortest is 2.11 mm -> hold = "52 ms" in low @ 1.000 s, 40.6 mm, C4, low note 1, tide.piece:4`,
			}},
		{name: "cut off", events: []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0.5, 0.6)}, want: []string{
			"risks note cut off: a held C4 ends 0.5 s early for a stroke of high on the same key -> a shorter hold in low, or another octave: transpose = 12 in low @ 0.500 s, 20.3 mm, C4, low note 1, tide.piece:4",
			"risks short bridge: 1.42 mm of paper between two strokes of C4; the standard's bridge is 2.79 mm -> hold = 0.86 in low would leave 2.79 mm @ 0.500 s, 20.3 mm, C4, high note 1, tide.piece:4",
		}},
		{name: "two on one key", events: []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0, 0.6)}, want: []string{
			"note two on one key: low strikes C4 at the same time: one slot sounds both -> another octave: transpose = 12 in high, if both are to be heard @ 0.000 s, 0.0 mm, C4, high note 1, tide.piece:7",
		}},
		{name: "notes at once", events: chord(0, 1, 0, 0.1, twenty...), want: []string{
			"risks notes at once: 20 notes at once; the wind serves 16 -> 4 fewer notes, shorter holds, the chord broken (spread(C2+G2+E3 30ms)), or a second piano @ 0.000 s, 0.0 mm, low note 1, tide.piece:4",
		}},
		// 6 strokes within a second, the seventh a second after the first: still 6.
		{name: "notes a second", change: func(in *instrument.Instrument) { in.Action.NotesASecond = 5 },
			events: slices.Concat(chord(0, 1, 0, 0.1, 40, 44, 48), chord(0, 2, 0.9, 1, 41, 45, 49), chord(0, 3, 1, 1.1, 52),
				chord(0, 4, 3, 3.1, 52)), want: []string{
				"risks notes a second: 6 notes in a second; the wind serves 5 -> a second piano, or a speed of 0.83 of what it is @ 0.900 s, 36.6 mm, low note 2, tide.piece:2",
			}},
		// Neighbours 2.8222 mm apart leave 1.095 mm. Half a second of both is 20.32 mm.
		{name: "side by side", events: slices.Concat(chord(0, 1, 0, 1, 60), chord(1, 1, 0.5, 1.5, 61)), want: []string{
			"note side by side: C#4 and C4 are open side by side for 20.3 mm, with 1.1 mm of paper between -> shorter holds, or another octave: transpose = 12 in high @ 0.500 s, 20.3 mm, C#4, high note 1, tide.piece:8",
		}},
		{name: "side by side for long", events: chord(0, 1, 0, 1, 60, 61), want: []string{
			"risks side by side: C#4 and C4 are open side by side for 40.6 mm, with 1.1 mm of paper between -> shorter holds @ 0.000 s, 0.0 mm, C#4, low note 1, tide.piece:4",
		}},
		// 88 holes of 1.7272 mm are 152 mm of 285.75.
		{name: "row cut away", change: func(in *instrument.Instrument) { in.Action.NotesAtOnce = 128 },
			events: chord(0, 1, 0, 0, scale...), want: []string{
				"risks row cut away: 53.2 % of a row is cut away; beyond 30 % the paper is weak -> shorter holds, or a second piano @ 0.000 s, 0.0 mm, low note 1, tide.piece:4",
			}},
		{name: "slot without bridge", change: func(in *instrument.Instrument) { in.Chain.Bridged = false },
			events: []event.Event{note(0, 1, 60, 0, 0.6), note(0, 2, 62, 1, 2)}, want: []string{
				`risks slot without bridge: a slot of 40.6 mm on D4 without a bridge; over 25 mm the paper is weak -> kind = "bridged" in the chain of the instrument's file, or shorter holds @ 1.000 s, 40.6 mm, D4, low note 2, tide.piece:4`,
			}},
		{name: "near the edge", change: func(in *instrument.Instrument) { in.Bar.Ports[4].AcrossMM = 6.5 },
			events: slices.Concat(chord(0, 1, 0, 1, 23), chord(0, 2, 2, 3, 23)), want: []string{
				"risks near the edge: the holes of B0 come within 5.64 mm of the edge; 6 mm are wanted -> wider paper, or other ports in the instrument's file @ 0.000 s, 0.0 mm, B0, low note 1, tide.piece:3",
			}},
		{name: "off the paper", change: func(in *instrument.Instrument) { in.Bar.Ports[4].AcrossMM = 285.5 },
			events: chord(0, 1, 0, 1, 23), want: []string{
				"forbids off the paper: the holes of B0 reach 0.614 mm beyond the edge of the paper -> wider paper, or other ports in the instrument's file @ 0.000 s, 0.0 mm, B0, low note 1, tide.piece:3",
			}},
		// An action of half a second begins 20.32 mm before row 0; the leader has 10.
		{name: "before the paper", change: func(in *instrument.Instrument) { in.Action.DelaySec = 0.5; in.Paper.LeaderMM = 10 },
			events: chord(0, 1, 0, 1, 60), want: []string{
				"forbids before the paper: a hole 20.3 mm before the first row; the leader has 10.0 mm -> leader = 30 in the instrument's file, or a later start @ 0.000 s, -20.3 mm, C4, low note 1, tide.piece:2",
			}},
		// 400 s are 16.256 m, with leader and trailer 17.956. (15 - 1.7)/16.256 of 80 is 65.4.
		{name: "long roll", events: []event.Event{note(0, 1, 60, 399, 400)}, want: []string{
			"note length of the roll: the roll is 17.956 m long; over 15.000 m is more than most -> roll_tempo = 65 for the piece would make it 15.000 m @ ",
		}},
		// 3600 s are 146.304 m: 25.3 m each, six spools.
		{name: "too long a roll", events: []event.Event{note(0, 1, 60, 3599, 3600)}, want: []string{
			"risks length of the roll: the roll is 148.004 m long; a spool takes about 27.000 m -> 6 spools @ ",
		}},
		{name: "small punch", change: func(in *instrument.Instrument) {
			in.Die.DiameterMM = 1.4
			in.Action.ShortestSec = 0.03
			in.Paper.SlotMM = 0
		},
			events: []event.Event{note(0, 1, 60, 1, 2)}, want: []string{
				"note small punch: the punch is 1.4 mm; the standard's smallest hole is 1.51 mm -> a punch of at least 1.51 mm @ ",
			}},
		// Rows of 1 mm, a centre at 40.64*t + 0.8636: at t = 0 the row is 1 (0.1364 mm late, 3.36 ms), at
		// 1 s 41.5036 becomes 42 (0.4964 mm,
		// 12.21 ms). The root mean square is 8.955 ms. 2*40.64*0.005 = 0.4064 mm would do; so would
		// 80*1/0.4064 = 196.9, but no roll is so fast.
		{name: "step error", change: func(in *instrument.Instrument) { in.StepMM = 1 },
			events: []event.Event{note(0, 1, 60, 0, 0.5), note(0, 2, 64, 1, 1.5)}, want: []string{
				"note step error: low falls beside its time by up to 12.2 ms (root mean square 8.96 ms) on steps of 1 mm; 5 ms are wanted -> a step of 0.4 mm would meet 5 ms @ low note 2, tide.piece:2",
			}},
		// Accented and plain together in one half; all levels are played, on one of the notes too many.
		{name: "accent lost", events: []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 74, 1, 2), note(1, 2, 74, 3, 4)}, want: []string{
			`note accent lost: D5 sounds accented, though it is not: it begins with an accent of its half -> accent_shift = "30 ms" in the levels of the instrument's file plays the others so much later @ 1.000 s, 40.6 mm, D5, high note 1, tide.piece:6`,
		}},
		// Two plain notes outvote an accent that begins with them: off by 32 once is closer than twice.
		{name: "accent outvoted", events: []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 74, 1, 2), note(1, 1, 77, 1, 2), at(112, note(0, 2, 70, 3, 4))}, want: []string{
			`note accent lost: A#4 loses its accent: it begins with plain notes of its half, and the roll comes closer to what is written without -> accent_shift = "30 ms" in the levels of the instrument's file plays the others so much later @ 1.000 s, 40.6 mm, A#4, low note 1, tide.piece:2`,
		}},
		// The theme port opens 20 ms before and shuts 22.5 ms after: to move what begins together does
		// not help here. 22.5 and half a
		// millisecond are a little over 23.
		{name: "close to an accent", events: []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 74, 1.01, 2), note(1, 2, 74, 3, 4)}, want: []string{
			`note accent lost: D5 sounds accented, though it is not: it begins 10 ms after an accent of its half -> 24 ms or more between accented and plain notes of one half @ 1.010 s, 41.0 mm, D5, high note 1, tide.piece:6`,
		}},
		{name: "on the key of an accent", events: []event.Event{at(112, note(0, 1, 70, 1, 2)), note(1, 1, 70, 1, 2), note(1, 2, 74, 3, 4)}, want: []string{
			"note two on one key: low strikes A#4 at the same time: one slot sounds both -> another octave: transpose = 12 in high, if both are to be heard @ 1.000 s, 40.6 mm, A#4, high note 1, tide.piece:7",
			`note accent lost: A#4 sounds accented, though it is not: it begins with an accent of its half -> one level for notes that begin together @ 1.000 s, 40.6 mm, A#4, high note 1, tide.piece:6`,
		}},
		// Four levels on two ports for both halves, set 20 ms ahead: 15 ms apart, 40 and 100 both sound
		// at 80 (40 and 20 off; 60 is as good, but 80 is to follow).
		{name: "level lost", change: twoDigits,
			events: []event.Event{at(40, note(0, 1, 70, 1, 2)), at(100, note(0, 2, 74, 1.015, 2)), at(80, note(0, 3, 74, 3, 4)),
				at(100, note(0, 4, 74, 5, 6))}, want: []string{
				"note accent lost: A#4 loses its level: alone it would sound at 40, near others of its half it sounds at 80 -> more than 20 ms between notes of different levels in one half @ 1.000 s, 40.6 mm, A#4, low note 1, tide.piece:2",
				"note accent lost: D5 loses its level: alone it would sound at 100, near others of its half it sounds at 80 -> more than 20 ms between notes of different levels in one half @ 1.015 s, 41.2 mm, D5, low note 2, tide.piece:2",
				"note levels lost: low has 3 levels of loudness; the roll plays 2 levels, off by 40 at most, by 22.4 in the root mean square -> loudness by the number of notes: chords and octaves for what is loud @ low, tide.piece:2",
			}},
		{name: "levels lost", events: []event.Event{at(20, note(0, 1, 70, 1, 2)), at(127, note(0, 2, 74, 3, 4)), at(60, note(0, 3, 74, 5, 6))}, want: []string{
			"note levels lost: low has 3 levels of loudness; the roll plays 2 levels, off by 60 at most, by 37.5 in the root mean square -> loudness by the number of notes: chords and octaves for what is loud @ low, tide.piece:2",
		}},
		{name: "levels lost between voices", change: func(in *instrument.Instrument) { in.Levels.Kind = instrument.NoLevels },
			events: []event.Event{note(0, 1, 70, 1, 2), at(127, note(1, 1, 74, 3, 4))}, want: []string{
				"note levels lost: the piece has 2 levels of loudness; the roll plays 1 level, off by 47 at most, by 33.2 in the root mean square -> loudness by the number of notes: chords and octaves for what is loud @ ",
			}},
		{name: "pedal stroke lost", spans: []roll.Span{{Role: instrument.Sustain, StartSec: 0, EndSec: 0.03}, {Role: instrument.Sustain, StartSec: 0.05, EndSec: 1}}, want: []string{
			"risks pedal stroke lost: the sustaining pedal is struck again after 50 ms, too soon to be let go -> at least 78 ms between two spans of the pedal @ 0.050 s, 2.0 mm, port 1, low, tide.piece:2",
		}},
		{name: "no pedal port", instrument: "65-note", spans: []roll.Span{{Voice: 1, Role: instrument.Soft, StartSec: 1, EndSec: 2}}, want: []string{
			`note no pedal port: the bar has no port for the soft pedal that high asks for -> work it by hand, or give the instrument's file a port "soft" @ 1.000 s, 40.6 mm, high, tide.piece:6`,
		}},
		{name: "roll tempo out of reach", change: func(in *instrument.Instrument) { in.Transport.RollTempo = 140.5 }, events: []event.Event{note(0, 1, 60, 0, 0.25)}, want: []string{
			"risks roll tempo out of reach: a roll tempo of 140.5; the tempo lever goes up to 140 -> roll_tempo = 140 for the piece, or fastest = 140.5 in the transport of the instrument's file, if its lever goes there @ ",
		}},
		// One per cent fast, the lever at 140.
		{name: "roll tempo in reach", change: func(in *instrument.Instrument) { in.Transport.RollTempo, in.Transport.Lever = 141.4, 140 }, events: []event.Event{note(0, 1, 60, 0, 0.25)}},
		{name: "roll tempo too low", change: func(in *instrument.Instrument) { in.Transport.RollTempo, in.Transport.Slowest = 60, 69.5 }, events: []event.Event{note(0, 1, 60, 0, 0.25)}, want: []string{
			"risks roll tempo out of reach: a roll tempo of 60; the tempo lever goes down to 69.5 -> roll_tempo = 70 for the piece, or slowest = 60 in the transport of the instrument's file, if its lever goes there @ ",
		}},
		// 9 units of an eighth of a second are 1.125 s; 62.5 s are 2540 mm of paper.
		{name: "pedal after the end", spans: []roll.Span{
			{Role: instrument.Sustain, StartSec: 62.5, EndSec: 75, Units: roll.Stretch{From: 500, To: 600, Of: 9}},
			{Role: instrument.Sustain, StartSec: 0, EndSec: 1.5, Units: roll.Stretch{From: 0, To: 12, Of: 9}},
			{Role: instrument.Sustain, StartSec: 0, EndSec: 1.125, Units: roll.Stretch{From: 0, To: 9, Of: 9}},
		}, want: []string{
			"note pedal after the end: the sustain pedal of units 0-12 goes on after the end of low at unit 9, and is cut all the same -> let it end at 9 in low, unless it is to ring on @ 0.000 s, 0.0 mm, low, tide.piece:2",
			"risks pedal after the end: the sustain pedal of units 500-600 lies wholly after the end of low at unit 9, and is cut all the same -> leave this span out, or write units from 0 to 9 in low @ 1:02.500, 2.540 m, low, tide.piece:2",
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			name := tt.instrument
			if name == "" {
				name = "88-note"
			}
			p := twoVoices()
			wantFindings(t, p, rollsOf(t, p, load(t, name, tt.change), tt.spans, tt.events...), tt.want...)
		})
	}
}

// twoDigits gives the instrument four levels on two ports, for both halves.
func twoDigits(in *instrument.Instrument) {
	in.Levels = instrument.Levels{Kind: instrument.Steps, PlainLevel: 80, AccentLeadSec: 0.02, AccentCloseSec: 0.02,
		Steps: []int{40, 60, 80, 100}}
	ports := append([]instrument.Port(nil), in.Bar.Ports...)
	in.Bar.Ports = append(ports, instrument.Port{AcrossMM: 273.5, Role: instrument.Level, Weight: 1},
		instrument.Port{AcrossMM: 280, Role: instrument.Level, Weight: 2})
}

func at(level int16, e event.Event) event.Event {
	e.Level = level
	return e
}

// TestGaps looks at a roll that was not laid out here, slots 4 mm long with
// gaps of growing width: the port stays open over 0.5715 mm, the action needs
// 1.4 mm and 35 ms (1.4224 mm), the standard 2.794 mm.
func TestGaps(t *testing.T) {
	in := load(t, "88-note", nil)
	port, _ := in.Bar.Port(60)
	r := &roll.Roll{Instrument: in}
	lead := 0.0
	for _, gap := range []float64{0.5, 0.6, 1.3, 1.41, 1.43, 2.79, 2.794, 3} {
		r.Slots = append(r.Slots, roll.Slot{Port: int32(port), LeadMM: lead, TrailMM: lead + 4, FirstMM: lead + 0.8636,
			LastMM: lead + 3.1364})
		lead += 4 + gap
	}
	r.Slots = append(r.Slots, roll.Slot{Port: int32(port), LeadMM: lead, TrailMM: lead + 4, FirstMM: lead + 0.8636,
		LastMM: lead + 3.1364})
	var got []string
	for f := range All(twoVoices(), []*roll.Roll{r}) {
		got = append(got, fmt.Sprintf("%s %s %.4g of %.4g %s", f.Severity, f.Kind, f.Value, f.Limit, f.Unit))
	}
	want := []string{
		"forbids repetition too fast 0.5 of 1.4 mm",
		"risks unclear web 0.6 of 1.4 mm",
		"risks unclear web 1.3 of 1.4 mm",
		"forbids repetition too fast 34.69 of 35 ms",
		"risks short bridge 1.43 of 2.794 mm",
		"risks short bridge 2.79 of 2.794 mm",
	}
	if !slices.Equal(got, want) {
		t.Errorf("found\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(want, "\n  "))
	}
}

// TestRemediesHold: what a remedy proposes does away with the finding.
func TestRemediesHold(t *testing.T) {
	count := func(change func(*instrument.Instrument), kind Kind, events ...event.Event) int {
		p := twoVoices()
		n := 0
		for f := range All(p, rollsOf(t, p, load(t, "88-note", change), nil, events...)) {
			if f.Kind == kind {
				n++
			}
		}
		return n
	}
	tempo := func(x float64) func(*instrument.Instrument) {
		return func(in *instrument.Instrument) { in.Transport.RollTempo = x }
	}
	close := []event.Event{note(0, 1, 60, 0, 0.05), note(0, 2, 60, 0.077, 0.1)}
	if count(tempo(80), StrokeLost, close...) != 1 || count(tempo(81), StrokeLost, close...) != 0 {
		t.Error("roll tempo 81 does not part strokes 77 ms apart")
	}
	held := []event.Event{note(0, 1, 60, 0, 0.65*0.2), note(0, 2, 60, 0.2, 0.2+0.65*0.2), note(0, 3, 60, 0.4, 0.5)}
	if count(nil, ShortBridge, held...) != 0 {
		t.Error("hold 0.65 does not leave the standard's bridge")
	}
	single := []event.Event{note(0, 1, 60, 0, 0)}
	if count(tempo(100), TooShort, single...) != 1 || count(tempo(85), TooShort, single...) != 0 {
		t.Error("roll tempo 85 does not let a single punch sound")
	}
	long := note(0, 1, 60, 399, 400)
	if count(tempo(80), Length, long) != 1 || count(tempo(65), Length, long) != 0 {
		t.Error("roll tempo 65 does not make the roll short enough")
	}
	var many []event.Event
	for i := range 500 {
		many = append(many, note(0, int32(i+1), int16(30+i%60), float64(i)*0.1237, float64(i)*0.1237+0.05))
	}
	step := func(q float64) func(*instrument.Instrument) {
		return func(in *instrument.Instrument) { in.StepMM = q }
	}
	if count(step(0.5), StepError, many...) != 1 || count(step(0.4), StepError, many...) != 0 {
		t.Error("a step of 0.4 mm does not meet 5 ms")
	}
	p := twoVoices()
	p.Pianos[0].RollTempo = exact.NewRat(100, 1)
	for f := range All(p, rollsOf(t, p, load(t, "88-note", nil), nil, single...)) {
		if f.Kind == TooShort && f.Remedy() != `hold = "40 ms" in low, or roll_tempo = 85 for the piece` {
			t.Errorf("the piece's own roll tempo: %s", f.Remedy())
		}
	}
}
