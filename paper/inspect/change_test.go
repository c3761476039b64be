package inspect

import (
	"fmt"
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
)

// TestChanges: what the changes of the first finding of a kind say. Each is one
// that Remedy names in words, or a hold as long as the finding leaves room for.
func TestChanges(t *testing.T) {
	chained := func(in *instrument.Instrument) { in.Chain.Bridged = false }
	for _, c := range []struct {
		name   string
		change func(*instrument.Instrument)
		events []event.Event
		kind   Kind
		want   string // voice attribute = value
	}{
		// A0 is key 21: F#0, key 18, is 3 below.
		{"below", nil, []event.Event{note(0, 1, 18, 0, 1)}, OutsideCompass, "low transpose = 12, low transpose = 3"},
		{"above", nil, []event.Event{note(1, 1, 120, 0, 1)}, OutsideCompass, "high transpose = -12"},
		// 77 ms apart; see the case of TestKinds.
		{"one voice", nil, []event.Event{note(0, 1, 60, 0, 0.05), note(0, 2, 60, 0.077, 0.1)}, StrokeLost, "piano roll_tempo = 81, low speed = 0.99"},
		{"two voices", nil, []event.Event{note(0, 1, 60, 0, 0.05), note(1, 1, 60, 0.05, 0.1)}, StrokeLost, "high transpose = 12, high transpose = -12, low transpose = 12, low transpose = -12"},
		// 125 ms are 5.08 mm; 2.794 mm of paper leave 2.286 mm, 0.45 of it.
		{"bridge", nil, []event.Event{note(0, 1, 60, 0, 0.125), note(1, 1, 60, 0.125, 0.25)}, ShortBridge, "low hold = 0.45"},
		{"held", nil, []event.Event{note(0, 1, 60, 0, 2), note(1, 1, 60, 1, 2)}, CutOff, "low hold = 0.75, low hold = 0.5, low hold = 0.25, low transpose = 12, low transpose = -12, high transpose = 12, high transpose = -12"},
		{"together", nil, []event.Event{note(0, 1, 60, 0, 1), note(1, 1, 60, 0, 1)}, OneKey, "high transpose = 12, high transpose = -12, low transpose = 12, low transpose = -12"},
		{"open", chained, []event.Event{note(0, 1, 60, 0, 2)}, OpenSlot, "low hold = 0.75, low hold = 0.5, low hold = 0.25"},
		{"nothing to write", nil, append(chord(0, 1, 0, 1, 60), event.Event{StartSec: 2, EndSec: 3, Voice: 0, Note: 2, Part: 1, Key: 62, Level: 127}), LevelsLost, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := twoVoices()
			for i := range p.Voices {
				p.Voices[i].Hold = []piece.Hold{{}}
			}
			in := load(t, "88-note", c.change)
			for f := range All(p, rollsOf(t, p, in, nil, c.events...)) {
				if f.Kind != c.kind {
					continue
				}
				var got []string
				for _, change := range f.Changes() {
					who := "piano"
					if change.Voice >= 0 {
						who = p.Voices[change.Voice].Name
					}
					got = append(got, who+" "+change.Text())
				}
				if text := strings.Join(got, ", "); text != c.want {
					t.Errorf("the changes are %q, want %q", text, c.want)
				}
				return
			}
			if c.want != "" {
				t.Errorf("no finding of the kind %q", c.kind)
			}
		})
	}
}

func TestScaledHold(t *testing.T) {
	share := func(num, den int64) piece.Hold { return piece.Hold{Share: exact.Frac(num, den)} }
	for _, c := range []struct {
		holds []piece.Hold
		want  string
	}{
		{[]piece.Hold{share(4, 5)}, "0.4 true"},
		{[]piece.Hold{share(4, 5), {Kind: piece.HoldTime, Sec: exact.NewRat(9, 100)}, {Kind: piece.HoldSingle}}, `"0.4 45 ms single" true`},
		{[]piece.Hold{{Kind: piece.HoldSingle}}, `"single" false`},
		{[]piece.Hold{share(1, 100)}, " false"}, // half of it is nothing in hundredths
	} {
		text, ok := scaledHold(c.holds, exact.NewRat(1, 2))
		if got := fmt.Sprint(text, " ", ok); got != c.want {
			t.Errorf("half of %v is %s, want %s", c.holds, got, c.want)
		}
	}
}
