package spools_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/internal/rollcases"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/spools"
)

// Ten times two seconds of notes with two seconds of silence: a unit is a
// second, so notes begin at 0 and 1, 4 and 5, 8 and 9, ...
const withRests = `tempo = 60
unit = "1/4"
voice "a" {
  talea = "1 1 (2)"
  color = "C4 D4"
  extent = "20 notes"
}
`

func TestRests(t *testing.T) {
	f, _ := rollcases.Performed(t, withRests)
	rests := spools.Rests(f.Events(), 1)
	if len(rests) != 9 || rests[0] != (spools.Rest{FromSec: 2, ToSec: 4}) ||
		rests[8] != (spools.Rest{FromSec: 34, ToSec: 36}) {
		t.Errorf("rests %v", rests)
	}
	if none := spools.Rests(f.Events(), 2.5); none != nil {
		t.Errorf("rests of 2.5 s: %v", none)
	}
}

// At 40.64 mm/s, 500 mm of paper are 12.303 s. From 0 the last rest within
// reach is 10 to 12, and the spool ends half a second before the note at 12:
// 11.5. From there reach is 23.803: the rest 22 to 24 ends at 23.5. From there
// 35.803: the rest 34 to 36 ends at 35.5; from there to the end at 38 is less
// than a spool. (38 s: the last note ends there, its silence is not written.)
func TestCutsAtRests(t *testing.T) {
	f, in := rollcases.Performed(t, withRests)
	cuts, err := spools.Cuts(f, in, spools.Options{LongestMM: 500})
	if err != nil {
		t.Fatal(err)
	}
	want := []spools.Cut{{AtSec: 11.5, RestSec: 2}, {AtSec: 23.5, RestSec: 2}, {AtSec: 35.5, RestSec: 2}}
	if !slices.Equal(cuts, want) {
		t.Errorf("cuts %v, want %v", cuts, want)
	}
}

// A given place is taken as it is: at 4.25 s the second note of its pair
// sounds from 4 to 5; at 3 s nothing does.
func TestCutsAtGivenPlaces(t *testing.T) {
	f, in := rollcases.Performed(t, withRests)
	cuts, err := spools.Cuts(f, in, spools.Options{AtSec: []float64{4.25, 3, 3}})
	if err != nil {
		t.Fatal(err)
	}
	want := []spools.Cut{{AtSec: 3, RestSec: 2}, {AtSec: 4.25, Crossing: 1}}
	if !slices.Equal(cuts, want) {
		t.Errorf("cuts %v, want %v", cuts, want)
	}
	for _, at := range []float64{0, -1, f.EndSec, 1e9, math.NaN()} {
		if _, err := spools.Cuts(f, in, spools.Options{AtSec: []float64{at}}); err == nil ||
			!strings.Contains(err.Error(), "a spool cannot end at") {
			t.Errorf("a spool that ends at %g: %v", at, err)
		}
	}
}

// Without rests a spool ends at a note: two voices of two seconds and of three,
// legato, both begin a note each six seconds. 500 mm reach 12.303 s, and the
// last fifth of it begins at 9.84: of the notes that begin at 10 and 12 the one
// at 12 has nothing sounding across.
func TestCutsWithoutRests(t *testing.T) {
	f, in := rollcases.Performed(t, `tempo = 60
unit = "1/4"
voice "a" {
  talea = "2"
  color = "C4 D4"
  extent = "15 notes"
}
voice "b" {
  talea = "3"
  color = "C5 D5"
  extent = "10 notes"
}
`)
	cuts, err := spools.Cuts(f, in, spools.Options{LongestMM: 500})
	if err != nil {
		t.Fatal(err)
	}
	want := []spools.Cut{{AtSec: 12}, {AtSec: 24}}
	if !slices.Equal(cuts, want) {
		t.Errorf("cuts %v, want %v", cuts, want)
	}
	if _, err := spools.Cuts(f, in, spools.Options{LongestMM: 100}); err == nil ||
		!strings.Contains(err.Error(), "hold less than 5 s") {
		t.Errorf("spools of 100 mm: %v", err)
	}
}

