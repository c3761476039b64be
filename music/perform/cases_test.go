package perform_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// TestCases compares seven pieces with their events, which were computed
// independently at 60 digits and rounded half up to nanoseconds.
func TestCases(t *testing.T) {
	files, err := filepath.Glob("testdata/cases/pieces/*.piece")
	if err != nil || len(files) != 7 {
		t.Fatalf("%d pieces, want 7 (%v)", len(files), err)
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".piece")
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			perf := mustPerform(t, parse(t, string(text)))
			want := readEvents(t, "testdata/cases/events/"+name+".csv")
			n := 0
			for e := range perf.Events() {
				if n == len(want) {
					t.Fatalf("more than %d events", n)
				}
				if got := row(perf.Piece, e); got != want[n] {
					t.Fatalf("event %d\n got %v\nwant %v", n+1, got, want[n])
				}
				n++
			}
			if n != len(want) || n != perf.Count {
				t.Fatalf("%d events, counted %d, want %d", n, perf.Count, len(want))
			}
		})
	}
}

// eventRow is a row of the tables, with its times in nanoseconds.
type eventRow struct {
	voice            string
	note, key, level int
	start, end       int64
}

func row(p *piece.Piece, e event.Event) eventRow {
	return eventRow{
		p.Voices[e.Voice].Name, int(e.Note), int(e.Key), int(e.Level),
		event.Nanoseconds(e.StartSec), event.Nanoseconds(e.EndSec),
	}
}

func readEvents(t *testing.T, name string) []eventRow {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) int64 {
		n, err := strconv.ParseInt(strings.Replace(s, ".", "", 1), 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	var rows []eventRow
	for _, r := range records[1:] { // voice,note,key,pitch,start_s,end_s,level
		rows = append(rows, eventRow{r[0], int(number(r[1])), int(number(r[2])), int(number(r[6])), number(r[4]),
			number(r[5])})
	}
	return rows
}

func parse(t testing.TB, text string) *piece.Piece {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "test.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	return p
}
