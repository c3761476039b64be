package inspect

import (
	"bytes"
	"strings"
	"testing"

	"rollwright/music/event"
	"rollwright/music/piece"
)

// A remedy by octaves names the voice and the whole value of its attribute, and
// is one that leaves all keys of the voice in the compass: A0 to C8, 21 to 108.
func TestOctaves(t *testing.T) {
	for _, c := range []struct {
		name   string
		events []event.Event
		want   string
	}{
		// high is written at transpose = -36, low at 0.
		{"up", []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0, 1), note(1, 2, 72, 2, 3)}, "another octave: transpose = -24 in high"},
		{"high lies lower", []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0, 1), note(1, 2, 48, 2, 3)}, "another octave: transpose = -48 in high"},
		{"no room above", []event.Event{note(0, 1, 100, 0, 1), note(1, 1, 100, 0, 1)}, "another octave: transpose = -48 in high"},
		{"high fills the compass", []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0, 1), note(1, 2, 25, 2, 3), note(1, 3, 107, 3, 4)}, "another octave: transpose = -12 in low"},
		{"both fill it", []event.Event{note(0, 1, 60, 0, 1), note(0, 2, 21, 2, 3), note(0, 3, 108, 3, 4), note(1, 1, 60, 0, 1), note(1, 2, 25, 2, 3), note(1, 3, 107, 3, 4)}, "another pitch for one of the two"},
	} {
		p := twoVoices()
		p.Voices[1].Transpose = -36
		found := false
		for f := range All(p, rollsOf(t, p, load(t, "88-note", nil), nil, c.events...)) {
			if f.Kind == OneKey {
				found = true
				if got := strings.TrimSuffix(f.Remedy(), ", if both are to be heard"); got != c.want {
					t.Errorf("%s: %q, want %q", c.name, got, c.want)
				}
			}
		}
		if !found {
			t.Errorf("%s: no unison", c.name)
		}
	}
}

// Two findings that want a shorter hold of one voice name one value: the shorter.
// 250 ms are 10.16 mm, less 2.794 are 0.725 of it; 200 ms 8.128 mm, 0.656.
func TestOneHoldForAVoice(t *testing.T) {
	p := twoVoices()
	rolls := rollsOf(t, p, load(t, "88-note", nil), nil,
		note(0, 1, 60, 0, 0.25), note(0, 2, 60, 0.25, 0.3), note(0, 3, 60, 1, 1.2), note(1, 1, 60, 1.2, 1.25))
	var b bytes.Buffer
	if err := WriteSummary(&b, Check(p, rolls)); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), "hold = "); n != 1 || !strings.Contains(b.String(), "hold = 0.65 in low would leave") {
		t.Errorf("%d holds:\n%s", n, b.String())
	}
	if strings.Contains(b.String(), "0.72") {
		t.Errorf("two holds for one voice:\n%s", b.String())
	}
}

// Three held notes end early, each for a stroke of the bass: one remedy, which
// names the three voices, told once behind the three lines. What is told of all
// single findings has it once as well.
func TestRemedyIsToldOnce(t *testing.T) {
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "bass"}, {Name: "I"}, {Name: "II"}, {Name: "III"}}}
	var events []event.Event
	for v := int32(1); v <= 3; v++ {
		at := float64(v)
		events = append(events, note(v, 1, 60, at, at+0.6), note(0, v, 60, at+0.3, at+0.4))
	}
	report := Check(p, rollsOf(t, p, load(t, "88-note", nil), nil, events...))
	report.Try(func(Change) ([3]int, bool) { return [3]int{}, false }, 100) // no octave helps
	var b bytes.Buffer
	if err := WriteSummary(&b, report); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), "shorter hold"); n != 1 ||
		!strings.Contains(b.String(), "\n    a shorter hold in I, II and III\n") {
		t.Errorf("it is told %d times:\n%s", n, b.String())
	}
	if n := strings.Count(b.String(), "ends 0.3 s early"); n != 3 {
		t.Errorf("%d lines of 3:\n%s", n, b.String())
	}
	same := twoVoices()
	report = Check(same, rollsOf(t, same, load(t, "88-note", nil), nil,
		note(0, 1, 60, 0, 0.5), note(1, 1, 61, 0, 0.5), note(0, 2, 60, 1, 1.5), note(1, 2, 61, 1, 1.5)))
	b.Reset()
	if err := WriteAll(&b, report); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), "\n    "); n == 0 || n >= report.Counts[Note] {
		t.Errorf("%d remedies for %d findings that have the same:\n%s", n, report.Counts[Note], b.String())
	}
}

// No remedy makes another piece of the piece, or a roll that nobody makes.
func TestRemediesAreSensible(t *testing.T) {
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "v"}}}
	in := load(t, "88-note", nil)
	for ms := 1; ms < 200; ms++ {
		sec := float64(ms) / 1000
		for f := range All(p, rollsOf(t, p, in, nil, note(0, 1, 60, 0, 0), note(0, 2, 60, sec, sec))) {
			for _, bad := range []string{"a speed of 0.0", "a speed of 0.1", "a speed of 0.2", "a speed of 0.3",
				"a speed of 0.4", "roll_tempo = 15", "roll_tempo = 16"} {
				if strings.Contains(f.Remedy(), bad) {
					t.Errorf("%d ms: %s", ms, f.Remedy())
				}
			}
			if f.Remedy() == "" {
				t.Errorf("%d ms: no remedy", ms)
			}
		}
	}
}
