package web

import (
	"slices"
	"testing"
)

// TestTurnsAreTheNumbersOfAVoice: what can be turned, with its place in the text.
func TestTurnsAreTheNumbersOfAVoice(t *testing.T) {
	b := serve(t, map[string]string{"m.piece": movable})
	w := b.work("m.piece", movable)
	turns := func(name string) map[string]turn {
		i := slices.IndexFunc(w.Voices, func(v voice) bool { return v.Name == name })
		out := map[string]turn{}
		for _, one := range ask[turnsFound](b, "/api/turns", m{"id": w.ID, "voice": i}).Turns {
			out[one.ID] = one
		}
		return out
	}
	low := turns("low")
	for id, want := range map[string]string{"low speed": "1", "low stretch": "1", "low transpose": "0", "piece tempo": "120"} {
		if low[id].Value != want {
			t.Errorf("%s is %q, not %q", id, low[id].Value, want)
		}
	}
	if len(low) != 4 {
		t.Errorf("low has %v", low)
	}
	// Fractions p/q between 1/4 and 4 with p + q at most 16: 7/9 is the last of them, 8/9 is none.
	stops := low["low speed"].Stops
	index := func(value string) int {
		return slices.IndexFunc(stops, func(s turnStop) bool { return s.Value == value })
	}
	if stops[0] != (turnStop{"1/4", 0.25}) || stops[len(stops)-1] != (turnStop{"4", 4}) || index("7/9") < 0 || index("8/9") >= 0 {
		t.Errorf("the stops are %v", stops)
	}
	two := turns("II")["round speeds"]
	if two.Before != "1 : " || two.Value != "2" || two.After != "" || two.Low != 0.5 || two.High != 8 {
		t.Errorf("the proportion is %+v", two)
	}
	one := turns("I")["round speeds"]
	if one.Before != "" || one.Value != "1" || one.After != " : 2" {
		t.Errorf("the proportion is %+v", one)
	}
}

// TestEffectsAndSurvey: notes of low every 1/4 s for 30 and of high every 3/8 s for 20
// begin together every 3/4 s, from 0 to 6.75 s: ten times. At speed 3/2 of high all of
// its notes are at quarters: twenty.
func TestEffectsAndSurvey(t *testing.T) {
	b := serve(t, map[string]string{"pulses.piece": twoPulses})
	w := b.work("pulses.piece", twoPulses)
	got := ask[effects](b, "/api/effects", m{"id": w.ID, "voice": 1})
	if got.Meetings != 10 || got.Length != 7.5 || got.Hands == "" || got.ApartMS <= 0 || got.Together < 10 {
		t.Errorf("%+v", got)
	}
	if gone := ask[effects](b, "/api/effects", m{"id": "other", "voice": 1}); !gone.Gone {
		t.Errorf("a text that is not at hand: %+v", gone)
	}
	rows := ask[surveyed](b, "/api/survey", m{"name": "pulses.piece", "text": twoPulses, "number": "high.speed", "from": 1,
		"to": 2}).Rows
	meetings := map[string]int{}
	for _, r := range rows {
		meetings[r.Value] = r.Meetings
	}
	if meetings["1"] != 10 || meetings["3/2"] != 20 {
		t.Errorf("%v", meetings)
	}
	none := ask[surveyed](b, "/api/survey", m{"name": "pulses.piece", "text": twoPulses, "number": "none.speed", "from": 1,
		"to": 2})
	if none.Problem == "" {
		t.Error("a voice that is not there is surveyed")
	}
}
