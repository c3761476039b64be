package perform_test

import (
	"os"
	"path/filepath"
	"testing"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// FuzzPerform holds that any text that is a piece either is performed, with its
// events in order and as many as counted, none before 0 and none ending before
// it starts, or is refused with a place; and that its lines have as many items
// and notes as they say.
func FuzzPerform(f *testing.F) {
	for _, pattern := range []string{"testdata/cases/pieces/*.piece", "testdata/errors/*.piece",
		"../../examples/*.piece"} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			f.Fatal(err)
		}
		for _, name := range files {
			text, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(text)
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := piecefile.Parse(&source.File{Name: "fuzz", Text: text})
		if err != nil {
			t.Skip(err)
		}
		perf, err := perform.New(p, perform.Options{MaxEvents: 20_000})
		if err != nil {
			if _, ok := err.(source.Errors); !ok {
				t.Fatalf("an error of type %T", err)
			}
			return
		}
		checkEvents(t, perf)
		checkItems(t, perf)
	})
}

func checkEvents(t testing.TB, perf *perform.Performance) {
	count := 0
	var last event.Event
	for e := range perf.Events() {
		switch {
		case count > 0 && !inOrder(&last, &e):
			t.Fatalf("event %+v\ncomes after %+v", e, last)
		case !(e.StartSec >= 0 && e.EndSec >= e.StartSec), e.Key < 0 || e.Key > 127, e.Level < 1 || e.Level > 127:
			t.Fatalf("event %+v", e)
		}
		last = e
		count++
	}
	if count != perf.Count {
		t.Fatalf("%d events, counted %d", count, perf.Count)
	}
}

func checkItems(t testing.TB, perf *perform.Performance) {
	for _, l := range perf.Lines {
		items, notes, end := 0, 0, l.StartSec
		for item := range l.All() {
			if item.N != items || item.StartSec < end-1e-9 || item.EndSec < item.StartSec {
				t.Fatalf("item %+v follows %d items that end at %v", item, items, end)
			}
			if end = item.EndSec; !item.Silent {
				if notes++; item.Note != notes {
					t.Fatalf("note %d is numbered %d", notes, item.Note)
				}
			}
			items++
		}
		if items != l.Items || notes != l.Notes {
			t.Fatalf("%d items, %d notes, counted %d and %d", items, notes, l.Items, l.Notes)
		}
	}
}
