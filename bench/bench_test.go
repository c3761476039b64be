package bench_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/bench"
	"rollwright/instrument"
	"rollwright/internal/rollcases"
	"rollwright/roll"
	"rollwright/source"
)

func profile(t testing.TB, text string) *bench.Profile {
	t.Helper()
	p, err := bench.Read(&source.File{Name: "test.bench", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func plan(t testing.TB, r *roll.Roll, p *bench.Profile, marks ...bench.Mark) *bench.Plan {
	t.Helper()
	out, err := bench.New(r, p, marks...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

const twoNotes = `voice "low" {
  talea = "3 (1) 2"
  color = "C2+G2 C3"
}
`

// rowsOf prints a plan, a row a line: reading of the crank, way, strokes.
func rowsOf(p *bench.Plan) string {
	var b strings.Builder
	for i, row := range p.Rows {
		turns, parts := p.Profile.Crank.Split(p.Advance(i))
		way := ">"
		if row.Leftward {
			way = "<"
		}
		fmt.Fprintf(&b, "on %s at %s %s", p.Profile.Crank.Text(turns, parts), p.Profile.Crank.Text(p.Reading(row.Dial)), way)
		for _, s := range row.Strokes {
			fmt.Fprintf(&b, " %d(%d/%d)", p.Notch(s.Port), s.N, s.Of)
		}
		fmt.Fprintln(&b)
	}
	return b.String()
}

// The first slot, worked by hand: a unit is 0.125 s, paper runs 40.64 mm/s,
// so it is 15.24 mm long; its punches of 1.7272 mm stand at 0.8636, then 4 in an
// open slot to 3.1364, then each 2.2578 to 12.1676, then 14.3764. On tenths of a
// millimetre: 0.9 1.6 2.4 3.1 5.4 7.7 9.9 12.2 14.4, that is 9, 16, 24, 31, 54,
// 77, 99, 122, 144 tenths of which 20 make a turn. The second slot begins at
// 20.32: 21.1836, 21.9412, 22.6988, 23.4564, 25.7142, 27.972, then two more that
// overlap (29.6164 - 27.972 = 1.6444 is too little for a web): 28.7942, 29.6164.
func TestRowsWorkedByHand(t *testing.T) {
	got := rowsOf(plan(t, rollcases.Rolls(t, twoNotes)[0], profile(t, "")))
	want := `on 0 + 09 at 0 + 09 > 18(1/9) 25(1/9)
on 0 + 07 at 0 + 16 < 25(2/9) 18(2/9)
on 0 + 08 at 1 + 04 > 18(3/9) 25(3/9)
on 0 + 07 at 1 + 11 < 25(4/9) 18(4/9)
on 1 + 03 at 2 + 14 > 18(5/9) 25(5/9)
on 1 + 03 at 3 + 17 < 25(6/9) 18(6/9)
on 1 + 02 at 4 + 19 > 18(7/9) 25(7/9)
on 1 + 03 at 6 + 02 < 25(8/9) 18(8/9)
on 1 + 02 at 7 + 04 > 18(9/9) 25(9/9)
on 3 + 08 at 10 + 12 < 30(1/8)
on 0 + 07 at 10 + 19 > 30(2/8)
on 0 + 08 at 11 + 07 < 30(3/8)
on 0 + 08 at 11 + 15 > 30(4/8)
on 1 + 02 at 12 + 17 < 30(5/8)
on 1 + 03 at 14 + 00 > 30(6/8)
on 0 + 08 at 14 + 08 < 30(7/8)
on 0 + 08 at 14 + 16 > 30(8/8)
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// Whatever the bench, its rows hold every punch of the roll once, at most half
// a part beside its place, and only ever go forward.
func TestRowsHoldThePunches(t *testing.T) {
	r := rollcases.Rolls(t, twoNotes+`voice "high" {
  talea = "2 1"
  color = "E5 D5+C3 G5"
  speed = "sqrt(2)"
  extent = "40 notes"
}
`)[0]
	for _, listed := range bench.List() {
		p, err := bench.Load(listed.Name, "")
		if err != nil {
			t.Fatal(err)
		}
		if p.Title != listed.Title {
			t.Errorf("%s: its title is %q, listed as %q", listed.Name, p.Title, listed.Title)
		}
		pl := plan(t, r, p)
		type at struct {
			port int32
			mm   float64
		}
		var got, want []at
		before := pl.Start
		for i, row := range pl.Rows {
			if row.Dial <= before && i > 0 || row.Dial < before {
				t.Errorf("%s: row %d is not beyond the one before", listed.Name, i+1)
			}
			before = row.Dial
			for _, s := range row.Strokes {
				got = append(got, at{s.Port, pl.AlongMM(row.Dial)})
			}
		}
		for i := range r.Slots {
			for mm := range r.Punches(&r.Slots[i]) {
				want = append(want, at{r.Slots[i].Port, mm})
			}
		}
		byPort := func(a, b at) int { return cmp.Or(cmp.Compare(a.port, b.port), cmp.Compare(a.mm, b.mm)) }
		slices.SortFunc(got, byPort)
		slices.SortFunc(want, byPort)
		if len(got)+pl.Merged != len(want) || len(got) != pl.Punches {
			t.Fatalf("%s: %d strokes and %d merged (%d counted), want %d", listed.Name, len(got), pl.Merged, pl.Punches, len(want))
		}
		if pl.Merged > 0 {
			continue
		}
		for i := range got {
			off := math.Abs(got[i].mm - want[i].mm)
			if got[i].port != want[i].port || off > p.Crank.PartMM()/2+1e-6 || off > pl.LargestMM+1e-9 {
				t.Errorf("%s: stroke %v for punch %v", listed.Name, got[i], want[i])
			}
		}
	}
}

// On the rows of its own perforator, a ratchet places holes exactly.
func TestRatchetIsExact(t *testing.T) {
	r := rollcases.Rolls(t, "instrument = \"88-note-45\"\n"+twoNotes)[0]
	p, err := bench.Load("ratchet-45", "")
	if err != nil {
		t.Fatal(err)
	}
	if pl := plan(t, r, p); pl.LargestMM > 1e-9 {
		t.Errorf("a hole stands %g mm beside its row", pl.LargestMM)
	}
}

func TestRowsTurnWithTheBass(t *testing.T) {
	r := rollcases.Rolls(t, twoNotes)[0]
	left, right := plan(t, r, profile(t, "")), plan(t, r, profile(t, `bass = "right"`))
	for i := range left.Rows {
		// From left to right, the bass at the right comes last.
		want := slices.Clone(left.Rows[i].Strokes)
		slices.Reverse(want)
		if !slices.Equal(right.Rows[i].Strokes, want) || right.Rows[i].Leftward != left.Rows[i].Leftward {
			t.Fatalf("row %d: %v, want %v", i+1, right.Rows[i].Strokes, want)
		}
	}
}

// The front of a roll whose paper moves down has its start below and its bass at
// the left. Turned over (BACK up) about its length the bass changes sides;
// turned half around, both change.
func TestStartNear(t *testing.T) {
	down := &instrument.Instrument{}
	up := &instrument.Instrument{Paper: instrument.Paper{TravelsUp: true}}
	mirrored := &instrument.Instrument{Paper: instrument.Paper{Bass: instrument.Right}}
	for _, c := range []struct {
		back, right bool
		in          *instrument.Instrument
		near        bool
	}{
		{false, false, down, true}, {false, true, down, false}, {true, true, down, true}, {true, false, down, false},
		{false, false, up, false}, {false, true, up, true},
		{false, true, mirrored, true}, {false, false, mirrored, false},
	} {
		p := &bench.Profile{BackUp: c.back, BassRight: c.right}
		if got := p.StartNear(c.in); got != c.near {
			t.Errorf("back up %t, bass right %t, %+v: near %t", c.back, c.right, c.in.Paper, got)
		}
	}
}

// A line 3 mm before the row of time 0 moves the zero line back by two turns of
// 2 mm: readings and lengths count from there.
func TestZeroLineMovesBack(t *testing.T) {
	r := rollcases.Rolls(t, twoNotes)[0]
	pl := plan(t, r, profile(t, ""), bench.Mark{AlongMM: 500, Name: "cue"}, bench.Mark{AlongMM: -3, Name: "start"})
	if pl.Start != -40 {
		t.Fatalf("the zero line is at %d, want -40", pl.Start)
	}
	if turns, parts := pl.Reading(pl.Rows[0].Dial); turns != 2 || parts != 9 {
		t.Errorf("the first row reads %d + %d, want 2 + 9", turns, parts)
	}
	if mm := pl.RunningMM(pl.Rows[0].Dial); math.Abs(mm-4.9) > 1e-9 {
		t.Errorf("the first row is %g mm from zero, want 4.9", mm)
	}
	if got := pl.LeaderMM(); math.Abs(got-1196) > 1e-9 {
		t.Errorf("the leader is %g mm, want 1200 - 4", got)
	}
	if pl.Stops[0].Name != "start" || pl.Stops[1].Name != "cue" {
		t.Errorf("lines in the order %v", pl.Stops)
	}
}

// A length is to be checked at the first row at or after each half metre. Notes
// of 20.32 mm each (4 units): the first punch of note n, from 0, is at
// 20.32 n + 0.8636, so the first row beyond 500 mm lies within note 24.
func TestChecks(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"a\" {\n  talea = \"4\"\n  color = \"C4 D4\"\n  hold = \"single\"\n  extent = \"100 notes\"\n}\n")[0]
	pl := plan(t, r, profile(t, ""))
	var got []string
	for i, row := range pl.Rows {
		if row.Check {
			got = append(got, fmt.Sprintf("%d at %.1f", i+1, pl.RunningMM(row.Dial)))
		}
	}
	// Notes at 20.32*25+0.8636 = 508.8636, 20.32*50+0.8636 = 1016.8636, 20.32*74+0.8636 = 1504.5436, 20.32*99+0.8636 = 2012.5436.
	want := []string{"26 at 508.9", "51 at 1016.9", "75 at 1504.5", "100 at 2012.5"}
	if !slices.Equal(got, want) {
		t.Errorf("checks %v, want %v", got, want)
	}
}

// On tenths of a millimetre, punches 2.2578 mm apart stand 2.2 or 2.3 apart: webs
// of at most 2.3 - 1.7272 = 0.5728 mm, a hair more than the 0.5715 that half a
// port bears. On half millimetres they stand up to 2.5 apart.
func TestWebs(t *testing.T) {
	r := rollcases.Rolls(t, twoNotes)[0]
	if pl := plan(t, r, profile(t, "")); math.Abs(pl.WebMM-0.5728) > 1e-9 || pl.WebTooWide() {
		t.Errorf("web %g, too wide %t", pl.WebMM, pl.WebTooWide())
	}
	if pl := plan(t, r, profile(t, "crank {\n  parts = 4\n}\n")); math.Abs(pl.WebMM-0.7728) > 1e-9 || !pl.WebTooWide() {
		t.Errorf("web %g, too wide %t", pl.WebMM, pl.WebTooWide())
	}
}

// A rack of nine notches to the inch whose first stands under the sustaining
// port (11.6417 mm, the third place outwards from the lowest note): A0, three
// places on, is at notch 4 when the first is 1; C2, port 18 of the bar, at 19.
func TestRack(t *testing.T) {
	r := rollcases.Rolls(t, twoNotes)[0]
	pl := plan(t, r, profile(t, "rack {\n  offset = 11.6417\n  spacing = 25.4/9\n}\n"))
	// C2 is key 36, 15 above A0: notch 4 + 15.
	if got := pl.Notch(pl.Rows[0].Strokes[0].Port); got != 19 {
		t.Errorf("C2 is at notch %d, want 19", got)
	}
	// From the treble the same place is 285.75 - 62.4417 = 223.3083 from the edge:
	// (223.3083 - 11.6417)/2.82222 = 75 places on.
	pl = plan(t, r, profile(t, "rack {\n  offset = 11.6417\n  spacing = 25.4/9\n  from = \"treble\"\n  first = 0\n}\n"))
	if got := pl.Notch(pl.Rows[0].Strokes[0].Port); got != 75 {
		t.Errorf("C2 is at notch %d, want 75", got)
	}
	_, err := bench.New(r, profile(t, "rack {\n  offset = 12.5\n  spacing = 25.4/9\n}\n"))
	if err == nil || !strings.Contains(err.Error(), "no notch of the rack reaches port 18 (C2)") || !strings.Contains(err.Error(), "0.86 mm beside it") {
		t.Errorf("a rack that is off by 0.86 mm: %v", err)
	}
}

func TestFit(t *testing.T) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		t.Fatal(err)
	}
	if same, err := profile(t, "").Fit(in); err != nil || same != in {
		t.Error("a bench without a die changes the instrument")
	}
	// Webs between punches 2.2578 mm apart: 2.2578 - 1.75 = 0.5078 is within 0.4 to 0.5715.
	fitted, err := profile(t, "punch {\n  die = 1.75\n}\n").Fit(in)
	if err != nil || fitted.Die.DiameterMM != 1.75 || in.Die.DiameterMM == 1.75 {
		t.Errorf("die %v, %v", fitted, err)
	}
	for die, want := range map[string]string{"1.1": "cannot cut a slot", "2": "leaves webs of 0.26 mm", "1.6": "leaves webs of 0.66 mm"} {
		if _, err := profile(t, "punch {\n  die = "+die+"\n}\n").Fit(in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("die %s: %v, want %q", die, err, want)
		}
	}
}

// A place behind is reached from beyond: the paper never stops while it goes
// back.
func TestReach(t *testing.T) {
	c := bench.Crank{TurnMM: 2, Parts: 20, BeyondTurns: 1}
	for _, m := range []struct {
		from, to int64
		want     []bench.Move
	}{
		{5, 12, []bench.Move{{Parts: 7}}},
		{12, 12, []bench.Move{{}}},
		{47, 12, []bench.Move{{Back: true, Parts: 55}, {Parts: 20}}},
	} {
		if got := c.Reach(m.from, m.to); !slices.Equal(got, m.want) {
			t.Errorf("from %d to %d: %v, want %v", m.from, m.to, got, m.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c := bench.Crank{TurnMM: 1, Parts: rapid.IntRange(1, 500).Draw(t, "parts"), BeyondTurns: rapid.IntRange(0, 5).Draw(t, "beyond")}
		from, to := rapid.Int64Range(-1e6, 1e6).Draw(t, "from"), rapid.Int64Range(-1e6, 1e6).Draw(t, "to")
		at, lowest := from, from
		moves := c.Reach(from, to)
		for _, m := range moves {
			if m.Back {
				at -= m.Parts
			} else {
				at += m.Parts
			}
			lowest = min(lowest, at)
		}
		if at != to || moves[len(moves)-1].Back {
			t.Fatalf("%v ends at %d", moves, at)
		}
		if to < from && lowest != to-int64(c.BeyondTurns*c.Parts) {
			t.Fatalf("%v turns around at %d", moves, lowest)
		}
	})
}

func TestSplit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := bench.Crank{TurnMM: 1, Parts: rapid.IntRange(1, 1000).Draw(t, "parts")}
		n := rapid.Int64Range(-1e12, 1e12).Draw(t, "n")
		turns, parts := c.Split(n)
		if turns*int64(c.Parts)+parts != n || parts < 0 || parts >= int64(c.Parts) {
			t.Fatalf("%d of %d: %d and %d", n, c.Parts, turns, parts)
		}
	})
}

// 117.475 mm is 4.625 in, 4 5/8 in (an inch is 25.4 mm exactly).
func TestLengths(t *testing.T) {
	for _, c := range []struct {
		mm                     float64
		metric, sixty, decimal string
	}{
		{117.475, "117.48 mm", "4 5/8 in", "4.625 in"},
		{0, "0.00 mm", "0 in", "0.000 in"},
		{-0.001, "0.00 mm", "0 in", "0.000 in"},
		{25.4, "25.40 mm", "1 in", "1.000 in"},
		{12.7, "12.70 mm", "1/2 in", "0.500 in"},
		{0.396875, "0.40 mm", "1/64 in", "0.016 in"}, // 25.4/64
		{0.198, "0.20 mm", "0 in", "0.008 in"},       // just under half a 64th
		{0.199, "0.20 mm", "1/64 in", "0.008 in"},    // just over
		{-6.35, "-6.35 mm", "-1/4 in", "-0.250 in"},
		{609.6, "609.60 mm", "24 in", "24.000 in"},
	} {
		got := [3]string{bench.Millimetres.With(c.mm), bench.Inches64.With(c.mm), bench.InchesDecimal.With(c.mm)}
		if want := [3]string{c.metric, c.sixty, c.decimal}; got != want {
			t.Errorf("%g mm: %v, want %v", c.mm, got, want)
		}
	}
	if got := bench.Inches64.Long(12344.4); got != "40 ft 6 in" { // 486 in
		t.Errorf("12344.4 mm: %s", got)
	}
}

func TestParseLength(t *testing.T) {
	for text, want := range map[string]float64{
		"2 mm": 2, "2mm": 2, "1.5 m": 1500, "3 cm": 30, "1/8 in": 3.175, "0.125in": 3.175, "4 5/8 in": 117.475, "1 ft": 304.8, "1/3 in": 25.4 / 3,
	} {
		if got, ok := bench.ParseLength(text); !ok || got != want {
			t.Errorf("%q: %v %v, want %v", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "2", "mm", "-2 mm", "4 5 in", "4 5/8 9 in", "4 -5/8 in", "1.5 1/2 in", "x in", "1/0 in", "nan mm", "1e400 m"} {
		if got, ok := bench.ParseLength(text); ok {
			t.Errorf("%q was read as %v mm", text, got)
		}
	}
}

// What is written in 64ths reads back to the nearest 64th.
func TestLengthsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 1_000_000).Draw(t, "64ths")
		mm := float64(n) * 25.4 / 64
		if got, ok := bench.ParseLength(bench.Inches64.With(mm)); !ok || math.Abs(got-mm) > 1e-9 {
			t.Fatalf("%s reads back to %v mm, was %v", bench.Inches64.With(mm), got, mm)
		}
	})
}

// Two hours of 400 punches each are 800 punches; one more begins a third
// sitting of one hour.
func TestEstimate(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"a\" {\n  talea = \"4\"\n  color = \"C4\"\n  hold = \"single\"\n  extent = \"801 notes\"\n}\n")[0]
	pl := plan(t, r, profile(t, "pace {\n  session = \"60 min\"\n}\n"))
	e := pl.Estimate(0)
	if !e.Assumed || e.Punches != 801 || e.Rows != 801 || e.PunchesAnHour != 400 || e.Sessions != 3 || math.Abs(e.WorkSec-801*9) > 1e-9 {
		t.Errorf("assumed pace: %+v", e)
	}
	if e := pl.Estimate(801); e.Assumed || e.Sessions != 1 || e.WorkSec != 3600 {
		t.Errorf("known pace: %+v", e)
	}
	// The last punch, at 20.32*800 + 0.8636 = 16256.8636 mm, is 8128.45 turns on a
	// dial of tenths. The written end, 801 notes of 0.5 s at 40.64 mm/s, is at 16276.32.
	if math.Abs(e.Turns-8128.45) > 1e-9 {
		t.Errorf("%g turns", e.Turns)
	}
	if want := 1200 + r.MusicMM() + 500; math.Abs(e.PaperMM-want) > 1e-9 || e.LeaderMM != 1200 || e.TrailerMM != 500 {
		t.Errorf("paper %+v, want %g in all", e, want)
	}
}

// A measured spool: empty circumference 5.25 in, growth 0.00289 in a turn; after
// 52 turns 24.8 ft are wound and the circumference is 6.2 in (B. Jelen,
// Mechanical Music Digest 1995.06.13.02; 5.25 + 52*2*pi*0.00289 = 6.194 in and
// 52*(5.25 + 6.194)/2/12 = 24.796 ft by arithmetic).
func TestWound(t *testing.T) {
	across, turns := bench.Wound(instrument.Transport{}, 24.796*304.8)
	if math.Abs(turns-52) > 0.02 || math.Abs(across*math.Pi/25.4-6.194) > 0.001 {
		t.Errorf("%g turns, circumference %g in", turns, across*math.Pi/25.4)
	}
	// A spool of 2.00 in, paper of 0.0027 in: 378.76 ft make 4.43 in in 450 turns
	// (inputs Mechanical Music Digest 1996.12.17.08, results by arithmetic).
	across, turns = bench.Wound(instrument.Transport{Spool: true, RadiusMM: 25.4, ThicknessMM: 0.0027 * 25.4}, 378.76*304.8)
	if math.Abs(turns-450) > 0.01 || math.Abs(across/25.4-4.43) > 0.0001 {
		t.Errorf("%g turns, %g in across", turns, across/25.4)
	}
}

// 200,000 punches: the rows alone.
func BenchmarkRows(b *testing.B) {
	r := rollcases.Rolls(b, dense)[0]
	p, err := bench.Load("", "")
	if err != nil {
		b.Fatal(err)
	}
	var n int
	for b.Loop() {
		pl, err := bench.New(r, p)
		if err != nil {
			b.Fatal(err)
		}
		n = pl.Punches
	}
	b.ReportMetric(float64(n), "punches")
}

const dense = `voice "a" {
  talea  = "3 2 2 1"
  color  = "C2+G2+C3 D3+A3+F4 E4+B4+G5"
  extent = "5200 notes"
}
voice "b" {
  talea  = "2 2 1"
  color  = "C5+E5+A5 D5+F5+C6"
  speed  = "sqrt(2)"
  extent = "5200 notes"
}
`
