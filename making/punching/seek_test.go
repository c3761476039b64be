package punching_test

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
)

// TestPatchNumbersStay: closing 1 and then 2 closes what was 1 and what was 2;
// a hole that is noted later gets a number that nobody had, in the next session
// too, and so do holes that a change of the piece has made wrong.
func TestPatchNumbersStay(t *testing.T) {
	dir := t.TempDir()
	p := plan(t, twoNotes)
	s, err := punching.New(p, open(t, dir), noon)
	must(t, err)
	for _, text := range []string{"32 @ 40", "32 @ 20", "32 @ 30"} { // not in the order of the paper
		_, err := s.Note(text)
		must(t, err)
	}
	list := func() string {
		var out []string
		for _, p := range s.Changes().Patch {
			out = append(out, fmt.Sprintf("%d@%.0f", p.Number, p.AlongMM))
		}
		return strings.Join(out, " ")
	}
	if got := list(); got != "2@20 3@30 1@40" {
		t.Fatalf("the list is %s", got)
	}
	closePatch := func(n int) {
		t.Helper()
		p, ok := s.PatchNumbered(n)
		if !ok {
			t.Fatalf("there is no patch %d", n)
		}
		must(t, s.Patched(p))
	}
	closePatch(1)
	closePatch(2)
	if got := list(); got != "3@30" {
		t.Fatalf("after 1 and 2 are closed the list is %s", got)
	}
	for range 3 { // cut C2 and G2 for three rows
		must(t, s.Next())
	}
	must(t, s.Close())
	s, err = punching.New(plan(t, strings.Replace(twoNotes, "G2", "A2", 1)), open(t, dir), noon)
	must(t, err)
	if got := list(); got != "4@1 5@2 6@2 3@30" { // 0.9, 1.6, 2.4 of port 25 no longer belong
		t.Fatalf("after the change the list is %s", got)
	}
	closePatch(5)
	must(t, s.Close())
	s, err = punching.New(plan(t, strings.Replace(twoNotes, "G2", "A2", 1)), open(t, dir), noon)
	must(t, err)
	defer s.Close()
	if got := list(); got != "4@1 6@2 3@30" {
		t.Fatalf("the next day the list is %s", got)
	}
	_, err = s.Note("32 @ 25")
	must(t, err)
	if got := list(); got != "4@1 6@2 7@25 3@30" {
		t.Fatalf("the list is %s", got)
	}
}