// Wherever a piece is parted, every stroke is on one spool, at its time from
// the spool's beginning.
func TestSplitKeepsEveryStroke(t *testing.T) {
	f, in := rollcases.Performed(t, `voice "a" {
  talea = "2 1 (1)"
  color = "C4 D4+F4 E4"
  extent = "60 notes"
}
voice "b" {
  talea = "3 2"
  color = "C5 G5"
  speed = "sqrt(2)"
  hold  = 0.6
  extent = "60 notes"
}
`)
	whole := 0
	for range f.Events() {
		whole++
	}
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.SliceOfN(rapid.Float64Range(0.01, f.EndSec-0.01), 1, 5).Draw(t, "at")
		cuts, err := spools.Cuts(f, in, spools.Options{AtSec: at})
		if err != nil {
			t.Fatal(err)
		}
		all, err := spools.Split(f, in, cuts)
		if err != nil {
			t.Fatal(err)
		}
		if len(all) != len(cuts)+1 {
			t.Fatalf("%d spools of %d cuts", len(all), len(cuts))
		}
		strokes, crossing := 0, 0
		starts := map[[2]int32]float64{}
		for e := range f.Events() {
			starts[[2]int32{e.Voice, e.Note}] = e.StartSec
		}
		for i, s := range all {
			crossing += s.Crossing
			if s.Number != i+1 || s.Of != len(all) {
				t.Fatalf("spool %d of %d is called %d of %d", i+1, len(all), s.Number, s.Of)
			}
			for k := range s.Slots {
				slot := &s.Slots[k]
				for c := range slot.Causes.All() {
					strokes++
					// The slot opens its port when the note begins.
					opens := s.Instrument.Transport.Sec(slot.LeadMM + s.Instrument.EdgeShiftMM())
					if at := starts[[2]int32{c.Voice, c.Note}] - s.FromSec; math.Abs(at-opens) > 1e-9 {
						t.Fatalf("spool %d: note %d of voice %d opens at %g, want %g", i+1, c.Note, c.Voice, opens, at)
					}
				}
				if lastsBeyond(s, slot) {
					t.Fatalf("spool %d: a slot lasts beyond its end", i+1)
				}
			}
		}
		if strokes != whole {
			t.Fatalf("%d strokes on the spools, %d in the piece", strokes, whole)
		}
		want := 0
		for _, c := range cuts {
			want += c.Crossing
		}
		if crossing > want {
			t.Fatalf("%d notes cut short, %d said", crossing, want)
		}
	})
}

// lastsBeyond reports whether a slot is asked to stay open beyond its spool.
func lastsBeyond(s *spools.Spool, slot *roll.Slot) bool {
	end := s.Instrument.Transport.AlongMM(s.ToSec - s.FromSec)
	return slot.ShutMM > max(end+s.Instrument.EdgeShiftMM(), slot.OpenMM)+1e-6
}

// A window lays out what Split does, slot for slot.
func TestWindowIsASpool(t *testing.T) {
	f, in := rollcases.Performed(t, withRests)
	cuts := []spools.Cut{{AtSec: 7.5}, {AtSec: 21.25}}
	all, err := spools.Split(f, in, cuts)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		w, err := spools.Window(f, in, s.FromSec, s.ToSec)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := fmt.Sprint(w[0].Slots), fmt.Sprint(s.Slots); got != want {
			t.Errorf("spool %d: %s, want %s", s.Number, got, want)
		}
	}
}

