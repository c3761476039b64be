package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// twoPulses: at tempo 120 a sixteenth is 1/8 s, so low has a note every 1/4 s and high
// every 3/8 s.
const twoPulses = `title = "Pulses"
tempo = 120

voice "low" {
  talea  = "2"
  color  = "C3"
  extent = "30 notes"
}

voice "high" {
  talea  = "3"
  color  = "C5"
  extent = "20 notes"
}
`

// TestMeetIsWorkedByHand: note 5 of high begins at 4 * 3/8 = 3/2 s, note 11 of low at
// 10/4 = 5/2 s. They meet at speed 3/5 of high, or when it begins 1 s later; at speed
// 5/3 of low, or when that begins 1 s earlier.
func TestMeetIsWorkedByHand(t *testing.T) {
	b := serve(t, map[string]string{"pulses.piece": twoPulses})
	found := ask[meetingFound](b, "/api/meet", m{"name": "pulses.piece", "text": twoPulses,
		"a": m{"voice": "low", "note": 11}, "b": m{"voice": "high", "note": 5}})
	if found.Apart != "note 11 of low begins 1 s after note 5 of high" {
		t.Errorf("now %s", found.Apart)
	}
	var got []string
	for _, a := range found.Answers {
		if a.Meets {
			got = append(got, fmt.Sprintf("%s.%s = %s", a.Voice, a.Attribute, a.Value))
			if !strings.HasPrefix(a.Says[0], "they begin together at 0:0") {
				t.Errorf("%+v", a)
			}
			w := b.work("pulses.piece", a.Splice.Text)
			if !w.OK || len(w.Voices) != 2 {
				t.Errorf("%s: %+v", got[len(got)-1], w.Errors)
			}
		} else if a.Attribute != "speed" || !strings.Contains(a.Says[0], " apart, at ") {
			t.Errorf("%+v", a)
		}
	}
	want := []string{"high.speed = 3/5", "high.start = 1 s", "low.speed = 5/3", "low.start = -1 s"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, not %q; %q", got, want, found.Not)
	}
	// One attribute is written, and no other byte.
	s := found.Answers[0].Splice
	if strings.Replace(s.Text, s.Insert, "", 1) != twoPulses || strings.Count(s.Insert, "\n") > 1 {
		t.Errorf("written is %q", s.Insert)
	}
}

// TestMeetSaysWhyNot: where a number cannot do it, the reason is said; questions about
// one voice or no note are refused.
func TestMeetSaysWhyNot(t *testing.T) {
	canon := `tempo = 120

tune "line" {
  talea  = "2 1"
  color  = "C4 D4 E4"
  extent = "12 notes"
}

canon "c" {
  subject = "line"
  meet    = "1/2"
  speeds  = "3 : 4"

  voice "one" {}
  voice "two" {}
}
`
	b := serve(t, map[string]string{"c.piece": canon, "pulses.piece": twoPulses})
	found := ask[meetingFound](b, "/api/meet", m{"name": "c.piece", "text": canon,
		"a": m{"voice": "one", "note": 3}, "b": m{"voice": "two", "note": 9}})
	if len(found.Not) == 0 || !strings.Contains(strings.Join(found.Not, " "), "no speed of two does it") {
		t.Errorf("%+v", found)
	}
	if !slices.ContainsFunc(found.Answers, func(a meetAnswer) bool { return a.Attribute == "later" && a.Meets }) {
		t.Errorf("no later entry: %+v", found)
	}
	for _, bad := range []m{
		{"a": m{"voice": "low", "note": 1}, "b": m{"voice": "low", "note": 2}},
		{"a": m{"voice": "low", "note": 1}, "b": m{"voice": "high", "note": 99}},
		{"a": m{"voice": "none", "note": 1}, "b": m{"voice": "high", "note": 1}},
	} {
		bad["name"], bad["text"] = "pulses.piece", twoPulses
		if status, data := b.send("POST", "/api/meet", bad); status != 422 {
			t.Errorf("%v: %d %s", bad, status, data)
		}
	}
}
