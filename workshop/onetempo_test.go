package workshop

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rollwright/examples"
	"rollwright/internal/judge"
	"rollwright/music/musicxml"
	"rollwright/music/perform"
	"rollwright/music/transcribe"
	"rollwright/text/source"
	"rollwright/text/words"
)

// TestOneTempo: written in one tempo and read back, every part has that tempo alone, and
// every stroke lies within half a step of where the piece has it, by no more than is said.
func TestOneTempo(t *testing.T) {
	for _, name := range []string{"two-shuttles", "four-looms", "running-up"} {
		text, err := examples.Source(name)
		if err != nil {
			t.Fatal(err)
		}
		job, err := New(context.Background(), &source.File{Name: name + ".piece", Text: text}, ".")
		if err != nil {
			t.Fatal(err)
		}
		const value, steps = "1/64", 64
		together, err := job.inOneTempo(value)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if half := together.StepMS / 2; together.MostMS > half+1e-6 || together.MostMS <= 0 {
			t.Errorf("%s: moved by %v ms at most, a step has %v", name, together.MostMS, together.StepMS)
		}
		var b bytes.Buffer
		voices, err := job.voicesNamed(nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := job.writeInOneTempo(&b, &musicxml.Score{Title: name}, voices, words.English(), value); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		played, err := musicxml.ReadPlayed(&b)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		quarterSec, most := 60/together.Tempo, 0.0
		for i, part := range played.Parts {
			for _, tempo := range part.Tempos {
				if got := tempo.Quarters.Float64(); math.Abs(got-together.Tempo) > 1e-6 {
					t.Errorf("%s, %s: tempo %v, want %v", name, part.Name, got, together.Tempo)
				}
			}
			var want, got []float64
			for e := range job.strokesOf(i) {
				want = append(want, e.StartSec)
			}
			for _, n := range part.Notes {
				got = append(got, n.From.Float64()*quarterSec)
			}
			slices.Sort(got)
			if len(got) != len(want) {
				t.Errorf("%s, %s: %d notes, want %d", name, part.Name, len(got), len(want))
				continue
			}
			for k := range want {
				most = max(most, math.Abs(got[k]-want[k])*1000)
			}
		}
		if math.Abs(most-together.MostMS) > 1e-3 {
			t.Errorf("%s: strokes are moved by %v ms, said are %v", name, most, together.MostMS)
		}
	}
}

// TestOneTempoErrors: what is too coarse, and what is no note value, is said.
func TestOneTempoErrors(t *testing.T) {
	text, err := examples.Source("two-shuttles")
	if err != nil {
		t.Fatal(err)
	}
	job, err := New(context.Background(), &source.File{Name: "a.piece", Text: text}, ".")
	if err != nil {
		t.Fatal(err)
	}
	for value, want := range map[string]string{
		"1/4": "a shorter note value", "1/18": "write a note value", "x": "write a note value", "0": "write a note value",
		"1/512": "write a note value", "2": "write a note value",
	} {
		if _, err := job.inOneTempo(value); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", value, err, want)
		}
	}
}

// TestOneTempoElsewhere: MuseScore, which knows one tempo for all parts, plays the strokes
// where the file means them, to a tick of its own (480 a quarter note).
func TestOneTempoElsewhere(t *testing.T) {
	text, err := examples.Source("two-shuttles")
	if err != nil {
		t.Fatal(err)
	}
	job, err := New(context.Background(), &source.File{Name: "a.piece", Text: text}, ".")
	if err != nil {
		t.Fatal(err)
	}
	together, err := job.inOneTempo("1/32")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	t.Setenv("QT_QPA_PLATFORM", "offscreen")
	t.Setenv("HOME", dir)
	xml, mid := filepath.Join(dir, "a.musicxml"), filepath.Join(dir, "a.mid")
	if _, err := job.Write(context.Background(), xml, Options{Explaining: Explaining{OneTempo: "1/32"}}); err != nil {
		t.Fatal(err)
	}
	judge.Run(t, "musescore3", "-o", mid, xml)
	data, err := os.Open(mid)
	if err != nil {
		t.Fatal(err)
	}
	defer data.Close()
	f, err := transcribe.ReadMIDI("a.mid", data)
	if err != nil {
		t.Fatal(err)
	}
	p, err := f.Piece()
	if err != nil {
		t.Fatal(err)
	}
	performed, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	onsets := func(p *perform.Performance) (at []float64) {
		for e := range p.Events() {
			at = append(at, e.StartSec)
		}
		slices.Sort(at)
		return at
	}
	got, want := onsets(performed), onsets(together.Performance)
	if len(got) != len(want) {
		t.Fatalf("%d notes, want %d", len(got), len(want))
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 60/together.Tempo/480+1e-6 {
			t.Errorf("note %d at %.4f s, want %.4f", i+1, got[i], want[i])
		}
	}
}
