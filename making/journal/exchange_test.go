package journal_test

import (
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"rollwright/internal/long"
	"rollwright/internal/replaced"
	"rollwright/making/journal"
)

// TestExchanged puts something else in the place of an open journal: the next
// record says so and keeps everything, itself too, elsewhere; what was put there
// stays as it is.
func TestExchanged(t *testing.T) {
	for name, replace := range replaced.Ways {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.journal")
			j := open(t, path, clock(time.Second))
			defer j.Close()
			must(t, j.Cut(holes(1, 10, 20)))
			older, err := os.ReadFile(path)
			must(t, err)
			must(t, j.Cut(holes(2, 10, 20)))
			must(t, replace(path, older))
			there, _ := os.ReadFile(path)
			err = j.Cut(holes(3, 10, 20))
			if !errors.Is(err, journal.ErrLost) {
				t.Fatalf("the record after it: %v", err)
			}
			kept := replaced.KeptIn(err.Error())
			if s, err := journal.Read(kept); err != nil || s.Punched() != 6 {
				t.Errorf("%q: %v, %v; want six holes", kept, s, err)
			}
			if now, _ := os.ReadFile(path); string(now) != string(there) {
				t.Errorf("what was put in its place was written to")
			}
			if again := j.Cut(holes(4, 10)); again == nil || again.Error() != err.Error() {
				t.Errorf("a record later: %v", again)
			}
			must(t, j.Close()) // it was said
		})
	}
}

// TestTouched changes the time of a journal, and nothing else.
func TestTouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.journal")
	j := open(t, path, clock(time.Second))
	must(t, j.Cut(holes(1, 10)))
	must(t, os.Chtimes(path, time.Unix(1, 0), time.Unix(1, 0)))
	must(t, j.Cut(holes(2, 10)))
	must(t, os.Link(path, path+".second-name"))
	must(t, j.Cut(holes(3, 10)))
	must(t, j.Close())
}

// TestExchangedAtRandom lets something else take the journal's place at random
// moments, while rows are recorded: every row that was said to be recorded is
// where the journal says. A thousand times where ROLLWRIGHT_LONG is set.
func TestExchangedAtRandom(t *testing.T) {
	rounds := long.Of(60, 1000)
	random := rand.New(rand.NewPCG(11, 1919))
	names, lost := slices.Sorted(maps.Keys(replaced.Ways)), 0
	for round := range rounds {
		path := filepath.Join(t.TempDir(), "a.journal")
		j := open(t, path, clock(time.Second))
		older, err := os.ReadFile(path)
		must(t, err)
		name := names[random.IntN(len(names))]
		wait := time.Duration(random.IntN(3000)) * time.Microsecond
		var done sync.WaitGroup
		done.Go(func() {
			time.Sleep(wait)
			if err := replaced.Ways[name](path, older); err != nil {
				t.Error(err)
			}
		})
		rows, where := 0, path
		for range 4 + random.IntN(8) {
			if err = j.Cut(holes(float64(rows), 10, 20)); err != nil {
				break
			}
			rows++
		}
		done.Wait()
		if closing := j.Close(); err == nil {
			err = closing
		}
		if err != nil {
			lost++
			if where = replaced.KeptIn(err.Error()); where == "" || !errors.Is(err, journal.ErrLost) {
				t.Fatalf("round %d, %s: %v", round, name, err)
			}
		}
		s, err := journal.Read(where)
		if err != nil || s.Punched() < 2*rows {
			t.Fatalf("round %d, %s: %d rows were said to be recorded, %s has %v, %v", round, name, rows, where, s, err)
		}
	}
	if lost < rounds/2 {
		t.Errorf("%d of %d exchanges were noticed: the test proves little", lost, rounds)
	}
}

// TestAlso keeps a second copy at every record, goes on with it, and refuses one
// that knows more or something else.
func TestAlso(t *testing.T) {
	dir, elsewhere := t.TempDir(), filepath.Join(t.TempDir(), "stick", "rolls")
	path, second := filepath.Join(dir, "a.journal"), filepath.Join(elsewhere, "a.journal")
	same := func() {
		t.Helper()
		one, err := os.ReadFile(path)
		must(t, err)
		two, err := os.ReadFile(second)
		must(t, err)
		if string(one) != string(two) {
			t.Fatalf("the copy holds %q, the journal %q", two, one)
		}
	}
	j := open(t, path, clock(time.Second))
	must(t, j.Cut(holes(1, 10)))
	must(t, j.Also(elsewhere))
	same()
	must(t, j.Cut(holes(2, 10)))
	same()
	must(t, j.Close())

	j = open(t, path, clock(time.Second)) // without it, then with it again
	must(t, j.Cut(holes(3, 10)))
	older, err := os.ReadFile(second)
	must(t, err)
	must(t, j.Also(elsewhere))
	same()
	must(t, os.Remove(second))
	err = j.Cut(holes(4, 10))
	if !errors.Is(err, journal.ErrNotKept) || errors.Is(err, journal.ErrLost) || !strings.Contains(err.Error(), second) {
		t.Errorf("after the copy was taken away: %v", err)
	}
	j.Close()
	if s, err := journal.Read(path); err != nil || s.Punched() != 4 {
		t.Errorf("the journal holds %v, %v; want four holes", s, err)
	}

	whole, err := os.ReadFile(path)
	must(t, err)
	other := open(t, filepath.Join(t.TempDir(), "a.journal"), clock(time.Minute))
	must(t, other.Cut(holes(9, 9)))
	must(t, other.Close())
	another, err := os.ReadFile(other.Path())
	must(t, err)
	must(t, os.WriteFile(second, whole, 0o644))
	for want, text := range map[string][]byte{"holds more than": older, "holds something else than": another} {
		must(t, os.WriteFile(path, text, 0o644))
		j := open(t, path, clock(time.Second))
		if err := j.Also(elsewhere); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
		must(t, j.Close())
	}
	j = open(t, path, clock(time.Second))
	defer j.Close()
	if err := j.Also(dir); err == nil || !strings.Contains(err.Error(), "is the journal itself") {
		t.Errorf("a copy over itself: %v", err)
	}
}

// A pipe, a device or a folder is no journal, and is said to be none at once.
func TestNoFile(t *testing.T) {
	dir := t.TempDir()
	for path, want := range noFiles(t, dir) {
		for name, try := range map[string]func() error{
			"open": func() error {
				j, err := journal.Open(path, head, time.Now)
				if err == nil {
					j.Close()
				}
				return err
			},
			"read": func() error { _, err := journal.Read(path); return err },
		} {
			if err := try(); err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%s %s: %v, want %q", name, path, err, want)
			}
		}
	}
}

func ExampleJournal_Also() {
	dir, _ := os.MkdirTemp("", "journal")
	defer os.RemoveAll(dir)
	j, err := journal.Open(filepath.Join(dir, "low.piece.journal"), journal.Head{TurnMM: 2, Parts: 20}, time.Now)
	if err == nil {
		err = errors.Join(j.Also(filepath.Join(dir, "stick")), j.Cut([]journal.Hole{{AcrossMM: 62.4, AlongMM: 117.48}}),
			j.Close())
	}
	copied, _ := journal.Read(filepath.Join(dir, "stick", "low.piece.journal"))
	fmt.Println(copied.Punched(), err)
	// Output: 1 <nil>
}
