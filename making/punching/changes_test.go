package punching_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/making/journal"
	"rollwright/making/punching"
)

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
	if c.There != 18 || math.Abs(c.CutMM-14.4) > 1e-9 || math.Abs(c.FreeSec-(14.4-0.8636)/40.64) > 1e-9 {
		t.Errorf("cut %d up to %g, free from %g s", c.There, c.CutMM, c.FreeSec)
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
