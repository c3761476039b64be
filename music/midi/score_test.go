package midi

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"iter"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rollwright/music/event"
)

// written performs events and reads the file back.
func written(t testing.TB, s Score, events ...event.Event) *File {
	t.Helper()
	var out bytes.Buffer
	if err := s.Write(&out, slices.Values(events)); err != nil {
		t.Fatal(err)
	}
	f, err := Decode(&out)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// lines prints the channel messages of a track, one a line: tick, kind and
// channel, data.
func lines(t Track) string {
	var b strings.Builder
	for _, e := range t.Events {
		if e.Status < SysEx {
			fmt.Fprintf(&b, "%d %x %d %d\n", e.Tick, e.Status, e.A, e.B)
		}
	}
	return b.String()
}

var onePiano = Score{Pianos: []Piano{{}}, Voices: []Voice{{Name: "low"}, {Name: "high"}}}

func note(voice int32, key int16, start, end float64) event.Event {
	return event.Event{Voice: voice, Key: key, StartSec: start, EndSec: end, Level: 80}
}

func TestWriteOrdersMessages(t *testing.T) {
	// 0.001 s is 50 ticks. Key 60 ends at 50, where 64 and 62 start: the end
	// comes first, then the starts by key.
	f := written(t, onePiano, note(0, 60, 0, 0.001), note(0, 64, 0.001, 0.002), note(0, 62, 0.001, 0.003))
	want := `0 c0 0 0
0 90 60 80
50 90 60 0
50 90 62 80
50 90 64 80
100 90 64 0
150 90 62 0
`
	if diff := gocmp.Diff(want, lines(f.Tracks[1])); diff != "" {
		t.Error(diff)
	}
}

func TestWriteCutsAKeyStruckAgain(t *testing.T) {
	tests := []struct {
		name      string
		events    []event.Event
		low, high string
	}{
		{"within a voice the end falls on the next start",
			[]event.Event{note(0, 60, 0, 0.003), note(0, 60, 0.002, 0.004)},
			"0 90 60 80\n100 90 60 0\n100 90 60 80\n200 90 60 0\n", ""},
		{"between voices it falls a tick before",
			[]event.Event{note(0, 60, 0, 0.003), note(1, 60, 0.002, 0.004)},
			"0 90 60 80\n99 90 60 0\n", "100 90 60 80\n200 90 60 0\n"},
		{"less than 0.5 ms apart they end together",
			[]event.Event{note(0, 60, 0, 0.003), note(1, 60, 0.0005, 0.002)},
			"0 90 60 80\n150 90 60 0\n", "25 90 60 80\n150 90 60 0\n"},
		{"and a third stroke ends both",
			[]event.Event{note(0, 60, 0, 0.003), note(1, 60, 0.0004, 0.002), note(1, 60, 0.001, 0.004)},
			"0 90 60 80\n49 90 60 0\n", "20 90 60 80\n50 90 60 0\n50 90 60 80\n200 90 60 0\n"},
		{"a note lasts a tick at least",
			[]event.Event{note(0, 60, 0.001, 0.001), note(1, 61, 0.001, 0.001005)},
			"50 90 60 80\n51 90 60 0\n", "50 90 61 80\n51 90 61 0\n"},
	}
	for _, test := range tests {
		f := written(t, onePiano, test.events...)
		low, high := lines(f.Tracks[1]), lines(f.Tracks[2])
		if diff := gocmp.Diff("0 c0 0 0\n"+test.low+"0 c0 0 0\n"+test.high, low+high); diff != "" {
			t.Errorf("%s:\n%s", test.name, diff)
		}
	}
}

func TestWriteSingles(t *testing.T) {
	single := event.Event{Key: 60, Level: 80, Single: true, StartSec: 1, EndSec: 1}
	// By default 1.7272 mm at 40.64 mm/s: 42.5 ms, 2125 ticks.
	for sec, want := range map[float64]uint64{0: 52_125, 0.1: 55_000} {
		s := Score{Pianos: []Piano{{SingleSec: sec}}, Voices: []Voice{{}}}
		if got := written(t, s, single).Notes()[0].EndTick; got != want {
			t.Errorf("a single of %v s ends at tick %d, want %d", sec, got, want)
		}
	}
}

func TestWriteTwoPianosWithPedals(t *testing.T) {
	s := Score{
		Title:    "Two looms\x07\n",
		Composer: "Zoë",
		Pianos:   []Piano{{Name: "left"}, {Name: "right"}},
		Voices:   []Voice{{"I", 0}, {"II", 1}},
		Pedals: []Pedal{
			{Piano: 1, StartSec: 0.003, EndSec: 0.005}, // overlaps the next: one stretch
			{Piano: 1, StartSec: 0.001, EndSec: 0.004},
			{Piano: 1, StartSec: 0.005, EndSec: 0.006}, // touches: up and down again
			{Piano: 1, Soft: true, StartSec: 0, EndSec: 0.005},
		},
		EndSec: 0.01,
	}
	second := note(1, 70, 0, 0.001)
	second.Piano = 1
	f := written(t, s, note(0, 60, 0, 0.001), second)
	if len(f.Tracks) != 4 {
		t.Fatalf("%d tracks, want 4", len(f.Tracks))
	}
	names := []string{}
	for _, track := range f.Tracks {
		names = append(names, string(track.Events[0].Data))
	}
	want := []string{"Two looms\ufffd\ufffd", "I (left)", "II (right)", "pedals (right)"}
	if diff := gocmp.Diff(want, names); diff != "" {
		t.Error(diff)
	}
	if got := string(f.Tracks[0].Events[1].Data); got != "Zoë" {
		t.Errorf("composer is %q", got)
	}
	if got := f.Tracks[0].EndTick; got != 500 {
		t.Errorf("the piece ends at tick %d, want 500", got)
	}
	// Controllers 64 and 67 of MIDI 1.0 on channel 2.
	pedals := "0 b1 67 127\n50 b1 64 127\n250 b1 64 0\n250 b1 67 0\n250 b1 64 127\n300 b1 64 0\n"
	if diff := gocmp.Diff(pedals, lines(f.Tracks[3])); diff != "" {
		t.Error(diff)
	}
	if diff := gocmp.Diff("0 c1 0 0\n0 91 70 80\n50 91 70 0\n", lines(f.Tracks[2])); diff != "" {
		t.Error(diff)
	}
}

func TestChannelsLeaveOutDrums(t *testing.T) {
	s := Score{Pianos: make([]Piano, 15), Voices: make([]Voice, 15)}
	for i := range s.Voices {
		s.Voices[i].Piano = i
	}
	f := written(t, s)
	seen := map[int]bool{}
	for _, track := range f.Tracks[1:] {
		seen[track.Events[1].Channel()] = true
	}
	if len(seen) != 15 || seen[9] {
		t.Errorf("channels are %v", seen)
	}
	s.Pianos = make([]Piano, 16)
	var unsupported UnsupportedError
	if err := s.Write(new(bytes.Buffer), slices.Values([]event.Event{})); !errors.As(err, &unsupported) {
		t.Errorf("16 pianos: %v", err)
	}
}

func TestWriteRefuses(t *testing.T) {
	for want, e := range map[string]event.Event{
		"midi: an event of voice 2, but there are 2 voices":                 {Voice: 2, Level: 1},
		"midi: an event of piano 1, but there are 1 pianos":                 {Piano: 1, Level: 1},
		"midi: key 128, want 0 to 127":                                      {Key: 128, Level: 1},
		"midi: level 0, want 1 to 127":                                      {},
		"midi: a note from NaN s to 1 s, want at most 21990232 s":           {Level: 1, StartSec: math.NaN(), EndSec: 1},
		"midi: a note from 2 s to 1 s, want at most 21990232 s":             {Level: 1, StartSec: 2, EndSec: 1},
		"midi: a note from 0 s to +Inf s, want at most 21990232 s":          {Level: 1, EndSec: math.Inf(1)},
		"midi: a note from 2.2e+07 s to 2.2e+07 s, want at most 21990232 s": {Level: 1, StartSec: 2.2e7, EndSec: 2.2e7},
	} {
		var out bytes.Buffer
		err := onePiano.Write(&out, slices.Values([]event.Event{e}))
		if err == nil || err.Error() != want || out.Len() > 0 {
			t.Errorf(" got %v\nwant %s", err, want)
		}
	}
	failed := errors.New("the disk is full")
	if err := onePiano.Write(failing{failed}, slices.Values([]event.Event{})); !errors.Is(err, failed) {
		t.Errorf("a writer that fails: %v", err)
	}
}

// Rounded to nanoseconds two events may swap, which a tick's border between
// them brings to light: 0.00003 s is 1.5 ticks. Events that go back further are
// out of order.
func TestWriteTakesEventsInOrder(t *testing.T) {
	f := written(t, onePiano, note(0, 60, 0.00003, 0.001), note(1, 60, 0.00003-1e-10, 0.00004))
	if got := starts(f.Notes()); !slices.Equal(got, []string{"0 60 2", "1 60 2"}) {
		t.Errorf("starts are %v", got)
	}
	err := onePiano.Write(new(bytes.Buffer), slices.Values([]event.Event{note(0, 60, 1, 2), note(0, 60, 0.9, 1)}))
	if want := "midi: events out of order: tick 45000 after tick 50000"; err == nil || err.Error() != want {
		t.Errorf(" got %v\nwant %s", err, want)
	}
}

// lattice yields n events of two voices at speeds 1 and sqrt 2 on keys of their
// own, no two of one
// voice at one instant.
func lattice(n int) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		var count [2]int
		for range n {
			v := 0
			if float64(count[1])/math.Sqrt2 < float64(count[0]) {
				v = 1
			}
			speed := []float64{1, math.Sqrt2}[v]
			start := float64(count[v]) * 0.05 / speed
			e := event.Event{Voice: int32(v), Key: int16(21 + v + 2*(count[v]*7%44)), StartSec: start,
				EndSec: start + 0.04/speed, Level: int16(1 + count[v]%127)}
			count[v]++
			if !yield(e) {
				return
			}
		}
	}
}

