package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"rollwright/internal/long"
	"rollwright/internal/replaced"
	"rollwright/making/journal"
)

const oneLine = `voice "low" {
  talea = "3 2 3 2 (1) 2"
  color = "C2+G2 C3"
}
`

// slowly yields line ends, one at each read, so that rows are recorded while
// something else happens.
type slowly struct {
	lines int
	pause time.Duration
}

func (s *slowly) Read(p []byte) (int, error) {
	if s.lines == 0 {
		return 0, io.EOF
	}
	s.lines--
	time.Sleep(s.pause)
	p[0] = '\n'
	return 1, nil
}

// TestJournalExchangedUnderCompanion puts something else in the journal's place
// at random moments while rows are punched, line by line: what the companion
// says to be kept is there, every row that it has gone on from too. Five hundred
// times where ROLLWRIGHT_LONG is set; web has the other half of a thousand.
func TestJournalExchangedUnderCompanion(t *testing.T) {
	rounds := long.Of(25, 500)
	random := rand.New(rand.NewPCG(3, 1924))
	row := regexp.MustCompile(`(?m)^row (\d+) of`)
	lost := 0
	for round := range rounds {
		piece := filepath.Join(t.TempDir(), "a.piece")
		if err := os.WriteFile(piece, []byte(oneLine), 0o644); err != nil {
			t.Fatal(err)
		}
		path := piece + ".journal"
		wait := time.Duration(2+random.IntN(25)) * time.Millisecond
		var done sync.WaitGroup
		done.Go(func() {
			var older []byte
			for range 500 { // until the work has begun
				if older, _ = os.ReadFile(path); len(older) > 0 {
					break
				}
				time.Sleep(time.Millisecond)
			}
			time.Sleep(wait)
			if round%2 == 0 {
				replaced.Deleted(path, older)
			} else {
				replaced.Older(path, older)
			}
		})
		var out, errs strings.Builder
		in := &slowly{lines: 8, pause: 3 * time.Millisecond}
		status := run(context.Background(), []string{"punch", piece, "--plain"}, terminal{in: in, out: &out, err: &errs})
		done.Wait()
		where, said := path, strings.Contains(errs.String(), path+" remembers")
		if kept := replaced.KeptIn(errs.String()); kept != "" {
			lost++
			if where = kept; said || status == exitDone {
				t.Fatalf("round %d: status %d, and it is said to remember: %s", round, status, errs.String())
			}
		} else if !said {
			t.Fatalf("round %d: %s", round, errs.String())
		} else if state, err := journal.Read(path); err != nil || state.Punched() == 0 {
			continue // it was exchanged after the work was closed, which nobody can say
		}
		rows := 0
		for _, m := range row.FindAllStringSubmatch(out.String(), -1) {
			var n int
			fmt.Sscan(m[1], &n)
			rows = max(rows, n-1)
		}
		if has, err := replaced.Rows(where); err != nil || has < rows {
			t.Fatalf("round %d: %d rows were gone on from, %s has %d, %v", round, rows, where, has, err)
		}
	}
	if lost < rounds/3 {
		t.Errorf("%d of %d exchanges were noticed: the test proves little", lost, rounds)
	}
}
