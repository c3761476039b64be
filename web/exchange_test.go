package web

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"rollwright/internal/long"
	"rollwright/internal/replaced"
	"rollwright/making/journal"
)

// TestJournalExchangedUnderWorkbench is the browser's half of the thousand: what
// cmd does to its companion is done to that of the page.
func TestJournalExchangedUnderWorkbench(t *testing.T) {
	rounds := long.Of(25, 500)
	random := rand.New(rand.NewPCG(4, 1926))
	b := serve(t, map[string]string{"two.piece": twoNotes})
	path, lost := filepath.Join(b.dir, "two.piece.journal"), 0
	for round := range rounds {
		v := b.order("open", nil)
		older, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		wait := time.Duration(random.IntN(20)) * time.Millisecond
		var done sync.WaitGroup
		done.Go(func() {
			time.Sleep(wait)
			if round%2 == 0 {
				replaced.Deleted(path, older)
			} else {
				replaced.Older(path, older)
			}
		})
		rows, where := 0, path
		for range 8 {
			status, data := b.send("POST", "/api/punch", m{"name": "two.piece", "action": "next", "id": v.ID, "row": v.Row})
			if status != 200 {
				break
			}
			v = decoded[punchAnswer](b, data)
			rows = v.Row - 1
		}
		done.Wait()
		b.send("POST", "/api/punch", m{"name": "two.piece", "action": "close"})
		list := ask[rollsListed](b, "/api/punch", m{"name": "two.piece", "action": "rolls"})
		if kept := replaced.KeptIn(strings.Join(list.Mind, "\n")); kept != "" {
			where = kept
			lost++
		}
		if has, err := replaced.Rows(where); err != nil || has < rows {
			t.Fatalf("round %d: row %d is shown, %s has %d rows, %v", round, rows+1, where, has, err)
		}
		for _, name := range []string{path, where} {
			os.Remove(name)
		}
	}
	if lost < rounds/2 {
		t.Errorf("%d of %d exchanges were noticed: the test proves little", lost, rounds)
	}
}

// The workbench keeps second copies of its journals where it is told to, in the
// same folders.
func TestPunchKeepsSecondCopy(t *testing.T) {
	also := t.TempDir()
	b := serve(t, map[string]string{"two.piece": twoNotes})
	b.server.companions.also = also
	v := b.order("open", nil)
	b.next(b.next(v))
	one, err := os.ReadFile(filepath.Join(b.dir, "two.piece.journal"))
	if err != nil {
		t.Fatal(err)
	}
	if two, err := os.ReadFile(filepath.Join(also, "two.piece.journal")); err != nil || string(one) != string(two) {
		t.Errorf("the second copy: %v, %q; want %q", err, two, one)
	}
	if err := os.Remove(filepath.Join(also, "two.piece.journal")); err != nil {
		t.Skip(err)
	}
	status, data := b.send("POST", "/api/punch", m{"name": "two.piece", "action": "next", "id": v.ID, "row": 3})
	if status == 200 || !strings.Contains(string(data), "second copy") {
		t.Errorf("without its second copy: %d %s", status, data)
	}
}

// A bench that nobody knows is the person's mistake, and is said to be; a journal
// that names one is listed with that, and the others beside it.
func TestPunchRefusesUnknownBench(t *testing.T) {
	b := serve(t, map[string]string{"two.piece": twoNotes, "two.piece.bad.journal": "no journal\n"})
	if status, text := b.refused("rolls", m{"bench": "nosuch"}); status != 422 || !strings.Contains(text, "nosuch") {
		t.Errorf("an unknown bench: %d %s", status, text)
	}
	j, err := journal.Open(filepath.Join(b.dir, "two.piece.old.journal"), journal.Head{Bench: "nosuch", TurnMM: 2, Parts: 20,
		Spool: 1, Spools: 1, Along: 1, Across: 1}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	j.Close()
	list := ask[rollsListed](b, "/api/punch", m{"name": "two.piece", "action": "rolls"})
	wrong := 0
	for _, r := range list.Rolls {
		if r.Error != "" {
			wrong++
		}
	}
	if len(list.Rolls) != 3 || wrong != 2 {
		t.Errorf("listed %+v, want two that cannot be gone on with and one to begin", list.Rolls)
	}
}
