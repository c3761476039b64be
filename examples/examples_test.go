package examples_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollwright/examples"
	"rollwright/music/midi"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

var update = flag.Bool("update", false, "write the golden table anew")

func read(t testing.TB, name string) *piece.Piece {
	t.Helper()
	text, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := piecefile.Parse(&source.File{Name: name + ".piece", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// made is an example all the way to its rolls.
type made struct {
	perf   *perform.Performance
	rolls  []*roll.Roll
	report *inspect.Report
}

func build(t testing.TB, name string) made {
	t.Helper()
	p := read(t, name)
	var instruments []*instrument.Instrument
	for _, piano := range p.Pianos {
		in, err := instrument.Load(piano.Instrument, "")
		if err != nil {
			t.Fatal(err)
		}
		instruments = append(instruments, in)
	}
	fastest := func(piano int) float64 { strokes, _ := instruments[piano].Repetition(); return strokes }
	hold := func(piano int) float64 { _, sec := instruments[piano].Repetition(); return sec }
	perf, err := perform.New(p, perform.Options{Fastest: fastest, FastestHold: hold})
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := lay.Of(perf, instruments)
	if err != nil {
		t.Fatal(err)
	}
	return made{perf, rolls, inspect.Check(p, rolls)}
}

// Every example becomes a roll that an instrument plays, and stays the music it
// is: as many notes, as long.
func TestExamples(t *testing.T) {
	const golden = "testdata/examples.golden"
	var table bytes.Buffer
	fmt.Fprintf(&table, "%-14s %6s %6s %9s %8s %6s %6s %6s\n", "piece", "voices", "events", "seconds", "metres", "forbid",
		"risk", "note")
	for _, e := range examples.List() {
		m := build(t, e.Name)
		var metres []string
		for _, r := range m.rolls {
			metres = append(metres, fmt.Sprintf("%.2f", r.LengthMM()/1000))
		}
		counts := m.report.Counts
		fmt.Fprintf(&table, "%-14s %6d %6d %9.3f %8s %6d %6d %6d\n", e.Name, len(m.perf.Lines), m.perf.Count, m.perf.EndSec,
			strings.Join(metres, "+"), counts[inspect.Forbids], counts[inspect.Risks], counts[inspect.Note])
		if m.report.Forbid() {
			t.Errorf("%s cannot be played:\n%s", e.Name, m.report.Summary())
		}
	}
	if *update {
		if err := os.WriteFile(golden, table.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), table.String()); diff != "" {
		t.Error(diff)
	}
}

// The MIDI file of every example has each of its notes.
func TestExamplesAsMIDI(t *testing.T) {
	for _, e := range examples.List() {
		m := build(t, e.Name)
		var file bytes.Buffer
		score := midi.Score{Pianos: make([]midi.Piano, len(m.perf.Piece.Pianos))}
		for _, v := range m.perf.Piece.Voices {
			score.Voices = append(score.Voices, midi.Voice{Name: v.Name, Piano: v.Piano})
		}
		if err := score.Write(&file, m.perf.Events()); err != nil {
			t.Fatal(err)
		}
		f, err := midi.Decode(&file)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(f.Notes()); n != m.perf.Count {
			t.Errorf("%s has %d notes as MIDI and %d events", e.Name, n, m.perf.Count)
		}
	}
}

// The list says what the texts say, and leaves none out.
func TestList(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".piece") {
			count++
		}
	}
	if n := len(examples.List()); n != count {
		t.Errorf("the list has %d examples, the folder %d", n, count)
	}
	for _, e := range examples.List() {
		if title := read(t, e.Name).Title; title != e.Title {
			t.Errorf("%s is listed as %q, its title is %q", e.Name, e.Title, title)
		}
	}
	if _, err := examples.Source("../examples/" + examples.First); err == nil {
		t.Error("a name led out of the folder")
	}
}

// Each example is heard from start to end: no silence of more than three
// seconds, no note outside the 88 keys, half a minute at least, four at most.
func TestExamplesAreHeard(t *testing.T) {
	for _, e := range examples.List() {
		m := build(t, e.Name)
		sounding := 0.0
		for event := range m.perf.Events() {
			if event.StartSec > sounding+3 {
				t.Errorf("%s is silent from %.1f s to %.1f s", e.Name, sounding, event.StartSec)
			}
			sounding = max(sounding, event.EndSec)
			if event.Key < 21 || event.Key > 108 {
				t.Errorf("%s has key %d", e.Name, event.Key)
			}
		}
		if m.perf.EndSec < 30 || m.perf.EndSec > 240 {
			t.Errorf("%s lasts %.1f s", e.Name, m.perf.EndSec)
		}
	}
}

// What running-up says of itself: the three voices of its canon end at one
// instant, to a nanosecond, and the bell's first blow falls there.
func TestRunningUpEndsAsOne(t *testing.T) {
	m := build(t, "running-up")
	end := m.perf.Lines[0].EndSec
	for _, l := range m.perf.Lines[1:3] {
		if math.Abs(l.EndSec-end) > 1e-9 {
			t.Errorf("a voice ends at %.9f s, the first one at %.9f s", l.EndSec, end)
		}
	}
	if start := m.perf.Lines[3].StartSec; math.Abs(start-end) > 1e-9 {
		t.Errorf("the bell strikes at %.9f s, the voices end at %.9f s", start, end)
	}
}
