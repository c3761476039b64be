package punching_test

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
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

// A session from the first row to the last, with everything on the way.
func TestSession(t *testing.T) {
	p := plan(t, twoNotes)
	dir := t.TempDir()
	s, err := punching.New(p, open(t, dir), noon)
	must(t, err)
	v := s.View()
	if v.Row != 1 || v.Rows != 17 || v.Place != "0.90 mm" || v.Reading != "0 + 09" || v.Leftward ||
		v.Say != "Forward 9 parts, left to right: 18, 25." {
		t.Errorf("first %+v", v)
	}
	// 26 punches at the assumed 5 s and 17 rows at 4 s are 198 s.
	if v.LeftSec != 198 || v.Left != "4 min" || !v.Assumed || !v.DoneAt.Equal(noon().Add(198*time.Second)) {
		t.Errorf("left %v, %s, done at %v", v.LeftSec, v.Left, v.DoneAt)
	}
	must(t, s.Next())
	must(t, s.Next())
	s.Back()
	if v = s.View(); v.Row != 2 || !v.Done || !v.Looking || len(v.Moves) != 0 || v.Punches != 4 {
		t.Errorf("looking back %+v", v)
	}
	s.Back()
	if v = s.View(); v.Row != 1 || v.Say != "Looking back, the crank stays. left to right: 18, 25." {
		t.Errorf("looking back %+v", v)
	}
	undone, err := s.Undo()
	must(t, err)
	// The way to row 3, 24 parts, was told; row 1, 9 parts, lies 15 behind: back a turn more, then forward.
	if v = s.View(); !undone || v.Done || v.Punches != 2 || v.Say != "Back 1 turn and 15 parts, then forward 1 turn, left to right: 18, 25." ||
		v.Moves[0].To != "one turn before 0, dial at 09" || v.Moves[1].To != "0 + 09" ||
		v.Mind != "before you go back the paper must stand at crank 1 + 04" {
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
	if v.Row != 1 || v.Say != "Back 7 turns and 15 parts, then forward 1 turn, only 1 of 3: 22." {
		t.Fatalf("first %+v", v)
	}
	if len(v.Strokes) != 1 || v.Strokes[0].Number != 22 || v.Cut != 2 { // 18 and 25 are there
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
	}{"32": {31, 0.9}, " D3 ": {31, 0.9}, "d3@117.5": {31, 117.5}, "sustain @ 4 5/8 in": {0, 117.475},
		"1 @ 1.2 m": {0, 1200},
		// Every spelling of a key that a piece may be written in; A#3 is port 40, 9 after C#3, B2 port 29.
		"A#3": {39, 0.9}, "Bb3 @ 3": {39, 3}, "bb3": {39, 0.9}, "BB3": {39, 0.9}, "Cbb4": {39, 0.9}, "Cb3": {28, 0.9},
		"b2": {28, 0.9}} {
		port, mm, err := s.ParseSlip(text)
		if err != nil || port != want.port || math.Abs(mm-want.mm) > 1e-9 {
			t.Errorf("%q: port %d, %g mm, %v", text, port+1, mm, err)
		}
	}
	for text, want := range map[string]string{
		"": "say which hole", "999": "there is no port 999", "H3": "there is no port H3", "Bb9": "there is no port Bb9",
		"32 @ here": `"here" is no length from the zero line: write it like 0.90 mm`,
		"32 @":      "after the @ goes the length from the zero line, such as 0.90 mm",
		"32 @ 1,6":  `"1,6" has a comma: write 1.6 mm`, "32 @ 0,5 in": `"0,5 in" has a comma: write 0.5 in`,
		"32 @ 1,117.5": "no length",
		"32 1.6":       "the length from the zero line goes after an @: write 32 @ 1.6", "bb3 1,6 mm": "write bb3 @ 1.6 mm",
		"32 33": "write 32 @ 33", "99 1.6": "there is no port 99 1.6", "32 x": "there is no port 32 x",
	} {
		if _, _, err := s.ParseSlip(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
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
	if len(told) != 3 { // and the row of time 0, behind the zero line
		t.Errorf("told %v", told)
	}
	for line, n := range told {
		if n != 1 {
			t.Errorf("%q is told %d times", line, n)
		}
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

func TestNewNeedsItsJournal(t *testing.T) {
	j := open(t, t.TempDir())
	must(t, j.Close())
	if _, err := punching.New(plan(t, twoNotes), j, noon); !errors.Is(err, os.ErrClosed) {
		t.Errorf("got %v", err)
	}
}
