package punching_test

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"rollwright/bench"
	"rollwright/internal/rollcases"
	"rollwright/journal"
	"rollwright/punching"
)

// fataler is a test, or one try of a property.
type fataler interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

func plan(t fataler, piece string, marks ...bench.Mark) *bench.Plan {
	t.Helper()
	profile, err := bench.Load("crank-2mm", "")
	if err != nil {
		t.Fatal(err)
	}
	out, err := bench.New(rollcases.Rolls(t, piece)[0], profile, marks...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func must(t fataler, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// noon is a clock that stands still.
func noon() time.Time { return time.Date(2026, 1, 2, 12, 0, 0, 0, time.UTC) }

func open(t fataler, dir string) *journal.Journal {
	t.Helper()
	j, err := journal.Open(filepath.Join(dir, "a.journal"), journal.Head{TurnMM: 2, Parts: 20, Spool: 1, Spools: 1}, noon)
	must(t, err)
	return j
}

// cutRows records the first n rows of a plan as one.
func cutRows(t fataler, j *journal.Journal, p *bench.Plan, n int) {
	t.Helper()
	var holes []journal.Hole
	for i := range n {
		for _, s := range p.Rows[i].Strokes {
			across, along := p.StrokeMM(i, s)
			holes = append(holes, journal.Hole{AcrossMM: across, AlongMM: along})
		}
	}
	if holes != nil {
		must(t, j.Cut(holes))
	}
}

// Rows of it, worked by hand in package bench: C2 and G2 (ports 18 and 25)
// share nine rows at 0.9 1.6 2.4 3.1 5.4 7.7 9.9 12.2 14.4 mm; then C3 (port
// 30) has eight from 21.2 mm on.
const twoNotes = `voice "low" {
  talea = "3 (1) 2"
  color = "C2+G2 C3"
}
`

// places prints places by port and tenths of a millimetre.
func places(list []punching.Place) string {
	var out []string
	for _, p := range list {
		out = append(out, fmt.Sprintf("%d@%.1f", p.Port+1, p.AlongMM))
	}
	return strings.Join(out, " ")
}

func TestCompare(t *testing.T) {
	before := plan(t, twoNotes)
	for _, c := range []struct {
		name       string
		rows       int // cut of the piece as it was
		piece      string
		patch, add string
	}{
		{"nothing cut", 0, strings.Replace(twoNotes, "C2", "D2", 1), "", ""},
		{"nothing changed", 9, twoNotes, "", ""},
		{"all cut", 17, twoNotes, "", ""},
		{"a note that is still free", 9, strings.Replace(twoNotes, "C3", "D3", 1), "", ""},
		// G2 becomes A2: port 27.
		{"another key", 3, strings.Replace(twoNotes, "G2", "A2", 1), "25@0.9 25@1.6 25@2.4", "27@0.9 27@1.6 27@2.4"},
		{"a key less", 3, strings.Replace(twoNotes, "+G2", "", 1), "25@0.9 25@1.6 25@2.4", ""},
		{"a key more", 2, strings.Replace(twoNotes, "C2", "C2+E2", 1), "", "22@0.9 22@1.6"},
		// Two units are 10.16 mm: the chain goes 0.9 1.6 2.4 3.1 5.4 7.7, then 8.5
		// and 9.3. What was cut beyond 9.3 by more than 0.2 mm sounds too long.
		{"shorter", 9, strings.Replace(twoNotes, "3 (1)", "2 (2)", 1),
			"18@9.9 25@9.9 18@12.2 25@12.2 18@14.4 25@14.4", "18@8.5 25@8.5 25@9.3 18@9.3"},
		// Four units, without the silence, are 20.32 mm: the chain goes on to 14.4,
		// then 16.7 and 19.5 lie beyond what is cut. 12.1676 and 14.4254 are 12.2 and
		// 14.4 as before.
		{"longer", 9, strings.Replace(twoNotes, "3 (1)", "4 (0.5)", 1), "", ""},
		// 12.5 ms later are 0.5 mm. All holes but the first lie on the slot still, and
		// leave no wider webs than before; only its leading edge, 1.3716 mm, is new.
		{"later", 9, strings.Replace(twoNotes, "  talea = \"3", "  start = \"12.5 ms\"\n  talea = \"3", 1), "18@0.9 25@0.9", "18@1.4 25@1.4"},
	} {
		dir := t.TempDir()
		j := open(t, dir)
		cutRows(t, j, before, c.rows)
		got := punching.Compare(plan(t, c.piece), j.State)
		if places(got.Patch) != c.patch || places(got.Add) != c.add {
			t.Errorf("%s: patch %q, want %q; add %q, want %q", c.name, places(got.Patch), c.patch, places(got.Add), c.add)
		}
		must(t, j.Close())
	}
}

// After nine rows the last hole is at 14.4 mm. A note free to change has its
// first centre beyond: it begins at (14.4 - 0.8636)/40.64 = 0.33308 s or later
// (f is 1/2, so a slot opens when its leading edge is on the ports' middle).
func TestFreePoint(t *testing.T) {
	p := plan(t, twoNotes)
	j := open(t, t.TempDir())
	defer j.Close()
	cutRows(t, j, p, 9)
	c := punching.Compare(p, j.State)
	if c.Cut != 18 || math.Abs(c.CutMM-14.4) > 1e-9 || math.Abs(c.FreeSec-(14.4-0.8636)/40.64) > 1e-9 {
		t.Errorf("cut %d up to %g, free from %g s", c.Cut, c.CutMM, c.FreeSec)
	}
	must(t, j.Slip(journal.Hole{AcrossMM: 100, AlongMM: 300})) // a slip ahead is no progress
	if c := punching.Compare(p, j.State); math.Abs(c.CutMM-14.4) > 1e-9 || len(c.Add) != 0 {
		t.Errorf("after a slip: up to %g, add %v", c.CutMM, c.Add)
	}
}

// What the comparison asks for is enough: whatever is cut and however the piece
// changes, once all patches are closed and all additions cut, nothing is left
// to do, and no hole that belongs was to be patched twice.
func TestCompareIsEnough(t *testing.T) {
	pitches := []string{"C2", "G2", "C3", "E3+G3", "Bb3", "D4+F4"}
	piece := func(t *rapid.T, name string) string {
		color := rapid.SliceOfN(rapid.SampledFrom(pitches), 1, 4).Draw(t, name+" color")
		talea := rapid.SliceOfN(rapid.SampledFrom([]string{"1", "2", "3", "5", "(1)", "0.35"}), 1, 5).Draw(t, name+" talea")
		return fmt.Sprintf("voice \"a\" {\n  talea = \"1 %s\"\n  color = \"%s\"\n  extent = \"12 notes\"\n  speed = %d/10\n}\n",
			strings.Join(talea, " "), strings.Join(color, " "), rapid.IntRange(9, 11).Draw(t, name+" speed"))
	}
	base := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		dir := filepath.Join(base, fmt.Sprint(n))
		must(t, os.Mkdir(dir, 0o755))
		before, after := plan(t, piece(t, "before")), plan(t, piece(t, "after"))
		j := open(t, dir)
		defer j.Close()
		cutRows(t, j, before, min(len(before.Rows), rapid.IntRange(0, 40).Draw(t, "rows")))
		if c := punching.Compare(before, j.State); c.Any() {
			t.Fatalf("without a change: patch %s, add %s", places(c.Patch), places(c.Add))
		}
		c := punching.Compare(after, j.State)
		for _, p := range c.Patch {
			must(t, j.Patch(journal.Hole{AcrossMM: p.AcrossMM, AlongMM: p.AlongMM}))
		}
		var added []journal.Hole
		for _, p := range c.Add {
			added = append(added, journal.Hole{AcrossMM: p.AcrossMM, AlongMM: p.AlongMM})
		}
		if added != nil {
			must(t, j.Cut(added))
		}
		if c := punching.Compare(after, j.State); c.Any() {
			t.Fatalf("after all was done: patch %s, add %s", places(c.Patch), places(c.Add))
		}
	})
}

// A session from the first row to the last, with everything on the way.
func TestSession(t *testing.T) {
	p := plan(t, twoNotes)
	dir := t.TempDir()
	s, err := punching.New(p, open(t, dir), noon)
	must(t, err)
	v := s.View()
	if v.Row != 1 || v.Rows != 17 || v.Place != "0.90 mm" || v.Reading != "0 + 09" || v.Leftward || v.Say != "Forward 9 parts, left to right: 18, 25." {
		t.Errorf("first %+v", v)
	}
	// 26 punches at the assumed 400 an hour are 234 s.
	if v.LeftSec != 234 || v.Left != "4 min" || !v.Assumed || !v.DoneAt.Equal(noon().Add(234*time.Second)) {
		t.Errorf("left %v, %s, done at %v", v.LeftSec, v.Left, v.DoneAt)
	}
	must(t, s.Next())
	must(t, s.Next())
	s.Back()
	if v = s.View(); v.Row != 2 || !v.Done || len(v.Moves) != 1 || v.Moves[0].Say != "" || v.Punches != 4 {
		t.Errorf("looking back %+v", v)
	}
	s.Back()
	// Row 1 is 7 parts behind row 2, where the paper stands: back a turn more, then forward.
	if v = s.View(); v.Row != 1 || v.Say != "Back 1 turn and 7 parts, then forward 1 turn, left to right: 18, 25." {
		t.Errorf("looking back %+v", v)
	}
	undone, err := s.Undo()
	must(t, err)
	if v = s.View(); !undone || v.Done || v.Punches != 2 {
		t.Errorf("after taking back %+v", v)
	}
	must(t, s.Next())
	if v = s.View(); v.Row != 3 || v.Punches != 4 {
		t.Errorf("after that %+v", v)
	}
	if undone, err := s.Undo(); undone || err != nil {
		t.Error("a row that is not punched was taken back")
	}
	must(t, s.Pause())
	must(t, s.Next())
	if v = s.View(); !v.Paused || v.Row != 3 {
		t.Errorf("a pause that does not hold: %+v", v)
	}
	must(t, s.Resume())
	for !s.Finished() {
		must(t, s.Next())
	}
	if v = s.View(); v.Punches != 26 || v.Left != "" || v.Say != "All rows are punched." {
		t.Errorf("at the end %+v", v)
	}
	must(t, s.Close())
	again, err := punching.New(p, open(t, dir), noon)
	must(t, err)
	if !again.Finished() {
		t.Errorf("begun again: %+v", again.View())
	}
	must(t, again.Close())
}

// When the piece has changed, what is to be added comes first: the paper goes
// back for it, then on from where the work ended.
func TestAdditionsComeFirst(t *testing.T) {
	dir := t.TempDir()
	j := open(t, dir)
	cutRows(t, j, plan(t, twoNotes), 9)
	must(t, j.Close())
	s, err := punching.New(plan(t, strings.Replace(twoNotes, "C2", "C2+E2", 1)), open(t, dir), noon)
	must(t, err)
	defer s.Close()
	v := s.View()
	// From 144 tenths back to 9, a turn of 20 beyond: 155 are 7 turns and 15.
	if v.Row != 1 || v.Say != "Back 7 turns and 15 parts, then forward 1 turn, left to right: 18, 22, 25." {
		t.Fatalf("first %+v", v)
	}
	if !v.Strokes[0].Done || v.Strokes[1].Done || !v.Strokes[2].Done {
		t.Errorf("done are %+v", v.Strokes)
	}
	for range 9 {
		must(t, s.Next())
	}
	if v = s.View(); v.Row != 10 || v.Punches != 27 || v.Moves[0].Back {
		t.Errorf("after the additions %+v", v)
	}
}

func TestSlips(t *testing.T) {
	s, err := punching.New(plan(t, twoNotes), open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	for text, want := range map[string]struct {
		port int
		mm   float64
	}{"32": {31, 0.9}, " D3 ": {31, 0.9}, "d3@117.5": {31, 117.5}, "sustain @ 4 5/8 in": {0, 117.475}, "1 @ 1.2 m": {0, 1200}} {
		port, mm, err := s.ParseSlip(text)
		if err != nil || port != want.port || math.Abs(mm-want.mm) > 1e-9 {
			t.Errorf("%q: port %d, %g mm, %v", text, port+1, mm, err)
		}
	}
	for text, want := range map[string]string{"": "say which hole", "999": "no port 999", "H3": "no port H3", "32 @ here": "no length", "32 @": "no length"} {
		if _, _, err := s.ParseSlip(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
	must(t, s.Slip(31, 1.25))
	if v := s.View(); v.Patches != 1 || v.Row != 1 {
		t.Errorf("after a slip %+v", v)
	}
	if err := s.Slip(31, 1.25); err == nil {
		t.Error("a slip was taken twice")
	}
	c := s.Changes()
	if places(c.Patch) != "32@1.2" || !c.Patch[0].Slip || s.Describe(c.Patch[0]) != "32 D3, 1.25 mm from zero" {
		t.Errorf("to patch %+v", c.Patch)
	}
	must(t, s.Patched(c.Patch[0]))
	if v := s.View(); v.Patches != 0 {
		t.Errorf("after patching %+v", v)
	}
	if err := s.Slip(-1, 0); err == nil {
		t.Error("a slip under no port was taken")
	}
	if err := s.Slip(3, math.NaN()); err == nil {
		t.Error("a slip nowhere was taken")
	}
}

// A slip that the changed piece wants is no slip any more.
func TestSlipThatFits(t *testing.T) {
	p := plan(t, twoNotes)
	j := open(t, t.TempDir())
	defer j.Close()
	cutRows(t, j, p, 1)
	across := p.Roll.Instrument.Bar.Ports[21].AcrossMM // E2
	must(t, j.Slip(journal.Hole{AcrossMM: across, AlongMM: 0.9}))
	if c := punching.Compare(p, j.State); places(c.Patch) != "22@0.9" {
		t.Errorf("to patch %s", places(c.Patch))
	}
	c := punching.Compare(plan(t, strings.Replace(twoNotes, "C2", "C2+E2", 1)), j.State)
	if c.Any() {
		t.Errorf("to patch %s, to add %s", places(c.Patch), places(c.Add))
	}
}

// Lines to draw are told with the row before which they lie, once.
func TestLinesOnTheWay(t *testing.T) {
	p := plan(t, twoNotes, bench.Mark{AlongMM: -81.28, Name: "start mark"}, bench.Mark{AlongMM: 16, Name: "cue 1"})
	s, err := punching.New(p, open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	told := map[string]int{}
	for !s.Finished() {
		for _, line := range s.View().Lines {
			told[line]++
			if strings.HasSuffix(line, "cue 1") && s.View().Row != 10 {
				t.Errorf("cue 1 is told at row %d", s.View().Row)
			}
		}
		must(t, s.Next())
	}
	if len(told) != 2 {
		t.Errorf("told %v", told)
	}
	for line, n := range told {
		if n != 1 {
			t.Errorf("%q is told %d times", line, n)
		}
	}
}

// wide is a row of 40 strokes, as a view.
func wide(n int) punching.View {
	v := punching.View{Row: 7, Rows: 900, Reading: "58 + 17", Place: "117.70 mm", Punches: 40, OfPunches: 9876, Pace: 400, Assumed: true,
		Left: "24 h 30 min", Sessions: 13, DoneAt: noon(), Moves: []punching.Move{{Back: true, Text: "12 + 07"}, {Text: "1 + 00"}}}
	for i := range n {
		v.Strokes = append(v.Strokes, punching.Stroke{Number: 30 + i, Name: fmt.Sprintf("C%d", i%9), N: i, Of: 40})
	}
	return v
}

// Whatever the screen, nothing is wider or higher than it, and all parts of a
// row together show every stroke once.
func TestScreensFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := wide(rapid.IntRange(1, 60).Draw(t, "strokes"))
		if rapid.Bool().Draw(t, "forward") {
			v.Moves = v.Moves[1:]
		}
		s := punching.Screen{Head: "Weft · left", Columns: rapid.IntRange(30, 220).Draw(t, "columns"), Rows: rapid.IntRange(12, 70).Draw(t, "rows"), Blocks: rapid.Bool().Draw(t, "blocks")}
		seen := map[string]int{}
		_, parts := s.Draw(v)
		for part := range parts {
			s.Part = part
			lines, _ := s.Draw(v)
			if len(lines) != s.Rows {
				t.Fatalf("%d lines on %d rows", len(lines), s.Rows)
			}
			for _, l := range lines {
				if n := utf8.RuneCountInString(l.Text); n > s.Columns {
					t.Fatalf("%q has %d of %d columns", l.Text, n, s.Columns)
				}
				for _, word := range strings.Fields(strings.ReplaceAll(l.Text, "·", " ")) {
					if strings.HasSuffix(word, "/40") {
						seen[word]++
					}
				}
			}
		}
		for _, stroke := range v.Strokes {
			if seen[stroke.Chain()] != 1 {
				t.Fatalf("%d columns, %d rows, %d parts: stroke %s is shown %d times", s.Columns, s.Rows, parts, stroke.Chain(), seen[stroke.Chain()])
			}
		}
	})
}

// The largest letters that fit are taken: they are higher on a larger screen.
func TestScreenGrows(t *testing.T) {
	high := func(columns, rows int) int {
		v := wide(1)
		v.Moves = v.Moves[1:]
		s := punching.Screen{Columns: columns, Rows: rows, Blocks: true}
		lines, _ := s.Draw(v)
		n := 0
		for _, l := range lines {
			if strings.ContainsAny(l.Text, "█▀▄") {
				n++
			}
		}
		return n
	}
	if small, middle, large := high(40, 20), high(80, 30), high(200, 60); !(small < middle && middle < large) {
		t.Errorf("rows of large letters: %d, %d, %d", small, middle, large)
	}
}

// A journal that cannot be written keeps the row where it is.
func TestFullDisk(t *testing.T) {
	j := open(t, t.TempDir())
	s, err := punching.New(plan(t, twoNotes), j, noon)
	must(t, err)
	must(t, s.Next())
	must(t, j.Close()) // from here on nothing can be written
	if err := s.Next(); err == nil || !strings.Contains(err.Error(), "the last row is not recorded") {
		t.Errorf("got %v", err)
	}
	if v := s.View(); v.Row != 2 || v.Punches != 2 {
		t.Errorf("after it %+v", v)
	}
}

func TestHours(t *testing.T) {
	for sec, want := range map[float64]string{0: "0 min", 1: "1 min", 59 * 60: "59 min", 3600: "1 h 00 min", 3661: "1 h 02 min"} {
		if got := punching.Hours(sec); got != want {
			t.Errorf("%g s: %s, want %s", sec, got, want)
		}
	}
}

func TestNewNeedsItsJournal(t *testing.T) {
	j := open(t, t.TempDir())
	must(t, j.Close())
	if _, err := punching.New(plan(t, twoNotes), j, noon); !errors.Is(err, os.ErrClosed) {
		t.Errorf("got %v", err)
	}
}

// 200,000 punches, half of them cut: what a session does when it begins.
func BenchmarkCompare(b *testing.B) {
	p := plan(b, `voice "a" {
  talea  = "3 2 2 1"
  color  = "C2+G2+C3 D3+A3+F4 E4+B4+G5"
  extent = "9000 notes"
}
`)
	j := open(b, b.TempDir())
	defer j.Close()
	var holes []journal.Hole
	for i := range len(p.Rows) / 2 {
		for _, s := range p.Rows[i].Strokes {
			across, along := p.StrokeMM(i, s)
			holes = append(holes, journal.Hole{AcrossMM: across, AlongMM: along})
		}
	}
	must(b, j.Cut(holes))
	slices.Reverse(holes)
	for b.Loop() {
		if c := punching.Compare(p, j.State); c.Any() {
			b.Fatal("changes without a change")
		}
	}
	b.ReportMetric(float64(p.Punches), "punches")
}

func ExampleLarge() {
	for _, line := range punching.Large("18", 1, false) {
		fmt.Printf("|%s|\n", line)
	}
	// Output:
	// |  #    ### |
	// | ##   #   #|
	// |  #   #   #|
	// |  #    ### |
	// |  #   #   #|
	// |  #   #   #|
	// | ###   ### |
}
