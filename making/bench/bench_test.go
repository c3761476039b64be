package bench_test

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/paper/roll"
	"rollwright/text/source"
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
			t.Fatalf("%s: %d strokes and %d merged (%d counted), want %d", listed.Name, len(got), pl.Merged, pl.Punches,
				len(want))
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
	if want := []bench.Stop{{Dial: -30, Name: "start", AlongMM: -3}, {Dial: 0, Name: bench.TimeZero},
		{Dial: 5000, Name: "cue", AlongMM: 500}}; !slices.Equal(pl.Stops, want) || pl.ZeroMM() != 4 {
		t.Errorf("lines %v, the zero line %g mm before the row of time 0", pl.Stops, pl.ZeroMM())
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
	// Notes at 20.32*25+0.8636 = 508.8636, 20.32*50+0.8636 = 1016.8636, 20.32*74+0.8636 = 1504.5436,
	// 20.32*99+0.8636 = 2012.5436.
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
