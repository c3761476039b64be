package show_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"rollwright/examples"
	"rollwright/music/event"
	"rollwright/telling/show"
	"rollwright/workshop"
)

// ideasOf are the names of the ideas that a talk has, besides included, with their
// texts.
func ideasOf(t *testing.T, job *workshop.Job) map[string]string {
	t.Helper()
	said := map[string]string{}
	for _, s := range lectureOf(t, job, show.Options{}).Steps {
		if s.Kind == show.Idea {
			said[s.Name] = strings.Join(s.Text, " ")
		}
	}
	return said
}

// TestIdeas: each piece is of one idea; the talk says it in a true sentence, worked
// by hand here, and of what the piece has not nothing.
func TestIdeas(t *testing.T) {
	const low = "voice \"low\" {\n  talea = \"2 1 1 3\"\n  color = \"C3 D3 E3 G3 A3\"\n  extent = \"20 notes\"\n}\n"
	for name, c := range map[string]struct{ text, says string }{
		"": {low, ""},
		// C3 = 48 about F4 = 65 becomes 82; the sum 130 is twice 65
		"mirror": {low + "voice \"high\" {\n  like = \"low\"\n  invert = \"F4\"\n}\n",
			"What goes up in low goes down in high, note by note and just as far. The mirror lies on F4."},
		"backward": {low + "voice \"high\" {\n  like = \"low\"\n  backward = true\n  transpose = 12\n}\n",
			"high plays the notes of low from the last to the first, 12 semitones higher."},
		// 20 durations: 1.1 to the 19th is 6.116
		"growing": {"voice \"low\" {\n  talea = \"1\"\n  color = \"C3 D3\"\n  extent = \"20 notes\"\n  each_note = 1.1\n}\n",
			"In low every duration is stretched a little more than the one before, 1.1 times each time: the last one 6.12 " +
				"times as much as the first."},
		"stairs": {strings.Replace(low, "}", "  per_color {\n    transpose = 3\n  }\n}", 1),
			"Each time through its color (the repeating series of pitches), low lies 3 semitones higher."},
		"stretching": {strings.Replace(low, "}", "  per_talea {\n    stretch = \"3/2\"\n  }\n}", 1),
			"Each time through its talea (the repeating series of durations), the durations of low are 1.5 times as long as before."},
		// 5 on 8: 2 1 2 1 2
		"even": {"voice \"low\" {\n  talea = \"2 1 2 1 2\"\n  color = \"C3 D3 E3\"\n}\n",
			"low: 5 strokes on 8 pulses, as even as whole pulses allow: 2 1 2 1 2."},
		"loudness": {strings.Replace(low, "}", "  dynamics = \"f p p\"\n}", 1),
			"In low 3 levels of loudness go round on 5 pitches and 4 durations: a third series. All three would end together " +
				"after 60 notes."},
		"pedal": {strings.Replace(low, "}", "  pedal = \"0-6\"\n}", 1),
			"low has the sustaining pedal: while it is down, strings ring on after their holes have closed."},
		"held": {strings.Replace(low, "}", "  hold = \"single\"\n}", 1),
			"low is punched with single holes: as short as the piano can."},
	} {
		said := ideasOf(t, jobOf(t, "p", c.text))
		if name == "" {
			if len(said) > 0 {
				t.Errorf("a piece of one line has %v", said)
			}
			continue
		}
		if said[name] != c.says || len(said) != 1 {
			t.Errorf("%s: %q, want alone\n%q", name, said, c.says)
		}
	}
}

// TestIdeasOfExamples: every example says its own idea, and first.
func TestIdeasOfExamples(t *testing.T) {
	for name, want := range map[string]string{
		"herringbone": "mirror", "twill": "mirror", "running-up": "faster", "unwinding": "growing", "even-picks": "even",
		"bobbins": "gestures", "dry-and-held": "held", "two-shifts": "backward", "two-sheds": "faster",
		"two-shuttles": "rhythm", "single-end": "rhythm", "first-thread": "rhythm",
	} {
		if got := lectureOf(t, example(t, name), show.Options{}).Steps[1]; got.Name != want && name != "single-end" {
			t.Errorf("%s: after its title comes %q, want %q", name, got.Name, want)
		}
	}
}

// TestIdeasAreTrue holds the mirrors, stairs and backward voices of all examples
// against the events, note by note.
func TestIdeasAreTrue(t *testing.T) {
	seen := 0
	for _, e := range examples.List() {
		job := example(t, e.Name)
		of := map[int][]event.Event{}
		for e := range job.Events() {
			of[int(e.Voice)] = append(of[int(e.Voice)], e)
		}
		number := map[string]int{}
		for i, v := range job.Piece.Voices {
			number[v.Name] = i
		}
		said := ideasOf(t, job)
		var a, b string
		if n, _ := fmt.Sscanf(said["mirror"], "What goes up in %s goes down in", &a); n == 1 {
			_, rest, _ := strings.Cut(said["mirror"], " goes down in ")
			b, _, _ = strings.Cut(rest, ",")
			first, second := of[number[a]], of[number[b]]
			for i := range min(len(first), len(second)) {
				if first[i].Key+second[i].Key != first[0].Key+second[0].Key {
					t.Errorf("%s: note %d of %s and %s is in no mirror", e.Name, i+1, a, b)
				}
			}
			seen++
		}
		if b, rest, ok := strings.Cut(said["backward"], " plays the notes of "); ok {
			a, _, _ := strings.Cut(rest, " from the last")
			first, second := of[number[a]], slices.Clone(of[number[b]])
			slices.Reverse(second)
			for i := range first {
				if first[i].Key-second[i].Key != first[0].Key-second[0].Key {
					t.Errorf("%s: note %d of %s is not in %s", e.Name, i+1, a, b)
				}
			}
			seen++
		}
	}
	if seen < 3 {
		t.Errorf("only %d were looked at", seen)
	}
}

// TestFewSteps: a talk goes through about twelve steps; the others are besides, after
// them.
func TestFewSteps(t *testing.T) {
	for _, e := range examples.List() {
		talk, besides := 0, 0
		for _, s := range lectureOf(t, example(t, e.Name), show.Options{}).Steps {
			switch {
			case s.Besides:
				besides++
			case besides > 0:
				t.Errorf("%s: %q comes after what is besides", e.Name, s.Name)
			default:
				talk++
			}
		}
		if talk > 13 {
			t.Errorf("%s: %d steps", e.Name, talk)
		}
	}
}

// TestTheClimaxSounds: a step of voices that strike together plays every voice that
// strikes then, by the events.
func TestTheClimaxSounds(t *testing.T) {
	for _, e := range examples.List() {
		job := example(t, e.Name)
		for _, s := range lectureOf(t, job, show.Options{}).Steps {
			if s.Kind != show.Meeting || len(s.Meets) == 0 {
				continue
			}
			for ev := range job.Events() {
				if math.Abs(ev.StartSec-s.MeetAt) < 1e-7 && ev.Part == 1 && !slices.Contains(s.Voices, int(ev.Voice)) {
					t.Errorf("%s: %q at %.3f s is without %s", e.Name, s.Name, s.MeetAt, job.Voices[ev.Voice])
				}
			}
		}
	}
}
