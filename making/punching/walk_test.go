package punching_test

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/internal/rollcases"
	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
)

// atOf is the work on a piece at a built-in bench.
func atOf(t fataler, piece, name string, marks ...bench.Mark) *bench.Plan {
	t.Helper()
	profile, err := bench.Load(name, "")
	must(t, err)
	out, err := bench.New(rollcases.Rolls(t, piece)[0], profile, marks...)
	must(t, err)
	return out
}

// parts is a count as the crank writes it: "2 + 07", or clicks; before the zero
// line in words.
func parts(t fataler, c bench.Crank, text string) int64 {
	t.Helper()
	var turns, rest int64
	before := strings.Contains(text, " before 0")
	text = strings.Replace(text, "one turn", "1 turns", 1)
	text = strings.Replace(text, "1 click ", "1 clicks ", 1)
	form, into := "%d + %d", []any{&turns, &rest}
	switch {
	case before && c.Clicks():
		form, into = "%d clicks before 0", into[:1]
	case before:
		form = "%d turns before 0, dial at %d"
	case c.Clicks():
		form, into = "%d", into[:1]
	}
	if _, err := fmt.Sscanf(text, form, into...); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	if before {
		turns = -turns
	}
	return turns*int64(c.Parts) + rest
}

// Whoever does what is told, and only that, stands at the place of every row
// that they punch, however they look back, take rows back, note bad holes; and
// every way ends forward, out of the backlash.
func TestFollowingTheInstructions(t *testing.T) {
	base := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		dir := filepath.Join(base, fmt.Sprint(n))
		must(t, os.Mkdir(dir, 0o755))
		p := atOf(t, twoNotes, rapid.SampledFrom([]string{"crank-2mm", "crank-eighth", "ratchet-45"}).Draw(t, "bench"),
			bench.Mark{AlongMM: -3, Name: "start mark"})
		s, err := punching.New(p, open(t, dir), noon)
		must(t, err)
		defer s.Close()
		crank, seen := p.Start, punching.View{}
		follow := func() {
			v := s.View()
			if v.Row == seen.Row && v.Looking == seen.Looking && reflect.DeepEqual(v.Moves, seen.Moves) {
				return // nothing new is told
			}
			seen = v
			for i, m := range v.Moves {
				if m.Back && (i > 0 || len(v.Moves) != 2) || !m.Back && i != len(v.Moves)-1 {
					t.Fatalf("moves %+v", v.Moves)
				}
				by := parts(t, p.Profile.Crank, m.Text)
				if m.Back {
					by = -by
				}
				crank += by
				if at := p.Profile.Crank.Text(p.Reading(crank)); at != m.To {
					t.Fatalf("the crank reads %s, the screen says %s", at, m.To)
				}
			}
			if v.Looking != (len(v.Moves) == 0) && !v.Finished {
				t.Fatalf("looking %v with moves %v", v.Looking, v.Moves)
			}
			if len(v.Moves) > 0 && crank != p.Rows[v.Row-1].Dial {
				t.Fatalf("row %d is at %d, the crank at %d", v.Row, p.Rows[v.Row-1].Dial, crank)
			}
		}
		follow()
		for _, act := range rapid.SliceOfN(rapid.SampledFrom([]string{"next", "next", "next", "back", "back", "undo", "go",
			"slip"}), 0, 60).Draw(t, "acts") {
			before := s.View()
			switch act {
			case "next":
				must(t, s.Next())
				if v := s.View(); v.Punches > before.Punches && crank != p.Rows[before.Row-1].Dial {
					t.Fatalf("row %d was punched at %d", before.Row, crank)
				}
			case "back":
				s.Back()
				if v := s.View(); len(v.Moves) > 0 && v.Row != before.Row {
					t.Fatalf("looking back tells to move: %+v", v)
				}
			case "undo":
				_, err := s.Undo()
				must(t, err)
			case "go":
				s.Go()
			case "slip":
				_, _ = s.Note("18") // of rows without one it is some other hole, or on the list already
			}
			follow()
		}
	})
}

