package perform_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rollwright/music/perform"
	"rollwright/music/piece"
)

// TestLattice shows the exact places of 3 2 (1/2) over five notes: in steps of
// half a unit 0 6 | 11 17 | 22 and the end at 28; backward the other way round.
func TestLattice(t *testing.T) {
	v := voice("a", "3 2 (1/2)", "60 61")
	v.Stretch, v.Extent = real("sqrt(2)"), notes(5)
	forward, ok := mustPerform(t, pieceOf(v)).Lines[0].Lattice()
	v.Backward = true
	backward, ok2 := mustPerform(t, pieceOf(v)).Lines[0].Lattice()
	if !ok || !ok2 {
		t.Fatal("no lattice")
	}
	if got := forward.Step().String(); got != "sqrt(2)/2" && got != "1/2*sqrt(2)" {
		t.Errorf("step %s", got)
	}
	check := func(name string, l perform.Lattice, want ...int64) {
		var got []int64
		for n, at := range l.Notes() {
			got = append(got, at)
			if l.Note(n) != at || len(got) != n {
				t.Errorf("%s: note %d at %d, Note says %d", name, n, at, l.Note(n))
			}
			if back, ok := l.NoteAt(at); !ok || back != n {
				t.Errorf("%s: at %d is note %d, %v; want %d", name, at, back, ok, n)
			}
		}
		if !slices.Equal(got, want) || l.Length() != 28 {
			t.Errorf("%s: notes at %v of %d, want %v of 28", name, got, l.Length(), want)
		}
	}
	check("forward", forward, 0, 6, 11, 17, 22)
	// the last note, 22 to 28, begins at 0; 17 to 21 at 7; 11 to 17 at 11; 6 to 10 at 18; 0 to 6 at 22
	check("backward", backward, 0, 7, 11, 18, 22)
	if _, ok := forward.NoteAt(10); ok {
		t.Error("the silence at 10 is said to be a note")
	}
	if items, steps, ok := forward.Period(); items != 3 || steps != 11 || !ok {
		t.Errorf("period %d items, %d steps, %v; want 3, 11", items, steps, ok)
	}
	var beyond []int64
	for n, at := range forward.Beyond() {
		if n != 6+len(beyond) {
			t.Errorf("note %d follows", n)
		}
		if beyond = append(beyond, at); len(beyond) == 3 {
			break
		}
	}
	if !slices.Equal(beyond, []int64{28, 33, 39}) {
		t.Errorf("beyond the end %v, want 28 33 39", beyond)
	}
}

// TestLatticeAgreesWithItems compares exact places with those of All, on
// voices of any kind, and finds every one of them.
func TestLatticeAgreesWithItems(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := randomVoice(t)
		v.Place = piece.Place{}
		perf, err := perform.New(pieceOf(v), perform.Options{MaxEvents: 3000})
		if err != nil {
			mustBeRefused(t, err)
			t.Skip(err)
		}
		l := perf.Lines[0]
		lattice, ok := l.Lattice()
		if ok != l.UnitsExact {
			t.Fatalf("a lattice: %v, exact units: %v", ok, l.UnitsExact)
		}
		if !ok {
			t.Skip("no lattice")
		}
		step := lattice.Step().Float64()
		for item := range l.All() {
			at := lattice.Item(item.N)
			if !near(float64(at)*step, item.At, 1e-15*l.Length) {
				t.Fatalf("item %d at %d steps of %v, but at %v units", item.N, at, step, item.At)
			}
			if found := lattice.Search(at); found != item.N {
				t.Fatalf("item %d at %d is found as %d", item.N, at, found)
			}
			if note, ok := lattice.NoteAt(at); note != item.Note || ok == item.Silent {
				t.Fatalf("item %+v at %d is note %d, %v", item, at, note, ok)
			}
			if next := lattice.Item(item.N + 1); lattice.Search(at+1) != item.N+1 || next <= at {
				t.Fatalf("item %d is followed by %d at %d", item.N, lattice.Search(at+1), next)
			}
		}
		if lattice.Search(lattice.Length()+1) != l.Items || lattice.Search(-5) != 0 {
			t.Fatal("places outside the line are inside")
		}
	})
}

// TestPeriodIsOne has a voice of several periods repeat itself.
func TestPeriodIsOne(t *testing.T) {
	v := voice("a", "3 2 (1/2) 1", "60 61 62 63 64")
	v.PerTalea.Stretch, v.PerColor.Stretch = reals("1", "2/3", "1/2"), reals("1", "3/2")
	v.Extent = taleae(100)
	l, _ := mustPerform(t, pieceOf(v)).Lines[0].Lattice()
	// Taleae of 3 notes and colores of 5: statements of both come again after a
	// multiple of 3 taleae with a multiple of 2*5 notes: 30 taleae, 120 items.
	items, steps, ok := l.Period()
	if items != 120 || !ok {
		t.Fatalf("a period of %d items, %v; want 120", items, ok)
	}
	for n := range 280 {
		if got, want := l.Item(n+items)-l.Item(n), steps; got != want {
			t.Fatalf("item %d comes again after %d steps, want %d", n, got, want)
		}
	}
}