// Whatever the strokes, the file has every one of them, at its nearest tick,
// and no key of a piano sounds twice but in strokes that are one.
func TestEveryStrokeIsThere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		events := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) event.Event {
			start := rapid.Float64Range(0, 0.02).Draw(t, "start")
			return event.Event{
				Voice: rapid.Int32Range(0, 1).Draw(t, "voice"), Key: rapid.Int16Range(60, 61).Draw(t, "key"), Level: 80,
				StartSec: start, EndSec: start + rapid.Float64Range(0, 0.02).Draw(t, "length"),
			}
		}), 0, 20).Draw(t, "events")
		slices.SortFunc(events, func(a, b event.Event) int { return cmp.Compare(a.StartSec, b.StartSec) })
		var out bytes.Buffer
		if err := onePiano.Write(&out, slices.Values(events)); err != nil {
			t.Fatal(err)
		}
		f, err := Decode(&out)
		if err != nil {
			t.Fatal(err)
		}
		notes := f.Notes()
		if got, want := starts(notes), wantedStarts(events); !slices.Equal(got, want) {
			t.Fatalf("starts are %v, want %v", got, want)
		}
		for _, a := range notes {
			for _, b := range notes {
				if a.Key == b.Key && a.StartTick+oneStroke < b.StartTick && a.EndTick > b.StartTick {
					t.Fatalf("%v still sounds where %v begins", a, b)
				}
			}
		}
	})
}

