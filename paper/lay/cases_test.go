package lay

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// readTable is a CSV file as rows by column name.
func readTable(t testing.TB, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([]map[string]string, 0, len(lines))
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// readEvents reads the events of a case and the names of its voices.
func readEvents(t testing.TB, path string) (events []event.Event, voices []string) {
	for _, row := range readTable(t, path) {
		voice := slices.Index(voices, row["voice"])
		if voice < 0 {
			voice, voices = len(voices), append(voices, row["voice"])
		}
		e := event.Event{
			StartSec: number(t, row["start_s"]), EndSec: number(t, row["end_s"]),
			Voice: int32(voice), Note: int32(number(t, row["note"])), Part: 1,
			Key: int16(number(t, row["key"])), Level: int16(number(t, row["level"])),
		}
		e.Single = e.StartSec == e.EndSec
		events = append(events, e)
	}
	return events, voices
}

// onePiano is a piece with one piano and voices without material: all that
// Lay looks at.
func onePiano(voices ...string) *piece.Piece {
	p := &piece.Piece{Pianos: []piece.Piano{{}}}
	for _, name := range voices {
		p.Voices = append(p.Voices, piece.Voice{Name: name})
	}
	return p
}

func builtin(t testing.TB, name string) *instrument.Instrument {
	t.Helper()
	in, err := instrument.Load(name, "")
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// TestCases compares every slot with values computed independently at 60
// digits. The events are given to a nanosecond, which is 0.04 micrometres of
// paper.
func TestCases(t *testing.T) {
	files, err := filepath.Glob("testdata/cases/*.88-note*.csv")
	if err != nil || len(files) != 9 {
		t.Fatalf("%d case files (%v), want 9", len(files), err)
	}
	for _, file := range files {
		name, model, _ := strings.Cut(strings.TrimSuffix(filepath.Base(file), ".csv"), ".")
		t.Run(name+"/"+model, func(t *testing.T) {
			events, voices := readEvents(t, "testdata/cases/"+name+".events.csv")
			rolls, err := Out(onePiano(voices...), slices.Values(events), []*instrument.Instrument{builtin(t, model)}, Options{})
			if err != nil {
				t.Fatal(err)
			}
			compareCase(t, rolls[0], voices, readTable(t, file))
		})
	}
}

func compareCase(t *testing.T, r *roll.Roll, voices []string, want []map[string]string) {
	ident := func(key int, lead float64) string { return fmt.Sprintf("key %d at %.1f", key, math.Floor(lead)) }
	got := map[string]roll.Slot{}
	for _, s := range r.Slots {
		if p := r.Instrument.Bar.Ports[s.Port]; p.Role == instrument.Note {
			got[ident(p.Key, s.LeadMM+0.01)] = s
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d note slots, want %d", len(got), len(want))
	}
	for _, w := range want {
		lead, trail := number(t, w["lead_mm"]), number(t, w["trail_mm"])
		id := ident(int(number(t, w["key"])), lead+0.01)
		s, ok := got[id]
		if !ok {
			t.Errorf("no slot for %s", id)
			continue
		}
		cause := voices[s.Causes.First.Voice] + "," + strconv.Itoa(int(s.Causes.First.Note))
		if math.Abs(s.LeadMM-lead) > 2e-4 || math.Abs(s.TrailMM-trail) > 2e-4 ||
			strconv.Itoa(int(s.Punches)) != w["punches"] || cause != w["voice"]+","+w["note"] {
			t.Errorf("%s: %.4f to %.4f, %d punches, %s; want %v", id, s.LeadMM, s.TrailMM, s.Punches, cause, w)
		}
		if n := len(slices.Collect(r.Punches(&s))); n != int(s.Punches) {
			t.Errorf("%s: %d punches walked, %d counted", id, n, s.Punches)
		}
	}
}