// TestMissed: a hole that was left out comes again alone, its row says with how
// many, and nothing is to patch.
func TestMissed(t *testing.T) {
	s, err := punching.New(plan(t, twoNotes), open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	must(t, s.Next())
	must(t, s.Next())
	if _, err := s.Note("missed G2"); err == nil || !strings.Contains(err.Error(),
		"25 G2 of row 3 does not count as punched: it comes") {
		t.Error(err)
	}
	s.Back()
	if _, err := s.Note("missed 32"); err == nil || !strings.Contains(err.Error(), "row 2 has no hole for 32 D3") {
		t.Error(err)
	}
	said, err := s.Note("missed G2")
	if err != nil || said != "noted: 25 G2 of row 2 is missing; the row comes again with it alone" {
		t.Errorf("%q, %v", said, err)
	}
	if c := s.Changes(); len(c.Patch) != 0 || c.There != 3 {
		t.Errorf("%d to patch, %d there", len(c.Patch), c.There)
	}
	must(t, s.Next()) // looked at: on to row 3
	for s.View().Row != 2 {
		must(t, s.Next())
	}
	v := s.View()
	if len(v.Strokes) != 1 || v.Strokes[0].Name != "G2" || v.Cut != 1 || !strings.Contains(v.Say, "only 1 of 2: 25.") {
		t.Errorf("%+v", v)
	}
	screen := punching.Screen{Columns: 100, Rows: 40}
	lines, _ := screen.Draw(v)
	text := ""
	for _, l := range lines {
		text += l.Text + "\n"
	}
	if !strings.Contains(text, "only 1 punch of 2, the others are cut") || strings.Contains(text, "C2") {
		t.Error(text)
	}
	must(t, s.Next())
	if !s.Finished() {
		t.Errorf("%+v", s.View())
	}
}

// TestToARow: by number, by place, by time: row 10 is the first of C3, at
// 0.5 s * 40.64 + 0.8636 = 21.18 mm.
func TestToARow(t *testing.T) {
	s, err := punching.New(plan(t, twoNotes), open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	for text, want := range map[string]int{"row 4": 4, "row @ 21": 10, "row @ 0.9 mm": 1, "row 0.5 s": 10,
		"row 0:00.5": 10, "row 9:00": 17} {
		said, err := s.Note(text)
		if v := s.View(); err != nil || v.Row != want || !v.Looking ||
			said != fmt.Sprintf("looking at row %d; the crank stays until you bring the paper there", want) {
			t.Errorf("%s: row %d, looking %v, %q, %v", text, v.Row, v.Looking, said, err)
		}
	}
	for text, want := range map[string]string{"row 18": "there is no row 18; they run from 1 to 17",
		"row x": `"x" is no row`, "row @ 1,5": "has a comma", "row": "is no row"} {
		if _, err := s.Note(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
	must(t, s.Next()) // not told: nothing is cut
	if v := s.View(); v.Punches != 0 {
		t.Errorf("%+v", v)
	}
}

// TestAnotherBenchAsksNoPatch: a roll begun at one bench has nothing to patch at
// any other, though dials have other marks: the ratchet's click of 0.5644 mm puts
// holes up to 0.28 mm beside their places, the dial's tenth up to 0.05.
func TestAnotherBenchAsksNoPatch(t *testing.T) {
	const piece = "voice \"a\" {\n  talea = \"3 1 2 (1) 5\"\n  color = \"C2+G2 C3 E3 Bb3\"\n  hold = \"0.9 single 0.6\"\n  speed = 31/30\n}\n"
	r := rollcases.Rolls(t, piece)[0]
	at := func(name string) *bench.Plan {
		profile, err := bench.Load(name, "")
		must(t, err)
		p, err := bench.New(r, profile)
		must(t, err)
		return p
	}
	for _, first := range bench.List() {
		for _, then := range bench.List() {
			before, after := at(first.Name), at(then.Name)
			j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"),
				journal.Head{TurnMM: before.Profile.Crank.TurnMM, Parts: before.Profile.Crank.Parts, Spool: 1, Spools: 1}, noon)
			must(t, err)
			cutRows(t, j, before, len(before.Rows))
			if c := punching.Compare(after, j.State); len(c.Patch) != 0 || len(c.Add) != 0 {
				t.Errorf("from %s to %s: patch %s, add %s", first.Name, then.Name, places(c.Patch), places(c.Add))
			}
			must(t, j.Close())
		}
	}
}

// TestTold, by hand: 60 rows a mm apart, 30 s each, and 90 s where a length was
// measured after the row before, which is each tenth. A slip every 12 rows: five.
// A check takes 60 s. The work is 60*30 + 5*60 = 2100 s (the sixth check is after
// the last row), a slip comes each 420 s, so sqrt(2*60*420) = 224.5 s of work cost
// least (a row counts where it ends, so the first half hour has 29 min): at 59 mm in 2100 s that is
// 6.3 mm, told as the least step, 50 mm.
func TestTold(t *testing.T) {
	now := time.Date(2026, 1, 2, 12, 0, 0, 0, time.UTC)
	j, err := journal.Open(filepath.Join(t.TempDir(), "a.journal"),
		journal.Head{TurnMM: 2, Parts: 20, Spool: 1, Spools: 1}, func() time.Time { return now })
	must(t, err)
	defer j.Close()
	must(t, j.Begin())
	for i := range 60 {
		if got := punching.Told(j.State); i < 50 && got != nil {
			t.Fatalf("told after %d rows: %q", i, got)
		}
		now = now.Add(30 * time.Second)
		if i > 0 && i%10 == 0 {
			now = now.Add(60 * time.Second)
		}
		h := journal.Hole{AcrossMM: 100, AlongMM: float64(i)}
		must(t, j.Cut([]journal.Hole{h}))
		if i%10 == 9 {
			must(t, j.Measure(h))
		}
		if i%12 == 11 {
			must(t, j.Slip(journal.Hole{AcrossMM: 50, AlongMM: float64(i)}))
		}
	}
	every, check, between, ok := j.CheckEvery()
	if !ok || check != 60*time.Second || between != 420*time.Second || math.Abs(every-math.Sqrt(2*60*420)*59/2100) > 1e-6 {
		t.Errorf("each %v mm, a check %v, a slip each %v, %v", every, check, between, ok)
	}
	want := []string{
		"minutes 0 to 30 of a sitting: 4 slips in 29 min, 8.3 an hour",
		"minutes 30 to 60 of a sitting: 1 slip in 6 min, 10.0 an hour",
		"a length to measure each 50 mm costs least: a check takes you 60 s, and a hole goes wrong once in 7 min of work (Young 1974)",
	}
	if got := punching.Told(j.State); strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("%s", strings.Join(got, "\n"))
	}
}
