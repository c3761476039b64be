package inspect

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
)

var update = flag.Bool("update", false, "write the golden files")

// crowded is a piece with much to find: fast repetition, keys beyond the
// compass, unisons, three levels, rows of a perforator.
func crowded(t testing.TB) (*piece.Piece, []*roll.Roll) {
	p := twoVoices()
	p.Pianos[0].Name = "left"
	var events []event.Event
	for i := range 400 {
		start := float64(i) * 0.12
		events = append(events, at([]int16{40, 80, 112}[i%3], note(0, int32(i+1), int16(60+i/2%3), start, start+0.12)))
		if i%4 == 0 {
			events = append(events, note(1, int32(i/4+1), int16(60+i%60), start, start+0.3))
		}
	}
	return p, rollsOf(t, p, load(t, "88-note-45", nil), nil, events...)
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := "testdata/" + name
	if *update {
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Error(d)
	}
}

func TestSummary(t *testing.T) {
	p, rolls := crowded(t)
	report := Check(p, rolls)
	var b bytes.Buffer
	if err := WriteSummary(&b, report); err != nil {
		t.Fatal(err)
	}
	for _, f := range report.Facts {
		b.WriteString(f.Text())
	}
	golden(t, "crowded.txt", b.Bytes())
}

func TestJSON(t *testing.T) {
	p, rolls := crowded(t)
	report := Check(p, rolls)
	var b bytes.Buffer
	if err := WriteJSON(&b, report); err != nil {
		t.Fatal(err)
	}
	golden(t, "crowded.json", b.Bytes())
	b.Reset()
	if err := WriteAllJSON(&b, report); err != nil {
		t.Fatal(err)
	}
	var all []map[string]any
	if err := json.Unmarshal(b.Bytes(), &all); err != nil {
		t.Fatal(err)
	}
	if n := report.Counts[0] + report.Counts[1] + report.Counts[2]; len(all) != n {
		t.Errorf("%d findings in the array, %d counted", len(all), n)
	}
	b.Reset()
	quiet := Check(p, rollsOf(t, p, load(t, "88-note", nil), nil))
	if err := WriteAllJSON(&b, quiet); err != nil || b.String() != "[\n]\n" {
		t.Errorf("%q, %v", b.String(), err)
	}
}

func TestWriteAll(t *testing.T) {
	p, rolls := crowded(t)
	report := Check(p, rolls)
	var b bytes.Buffer
	if err := WriteAll(&b, report); err != nil {
		t.Fatal(err)
	}
	remedies := 0
	lines := slices.DeleteFunc(strings.Split(strings.TrimSpace(b.String()), "\n"), func(line string) bool {
		if !strings.HasPrefix(line, "    ") {
			return false
		}
		remedies++
		return true
	})
	if remedies < 100 {
		t.Errorf("only %d remedies", remedies)
	}
	if n := report.Counts[0] + report.Counts[1] + report.Counts[2]; len(lines) != n+1 {
		t.Errorf("%d lines for %d findings", len(lines), n)
	}
	if last := lines[len(lines)-1]; last != report.Summary() {
		t.Errorf("ends with %q", last)
	}
}

// TestFold: a hundred voices with the same trouble are one line.
func TestFold(t *testing.T) {
	p := &piece.Piece{Pianos: []piece.Piano{{}}}
	var events []event.Event
	for v := range 100 {
		p.Voices = append(p.Voices, piece.Voice{Name: fmt.Sprintf("v%d", v)})
		events = append(events, note(int32(v), 1, 10, float64(v), float64(v)+0.5))
	}
	report := Check(p, rollsOf(t, p, load(t, "88-note", nil), nil, events...))
	groups := report.Fold(20)
	if len(report.Groups) != 100 || len(groups) != 1 || groups[0].Count != 100 || groups[0].Voices != 100 ||
		!report.Forbid() {
		t.Fatalf("%d groups folded to %d", len(report.Groups), len(groups))
	}
	want := "A#-1 is outside the compass, which runs from A0 to C8 (100 times in 100 parts: v0, v1, v2 and 97 more, from 0.000 s to 1:39.000; this at 0.000 s, v0 note 1)"
	if got := groups[0].Text(); got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}

// TestStops: who has had enough is not told more.
func TestStops(t *testing.T) {
	p, rolls := crowded(t)
	n := 0
	for range All(p, rolls) {
		if n++; n == 3 {
			break
		}
	}
	if n != 3 {
		t.Errorf("%d findings", n)
	}
}

// TestOpenAtOnce compares the heap of open slots with counting.
func TestOpenAtOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		starts := rapid.SliceOfN(rapid.IntRange(0, 100), 1, 50).Draw(t, "starts")
		lengths := rapid.SliceOfN(rapid.IntRange(1, 60), len(starts), len(starts)).Draw(t, "lengths")
		slices.Sort(starts)
		var open trails
		for i, start := range starts {
			open.add(float64(start), float64(start+lengths[i]))
			n := 0
			for j := range starts[:i+1] {
				if starts[j]+lengths[j] > start {
					n++
				}
			}
			if n != len(open) {
				t.Fatalf("%d open at %d, counted %d", len(open), start, n)
			}
		}
	})
}

// TestLaidRollsKeepGaps: on no roll that is laid out here is a gap one that
// the action cannot serve, or one of which nobody knows what it is.
func TestLaidRollsKeepGaps(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		in := load(t, rapid.SampledFrom([]string{"88-note", "88-note-spool", "88-note-45", "65-note"}).Draw(rt, "instrument"),
			nil)
		var events []event.Event
		start := 0.0
		for i := range rapid.IntRange(0, 40).Draw(rt, "n") {
			start += float64(rapid.IntRange(0, 150).Draw(rt, "ms")) / 1000
			events = append(events, note(int32(i%2), int32(i/2+1), int16(60+i%3), start, start+0.15))
		}
		p := twoVoices()
		for f := range All(p, rollsOf(t, p, in, nil, events...)) {
			if f.Kind == Repetition || f.Kind == UnclearWeb {
				rt.Fatal(brief(f))
			}
		}
	})
}

func ExampleCheck() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "low"}}}
	events := slices.Values([]event.Event{
		{StartSec: 0, EndSec: 0.2, Note: 1, Key: 60, Level: 80},
		{StartSec: 0.2, EndSec: 0.4, Note: 2, Key: 60, Level: 80},
		{StartSec: 0.4, EndSec: 0.6, Note: 3, Key: 16, Level: 80},
	})
	rolls, err := lay.Out(p, events, []*instrument.Instrument{in}, lay.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	WriteSummary(os.Stdout, Check(p, rolls))
	// Output:
	// cannot play: E0 is outside the compass, which runs from A0 to C8 (0.400 s, 16.3 mm, E0, low note 3)
	//     transpose = 5 in low brings it in, transpose = 12 by whole octaves
	// may fail: 1.42 mm of paper between two strokes of C4; the standard's bridge is 2.79 mm (0.200 s, 8.1 mm, C4, low note 2)
	//     hold = 0.65 in low would leave 2.79 mm
	// findings: 1 cannot play, 1 may fail
}
