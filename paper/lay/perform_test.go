package lay

import (
	"math"
	"slices"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

func performed(t *testing.T, text string, fastest float64) *perform.Performance {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "t.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	f, err := perform.New(p, perform.Options{Fastest: func(int) float64 { return fastest }})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestPedalsOfVoices: sixteenths at 120 quarter notes a minute are 0.125 s;
// at speed 2 half of that. The voice begins at 1 s and lasts 8 units.
func TestPedalsOfVoices(t *testing.T) {
	f := performed(t, `
tempo = 120
voice "low" {
  talea = "8"
  color = "C2"
  speed = 2
  start = "1 s"
  pedal = "0-4 6-8"
  soft  = "full"
}
`, 12)
	want := []roll.Span{
		{Role: instrument.Sustain, StartSec: 1, EndSec: 1.25, Units: roll.Stretch{From: 0, To: 4, Of: 8}},
		{Role: instrument.Sustain, StartSec: 1.375, EndSec: 1.5, Units: roll.Stretch{From: 6, To: 8, Of: 8}},
		{Role: instrument.Soft, StartSec: 1, EndSec: 1.5},
	}
	got := Pedals(f)
	if len(got) != len(want) {
		t.Fatalf("spans %+v", got)
	}
	for i := range want {
		same := got[i].Role == want[i].Role && got[i].Units == want[i].Units &&
			math.Abs(got[i].StartSec-want[i].StartSec) < 1e-9 && math.Abs(got[i].EndSec-want[i].EndSec) < 1e-9
		if !same {
			t.Errorf("span %+v, want %+v", got[i], want[i])
		}
	}
	rolls, err := Of(f, []*instrument.Instrument{builtin(t, "88-note")})
	if err != nil || len(rolls[0].Slots) != 4 {
		t.Errorf("%v, %d slots", err, len(rolls[0].Slots))
	}
}

// TestFastestRepetition: strokes as fast as the instrument says it can are all
// told apart, and one more a second is not.
func TestFastestRepetition(t *testing.T) {
	for _, l := range instrument.List() {
		in := builtin(t, l.Name)
		for _, tt := range []struct {
			strokes float64
			lost    bool
		}{{in.FastestStrokes(), false}, {in.FastestStrokes() + 2, true}} {
			f := performed(t, "tempo = 60\nvoice \"low\" {\n  line = \"repeat(C4 fastest):80\"\n}\n", tt.strokes)
			rolls, err := Of(f, []*instrument.Instrument{in})
			if err != nil {
				t.Fatal(err)
			}
			lost := slices.ContainsFunc(rolls[0].Clashes, func(c roll.Clash) bool { return c.Fate == roll.Lost })
			if lost != tt.lost || f.Count < 40 {
				t.Errorf("%s: %v strokes a second, %d in all: lost %v", l.Name, tt.strokes, f.Count, lost)
			}
		}
	}
}

// TestSilentWhenShort: at roll tempo 100 a single punch opens the port for 34
// ms, less than the action's 40: the roll does not sound it.
func TestSilentWhenShort(t *testing.T) {
	in := changed(t, "88-note", func(in *instrument.Instrument) { in.Transport.RollTempo = 100 })
	r := lay(t, in, nil, note(0, 1, 60, 1, 1), note(0, 2, 62, 2, 2.5))
	var notes []int32
	for e := range roll.Play(r) {
		notes = append(notes, e.Note)
	}
	if !slices.Equal(notes, []int32{2}) {
		t.Errorf("sounds %v", notes)
	}
}