// The roll tempo of a piece is in its instruments already; laying out again must
// not undo what was done to them.
func TestSplitTakesInstrumentsAsTheyAre(t *testing.T) {
	f, in := rollcases.Performed(t, "roll_tempo = 100\n"+withRests)
	in[0] = in[0].Stretched(instrument.Stretch{Along: 1.01})
	all, err := spools.Split(f, in, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got := all[0].Instrument.Transport.RollTempo; math.Abs(got-101) > 1e-9 {
		t.Errorf("roll tempo %g, want 101", got)
	}
}

// One in a hundred is 2.4 s after four minutes, and after three seconds the 30
// ms at which the ear hears two attacks (arithmetic; the 30 ms are assumed).
func TestDrift(t *testing.T) {
	p := spools.Pair{SpeedShare: 0.01}
	if got := p.DriftSec(240); math.Abs(got-2.4) > 1e-12 {
		t.Errorf("drift %g", got)
	}
	if got := p.HeardAfterSec(); math.Abs(got-3) > 1e-12 {
		t.Errorf("heard after %g s", got)
	}
	p.HeardSec = 0.02
	if got := p.HeardAfterSec(); math.Abs(got-2) > 1e-12 {
		t.Errorf("20 ms heard after %g s", got)
	}
	if got := (spools.Pair{}).HeardAfterSec(); !math.IsInf(got, 1) {
		t.Errorf("no drift is heard after %g s", got)
	}
}

// With a drift of a tenth: the rest 2 to 4 holds the 0.2 s of two seconds; they
// are together at 4. The next, 6 to 8, again. At a drift of all of it (a share
// of 1) 2 s of playing need 2 s and a half second to spare: none is enough.
func TestMeetings(t *testing.T) {
	f, _ := rollcases.Performed(t, withRests)
	rests := spools.Rests(f.Events(), 0.5)
	got := spools.Pair{SpeedShare: 0.1}.Meetings(rests)
	if len(got) != 9 || got[1].SinceSec != 2 || math.Abs(got[1].DriftSec-0.2) > 1e-12 || got[1].FromSec != 6 {
		t.Errorf("meetings %v", got)
	}
	if got := (spools.Pair{SpeedShare: 1}).Meetings(rests); got != nil {
		t.Errorf("meetings at any speed: %v", got)
	}
	// At 60 %: after 2 s a drift of 1.2 s fits into the 2 s.
	if got := (spools.Pair{SpeedShare: 0.6}).Meetings(rests); len(got) != 9 {
		t.Errorf("meetings at 60 %%: %v", got)
	}
}

// Cues lie at the same instants on rolls of different speed: 400 mm at 40.64
// mm/s are 9.8425 s, at tempo 100 (50.8 mm/s) 500 mm. The start mark lies 2 s
// before.
func TestCues(t *testing.T) {
	f, in := rollcases.Performed(t, `piano "left" {
  roll_tempo = 80
}
piano "right" {
  roll_tempo = 100
}
`+withRests)
	all, err := spools.Split(f, in, nil)
	if err != nil {
		t.Fatal(err)
	}
	cues := spools.Pair{CueMM: 400}.Cues([]*roll.Roll{all[0].Roll, all[1].Roll})
	if len(cues) != 4 { // 38 s are 1544 mm
		t.Fatalf("cues %v", cues)
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }
	if c := cues[0]; c.Name != "start mark" || c.Sec != -2 || !near(c.AlongMM[0], -81.28) || !near(c.AlongMM[1], -101.6) {
		t.Errorf("start mark %v", c)
	}
	if c := cues[1]; c.Name != "cue 1" || !near(c.Sec, 400/40.64) || !near(c.AlongMM[0], 400) || !near(c.AlongMM[1], 500) {
		t.Errorf("first cue %v", c)
	}
}

// With bars of 8 s, cues 9.84 s apart wait for the next bar line: 16, 24 and 32 s, where bars
// 3, 4 and 5 begin; with bars of 25 s there are two left, at 25 s and, when bars have run
// out, 29.53 s.
func TestCuesAtBars(t *testing.T) {
	f, in := rollcases.Performed(t, withRests)
	all, err := spools.Split(f, in, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		every float64
		want  string
	}{{8, "cue 1, bar 3 16.00; cue 2, bar 4 24.00; cue 3, bar 5 32.00"}, {25, "cue 1, bar 2 25.00; cue 2 29.53"}} {
		bars := []spools.Bar{{Number: 0, Sec: 0}}
		for n := range 5 {
			if sec := c.every * float64(n); sec < 40 {
				bars = append(bars, spools.Bar{Number: n + 1, Sec: sec})
			}
		}
		var got []string
		for _, cue := range (spools.Pair{CueMM: 400}).Cues([]*roll.Roll{all[0].Roll}, bars...)[1:] {
			got = append(got, fmt.Sprintf("%s %.2f", cue.Name, cue.Sec))
		}
		if text := strings.Join(got, "; "); text != c.want {
			t.Errorf("bars of %g s: %s, want %s", c.every, text, c.want)
		}
	}
}

func Example() {
	pair := spools.Pair{SpeedShare: 0.01}
	fmt.Printf("after four minutes %.1f s apart, two attacks heard after %.0f s\n", pair.DriftSec(240),
		pair.HeardAfterSec())
	// Output: after four minutes 2.4 s apart, two attacks heard after 3 s
}