func starts(notes []Note) (all []string) {
	for _, n := range notes {
		all = append(all, fmt.Sprint(n.Track-1, n.Key, n.StartTick))
	}
	slices.Sort(all)
	return all
}

func wantedStarts(events []event.Event) (all []string) {
	for _, e := range events {
		all = append(all, fmt.Sprint(e.Voice, e.Key, TickAt(e.StartSec)))
	}
	slices.Sort(all)
	return all
}

// python3-mido, a program of others, reads the file and finds each note at its
// time, within a tick, two hours on too.
func TestMidoFindsEveryNote(t *testing.T) {
	events := slices.Collect(lattice(2000))
	events = append(events, note(0, 60, 7000, 7001), note(0, 64, 14_000, 14_000.5)) // gaps over 0x0FFFFFFF ticks
	s := onePiano
	s.Title, s.Pedals = "Ünder the beam", []Pedal{{StartSec: 1, EndSec: 2}}
	path := filepath.Join(t.TempDir(), "judged.mid")
	var out bytes.Buffer
	if err := s.Write(&out, slices.Values(events)); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, out.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	var found []event.Event
	var others []string
	for line := range strings.Lines(string(mido(t, "testdata/read.py", path))) {
		var track, channel, key, level int
		var start, end float64
		if _, err := fmt.Sscanf(line, "note %d %d %d %d %g %g", &track, &channel, &key, &level, &start, &end); err != nil {
			others = append(others, strings.TrimSpace(line))
			continue
		}
		found = append(found, event.Event{Voice: int32(track - 1), Key: int16(key), Level: int16(level), StartSec: start,
			EndSec: end})
	}
	slices.SortStableFunc(events, func(a, b event.Event) int { return int(a.Voice - b.Voice) })
	if len(found) != len(events) {
		t.Fatalf("mido finds %d notes of %d", len(found), len(events))
	}
	for i, e := range events {
		g := found[i]
		if g.Voice != e.Voice || g.Key != e.Key || g.Level != e.Level ||
			math.Abs(g.StartSec-e.StartSec) > TickSec || math.Abs(g.EndSec-e.EndSec) > TickSec {
			t.Fatalf("note %d: mido finds %+v, want %+v", i, g, e)
		}
	}
	want := []string{"file 1 25000 4", "track 0 Ünder the beam", "end 0 14000.500000000 0", "track 1 low",
		"end 1 14000.500000000 0",
		"track 2 high", fmt.Sprintf("end 2 %.9f 0", found[len(found)-1].EndSec), "track 3 pedals",
		"control 3 0 64 127 1.000000000", "control 3 0 64 0 2.000000000", "end 3 2.000000000 0"}
	if diff := gocmp.Diff(want, others); diff != "" {
		t.Error(diff)
	}
}
