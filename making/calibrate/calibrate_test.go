package calibrate

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

func load(t testing.TB, name string) *instrument.Instrument {
	t.Helper()
	in, err := instrument.Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func read(t testing.TB, text string) *Readings {
	t.Helper()
	r, err := Read(&source.File{Name: "test.readings", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func calibrated(t testing.TB, in *instrument.Instrument, text string) *Result {
	t.Helper()
	r, err := Calibrate(in, read(t, text))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestTiming, by hand: laid out for 40 mm/s, played at 41: a note at 100 s comes
// at 100*40/41 = 97.561 s, 2.439 s early.
func TestTiming(t *testing.T) {
	in := *load(t, "88-note")
	in.Transport.RollTempo = tempoOf(40)
	noiseless := "instrument = \"88-note\"\n"
	for mm := 0; mm <= 12000; mm += 1000 {
		noiseless += fmt.Sprintf("mark \"%d mm\" { heard = \"%.6f\" }\n", mm, float64(mm)/41)
	}
	r := calibrated(t, &in, noiseless)
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "a"}}}
	var events []event.Event
	for _, sec := range []float64{0, 40, 100} {
		events = append(events, event.Event{StartSec: sec, EndSec: sec + 0.2, Note: 1, Part: 1, Key: 60, Level: 80})
	}
	rolls, err := lay.Out(p, func(yield func(event.Event) bool) {
		for _, e := range events {
			if !yield(e) {
				return
			}
		}
	}, []*instrument.Instrument{&in}, lay.Options{})
	if err != nil {
		t.Fatal(err)
	}
	without := r.Without(rolls)
	if math.Abs(without.LargestSec-(100*40/41.0-100)) > 1e-4 || math.Abs(without.AtSec-100) > 1e-9 || without.Notes != 3 {
		t.Errorf("without: %+v", without)
	}
	// Laid out anew: the notes fall where they are written.
	again, err := lay.Out(p, func(yield func(event.Event) bool) {
		for _, e := range events {
			if !yield(e) {
				return
			}
		}
	}, []*instrument.Instrument{r.After()}, lay.Options{})
	if err != nil {
		t.Fatal(err)
	}
	real := in.Transport
	real.RollTempo = tempoOf(41)
	for i, s := range again[0].Slots {
		if got := real.Sec(s.LeadMM); math.Abs(got-events[i].StartSec) > 1e-4 {
			t.Errorf("note %d falls at %v, want %v", i, got, events[i].StartSec)
		}
	}
	if with := r.With(rolls); with.RangeSec > 1e-3 {
		t.Errorf("with: %+v", with)
	}
}

// TestTestRoll: on every built-in instrument the roll can be cut, marks stand
// where they should with blank paper around, tries grow, and nothing it holds
// cannot be cut: strokes too close for the action are what it asks, and no
// finding but of strokes.
func TestTestRoll(t *testing.T) {
	for _, l := range instrument.List() {
		in := load(t, l.Name)
		test, err := NewTest(in, Options{})
		if in.Transport.Crank {
			if err == nil {
				t.Errorf("%s, which is cranked, has a test roll", l.Name)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if len(test.MarkMM) < 13 {
			t.Errorf("%s: %d marks", l.Name, len(test.MarkMM))
		}
		near := map[int]int{}
		for _, s := range test.Roll.Slots {
			if m := math.Round(s.LeadMM/1000) * 1000; math.Abs(s.LeadMM-m) < clearMM-1 || math.Abs(s.TrailMM-m) < clearMM-1 {
				near[int(m)]++
			}
		}
		for i, mm := range test.MarkMM {
			if math.Abs(mm-float64(i)*1000) > in.StepMM/2+1e-9 || near[i*1000] != 2 {
				t.Errorf("%s: mark %d at %v, %d holes near it", l.Name, i, mm, near[i*1000])
			}
		}
		for k := range test.Slots {
			for i := 1; i < tries; i++ {
				if test.Slots[k][i].LengthMM <= test.Slots[k][i-1].LengthMM {
					t.Errorf("%s: try %d is %v mm", l.Name, i+1, test.Slots[k][i].LengthMM)
				}
			}
			if n := len(test.Repeats[k]); n < 6 {
				t.Errorf("%s: %d groups", l.Name, n)
			}
		}
		p := &piece.Piece{Pianos: []piece.Piano{{}}}
		for f := range inspect.All(p, []*roll.Roll{test.Roll}) {
			switch f.Kind {
			case inspect.Repetition, inspect.ShortBridge, inspect.UnclearWeb, inspect.AtOnce, inspect.TooShort,
				inspect.ShortSlot, inspect.Length, inspect.SideBySide:
			default:
				t.Errorf("%s: %s: %s", l.Name, f.Kind, f.Message())
			}
		}
	}
	if _, err := NewTest(load(t, "88-note"), Options{LengthMM: 100}); err == nil {
		t.Error("a test roll of 100 mm is taken")
	}
}

// TestLimits, by hand, at 40.64 mm/s: the third note is 1.7272 + 2*0.4 = 2.5272 mm,
// 62.19 ms; the ninth group has 12 strokes a second, 3.3867 mm apart, 1.6595 mm of paper,
// 40.83 ms.
func TestLimits(t *testing.T) {
	text := "instrument = \"88-note\"\n"
	for mm := 0; mm <= 12000; mm += 1000 {
		text += fmt.Sprintf("mark \"%d mm\" { heard = \"%.6f\" }\n", mm, float64(mm)/40.64)
	}
	text += `
slots {
  bass   = 2
  middle = ""
  treble = 3
}
repeats {
  bass   = 9
  middle = 10
}
chords { largest = 14 }
pairs {
  one = 2
  two = 7
}
`
	r := calibrated(t, load(t, "88-note"), text)
	want := map[Quantity][2]float64{
		Shortest: {0.062185, 0.052343}, GapTime: {(40.64/12 - 1.7272) / 40.64, (40.64/13 - 1.7272) / 40.64},
		GapPaper: {1.5, 1.3}, NotesAtOnce: {14, 16}, Bridge: {0.5, 0.7},
	}
	if len(r.Limits) != len(want) {
		t.Errorf("%d limits", len(r.Limits))
	}
	for _, l := range r.Limits {
		if w := want[l.What]; math.Abs(l.Value-w[0]) > 1e-5 || math.Abs(l.Beyond-w[1]) > 1e-5 || l.Open {
			t.Errorf("limit %d is %v, then %v; want %v", l.What, l.Value, l.Beyond, w)
		}
	}
	if w := strings.Join(r.Warnings(), "\n"); !strings.Contains(w, "bridges of 0.53 mm") {
		t.Errorf("warnings: %s", w) // the chain's web is 2.2578 - 1.7272 = 0.5306 mm, and 0.5 held
	}
	var b bytes.Buffer
	if err := r.WriteInstrument(&b, "88-note", "test.readings"); err != nil {
		t.Fatal(err)
	}
	in, err := instrument.Read(&source.File{Name: "mine.instrument", Text: b.Bytes()}, "")
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	a := in.Action
	if a.ShortestSec != 0.063 || a.GapSec != 0.041 || a.GapPaperMM != 1.5 || a.NotesAtOnce != 14 || in.Transport.Spool {
		t.Errorf("the file says %+v", a)
	}
}

// TestWritten: the file says the fit so that reading it gives the fit, far
// within its range.
func TestWritten(t *testing.T) {
	in := load(t, "88-note-spool")
	real := in.Transport
	real.RollTempo, real.ThicknessMM = 77.3, 0.0681
	r := calibrated(t, in, simulated(in, real, 0.055, rand.New(rand.NewPCG(5, 6)), true))
	var b bytes.Buffer
	if err := r.WriteInstrument(&b, "88-note-spool", "hall.readings"); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "mine.instrument")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := instrument.Load(path, "")
	if err != nil {
		t.Fatalf("%v\n%s", err, b.String())
	}
	want := r.After()
	if !got.Transport.Spool || got.Transport.LeverTempo() != 80 ||
		math.Abs(got.Action.DelaySec-want.Action.DelaySec) > 0.0001 {
		t.Errorf("%+v", got.Transport)
	}
	for _, mm := range []float64{1000, 6000, 12000} {
		if a, b := got.Transport.Sec(mm), want.Transport.Sec(mm); math.Abs(a-b) > 0.02*r.Fit.TimeRange(mm)+1e-6 {
			t.Errorf("%v mm at %v, want %v", mm, a, b)
		}
	}
}

// TestContradictions: readings that cannot all be true are refused where they
// are written.
func TestContradictions(t *testing.T) {
	for text, want := range map[string]string{
		"mark \"0 mm\" { heard = \"1 2\" }\nmark \"1000 mm\" { heard = \"25 2\" }": "test.readings:3:26: run 2 does not rise: 2 s here, and 2 s at 0 mm before it",
		"mark \"2000 mm\" { seen = \"40\" }\nmark \"1000 mm\" { seen = \"49\" }":   "test.readings:2:25: run 1 does not rise: 40 s here, and 49 s at 1000 mm before it",
		"mark \"0 mm\" { heard = \"-0.2\" }":                                       "-0.2 s is before the stopwatch began",
		"mark \"13 m\" { heard = \"300\" }":                                        "this mark lies beyond the roll, which is 12000 mm long",
		"length = 15000\nmark \"16 m\" { heard = \"300\" }":                        "which is 15000 mm long",
		"pairs {\n  one = 5\n  two = 5\n}":                                         "test.readings:4:9: pair 5 was heard as one note, and from pair 5 on all as two",
		"chords { largest = 7 }":                                                   "there is no chord of 7 notes",
	} {
		_, err := Read(&source.File{Name: "test.readings", Text: []byte("instrument = \"88-note\"\n" + text + "\n")})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s\n  got %v, want %s", text, err, want)
		}
	}
	for _, text := range []string{
		"mark \"0 mm\" { heard = \"1 -\" }\nmark \"1000 mm\" { heard = \"25 0.5\" }", // runs have clocks of their own
		"pairs {\n  one = 2\n  two = 4\n}", "chords { largest = 24 }",
		"length = 15000\nmark \"15000.3 mm\" { heard = \"300\" }",
	} {
		read(t, "instrument = \"88-note\"\n"+text+"\n")
	}
}