// The words of a ratchet count clicks. Rows of twoNotes on 45 to the inch, by
// hand: 0.8636 mm are 1.53 clicks, so 2; 14.4254 mm are 25.6, so 26; C3 begins at
// 21.1836 mm, 37.5, so 38.
func TestRatchetWords(t *testing.T) {
	p := atOf(t, twoNotes, "ratchet-45")
	s, err := punching.New(p, open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	v := s.View()
	if !v.Clicks || v.Say != "Forward 2 clicks, left to right: 18, 25." || v.Reading != "2" {
		t.Fatalf("first %+v", v)
	}
	must(t, s.Next())
	second := p.Rows[1].Dial
	s.Back()
	s.Go() // five clicks beyond, as the bench has it
	if v = s.View(); v.Say != fmt.Sprintf("Back %d clicks, then forward 5 clicks, left to right: 18, 25.", second-2+5) {
		t.Errorf("back %+v", v)
	}
	must(t, s.Next())
	if v = s.View(); v.Row != 2 || v.Looking || !strings.HasPrefix(v.Say,
		fmt.Sprintf("Forward %s, ", map[bool]string{true: "1 click",
			false: fmt.Sprintf("%d clicks", second-2)}[second == 3])) {
		t.Errorf("on again %+v", v)
	}
	s.Back()
	must(t, s.Next())
	if v = s.View(); !strings.HasPrefix(v.Say, "Stay here, ") ||
		v.Mind != fmt.Sprintf("the way here was told before you looked back: the paper must stand at click %d", second) {
		t.Errorf("after a look back %+v", v)
	}
	screen := punching.Screen{Columns: 100, Rows: 40}
	lines, _ := screen.Draw(v)
	for _, l := range lines {
		if strings.Contains(l.Text, "crank") || strings.Contains(l.Text, "turn on") {
			t.Errorf("a ratchet has no %q", l.Text)
		}
	}
}

// A bad hole that is wanted is to patch and to cut again: noted on the row shown
// it does not count when that row is done, and comes again.
func TestTornHole(t *testing.T) {
	p, dir := plan(t, twoNotes), t.TempDir()
	s, err := punching.New(p, open(t, dir), noon)
	must(t, err)
	said, err := s.Note("G2")
	must(t, err)
	if said != "noted: 25 G2, 0.90 mm from zero belongs there but came out bad: patch it, then punch it again with row 1, which counts as not punched" {
		t.Errorf("said %q", said)
	}
	if _, err := s.Note("G2"); err == nil || !strings.Contains(err.Error(), "on the list of patches already") {
		t.Errorf("noted twice: %v", err)
	}
	must(t, s.Next())
	if v := s.View(); v.Row != 2 || v.Punches != 1 || v.Patches != 1 ||
		v.Waits != "row 1 still waits for patch 1, and comes again" {
		t.Fatalf("after row 1 %+v", v)
	}
	must(t, s.Next())
	if v := s.View(); v.Waits != "" {
		t.Errorf("row 2 is done, and %q", v.Waits)
	}
	s.Back() // row 2, punched
	said, err = s.Note("18 @ 1.7")
	must(t, err)
	if !strings.Contains(said, "18 C2, 1.60 mm from zero belongs there") {
		t.Errorf("said %q", said)
	}
	s.Back()
	s.Back() // row 1 misses a hole, and is looked at all the same
	if v := s.View(); v.Row != 1 || !v.Looking || v.Done {
		t.Errorf("looking back at a row with a torn hole: %+v", v)
	}
	must(t, s.Next())
	must(t, s.Next()) // forward again: nothing is counted
	if v := s.View(); v.Row != 3 || v.Punches != 2 || v.Patches != 2 {
		t.Fatalf("after looking back %+v", v)
	}
	for s.View().Row > 2 {
		must(t, s.Next())
	}
	v := s.View()
	if v.Row != 1 || v.Finished || len(v.Strokes) != 1 || v.Cut != 1 || v.Strokes[0].Number != 25 ||
		!strings.Contains(v.Mind, "patch 25 G2 here before you punch it again") {
		t.Fatalf("the torn hole does not come again: %+v", v)
	}
	must(t, s.Close())
	s, err = punching.New(p, open(t, dir), noon) // it is in the journal
	must(t, err)
	c := s.Changes()
	if places(c.Patch) != "25@0.9 18@1.6" || !c.Patch[0].Torn || places(c.Add) != "25@0.9 18@1.6" || c.There != 24 ||
		c.Slips != 2 {
		t.Fatalf("patch %s, add %s, cut %d, slips %d", places(c.Patch), places(c.Add), c.There, c.Slips)
	}
	must(t, s.Patched(c.Patch[0]))
	must(t, s.Next()) // row 1
	must(t, s.Next()) // row 2, patched and punched at once
	if v := s.View(); !v.Finished || v.Punches != 26 || v.Patches != 0 {
		t.Errorf("at the end %+v", v)
	}
	must(t, s.Close())
}

// A bad hole that is closed and punched again at its row is done with it.
func TestTornHoleClosedAtOnce(t *testing.T) {
	s, err := punching.New(plan(t, twoNotes), open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	for _, text := range []string{"G2", "C2"} {
		_, err := s.Note(text)
		must(t, err)
	}
	c := s.Changes()
	if places(c.Patch) != "18@0.9 25@0.9" {
		t.Fatalf("to patch %s", places(c.Patch))
	}
	must(t, s.Patched(c.Patch[0]))
	must(t, s.Next())
	if v := s.View(); v.Row != 2 || v.Punches != 1 || v.Patches != 1 ||
		v.Waits != "row 1 still waits for patch 1, and comes again" {
		t.Fatalf("after row 1 %+v", v)
	}
}

// The trailer is 500 mm behind the music, the leader 1200 before it.
func TestSlipsOffThePaper(t *testing.T) {
	s, err := punching.New(plan(t, twoNotes), open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	if _, err := s.Note("33 @ 99999"); err == nil || !strings.Contains(err.Error(),
		"99999.00 mm from zero is not on the paper, which ends at 530.48 mm") {
		t.Errorf("got %v", err)
	}
}

// A hand's breadth ahead of row 1, at 0.9 mm, the words have to come twice, and
// with nothing between.
func TestSlipsFarAhead(t *testing.T) {
	s, err := punching.New(plan(t, twoNotes), open(t, t.TempDir()), noon)
	must(t, err)
	defer s.Close()
	far := func(text, want string) {
		t.Helper()
		if _, err := s.Note(text); err == nil || !strings.Contains(err.Error(), want) || s.View().Patches != 0 {
			t.Errorf("%s: got %v, %d to patch", text, err, s.View().Patches)
		}
	}
	far("33 @ 500", "500.00 mm from zero lies 499.10 mm ahead of the work; given once more it is noted all the same")
	far("33 @ 501", "501.00 mm from zero lies")
	must(t, s.Next())
	far(" 33 @ 501", "501.00 mm from zero lies 499.40 mm ahead")
	said, err := s.Note("33 @ 501 ")
	must(t, err)
	if said != "noted: 33 D#3, 501.00 mm from zero is to patch; the list has 1" {
		t.Errorf("said %q", said)
	}
	_, err = s.Note("33 @ 101.5") // row 2 is at 1.6 mm
	must(t, err)
	for range 9 {
		must(t, s.Next())
	}
	_, err = s.Note("33 @ 121.5") // row 11 is beyond 21.5
	must(t, err)
	_, err = s.Note("33 @ 0.3") // behind
	must(t, err)
}

func TestLastCut(t *testing.T) {
	p, dir := plan(t, twoNotes), t.TempDir()
	s, err := punching.New(p, open(t, dir), noon)
	must(t, err)
	if got := s.LastCut(); got != "" {
		t.Errorf("nothing is cut, and it says %q", got)
	}
	for range 10 {
		must(t, s.Next())
	}
	must(t, s.Close())
	s, err = punching.New(p, open(t, dir), noon)
	must(t, err)
	defer s.Close()
	if got := s.LastCut(); got != "last cut: row 10, C3, 21.20 mm, crank 10 + 12" {
		t.Errorf("got %q", got)
	}
	s.Back()
	if undone, err := s.Undo(); !undone || err != nil {
		t.Fatal(undone, err)
	}
	if got := s.LastCut(); got != "last row, taken back: row 10, 21.20 mm, crank 10 + 12" {
		t.Errorf("got %q", got)
	}
}

// A hole noted as bad is kept in the journal as such.
func TestTornInTheJournal(t *testing.T) {
	j := open(t, t.TempDir())
	defer j.Close()
	h := journal.Hole{AcrossMM: 1, AlongMM: 2}
	must(t, j.Cut([]journal.Hole{h}))
	must(t, j.Tear(h))
	if !j.Torn(h) || !j.Slipped(h) || !j.Undone(h) || len(j.Holes()) != 1 {
		t.Errorf("torn %v, slipped %v, undone %v", j.Torn(h), j.Slipped(h), j.Undone(h))
	}
	must(t, j.Cut([]journal.Hole{h}))
	if j.Torn(h) || j.Slipped(h) {
		t.Error("a hole that was cut again is still bad")
	}
}
