package workshop

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/examples"
	"rollwright/making/bench"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/strip"
	"rollwright/text/source"
)

// exampleJob is the job of a built-in example.
func exampleJob(t *testing.T, name string) *Job {
	t.Helper()
	text, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	return jobOf(t, name+".piece", string(text))
}

// The holes of a strip are those of the roll as it is made at the same bench: all
// holes of a window and no others, each moved by the one length of its window, which
// is a whole number of parts of the dial.
func TestHolesOfAStripAreTheRolls(t *testing.T) {
	for _, name := range []string{"bobbins", "running-up", "two-shifts"} {
		for _, at := range []string{"", bench.Default()} {
			j := exampleJob(t, name)
			plain, trial := Making{Bench: at}, Making{Bench: at, TrialMM: 1000}
			whole, err := j.Edition("", &plain)
			if err != nil {
				t.Fatal(err)
			}
			strips, err := j.strips(whole.Papers(), &trial)
			if err != nil {
				t.Fatal(err)
			}
			e, err := j.Edition("", &trial)
			if err != nil {
				t.Fatal(err)
			}
			left := holesOf(e.Rolls[0].Roll)
			for _, w := range strips[0].Windows {
				for h := range holesOf(whole.Rolls[0].Roll) {
					if float64(h.along)/1e4 < w.FromMM || float64(h.along)/1e4 >= w.ToMM {
						continue
					}
					moved := hole{h.port, h.along + roll.Printed(w.MovedMM)}
					if !left[moved] {
						t.Fatalf("%s at %q: the hole of port %d at %g mm is not on the strip", name, at, h.port, float64(h.along)/1e4)
					}
					delete(left, moved)
				}
				if part := w.MovedMM / 0.1; at != "" && math.Abs(part-math.Round(part)) > 1e-6 {
					t.Errorf("%s: moved by %g mm, between two parts", name, w.MovedMM)
				}
			}
			if len(left) > 0 {
				t.Errorf("%s at %q: %d holes that the roll does not have", name, at, len(left))
			}
			if r := e.Rolls[0]; r.MusicMM() > 1000+1 || len(r.Cues) != len(strips[0].Windows) {
				t.Errorf("%s: %g mm, %d letters for %d windows", name, r.MusicMM(), len(r.Cues), len(strips[0].Windows))
			}
		}
	}
}

type hole struct {
	port  int32
	along int64
}

func holesOf(r *roll.Roll) map[hole]bool {
	out := map[hole]bool{}
	for i := range r.Slots {
		for at := range r.Punches(&r.Slots[i]) {
			out[hole{r.Slots[i].Port, roll.Printed(at)}] = true
		}
	}
	return out
}

// A form goes out, is filled in, and comes back: what was played is told no more,
// what was not cannot be played, and what is left open stays as it was.
func TestAnswers(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "trial.answers")
	if _, err := exampleJob(t, "bobbins").Write(t.Context(), path, Options{Making: Making{TrialMM: 1000}}); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	counts := func(first, second string) (all [3]int, kinds map[inspect.Kind]int, offers []string) {
		form := strings.Replace(string(text), `played = ""`, `played = "`+first+`"`, 1)
		form = strings.Replace(form, `played = ""`, `played = "`+second+`"`, 1)
		if err := os.WriteFile(path, []byte(form), 0o600); err != nil {
			t.Fatal(err)
		}
		j := exampleJob(t, "bobbins")
		if j.Tried, err = Answers(path); err != nil {
			t.Fatal(err)
		}
		r, err := j.Findings()
		if err != nil {
			t.Fatal(err)
		}
		kinds = map[inspect.Kind]int{}
		for f := range r.All() {
			kinds[f.Kind]++
		}
		return r.Counts, kinds, j.Offers()
	}
	open, kinds, offers := counts("", "")
	if open[inspect.Forbids] != 0 || kinds[inspect.ShortBridge] == 0 || kinds[inspect.SideBySide] == 0 ||
		len(offers) != 0 {
		t.Fatalf("open: %v %v %v", open, kinds, offers)
	}
	_, yes, offers := counts("yes", "")
	if yes[inspect.ShortBridge] != 0 || yes[inspect.SideBySide] != kinds[inspect.SideBySide] {
		t.Errorf("played: %v", yes)
	}
	if len(offers) != 1 || offers[0] != "paper { bridge = 1.422 }" {
		t.Errorf("offered: %q", offers)
	}
	mine := []byte("like = \"88-note\"\n" + offers[0] + "\n")
	in, err := instrument.Read(&source.File{Name: "mine.instrument", Text: mine}, "")
	if err != nil || in.Paper.BridgeMM != 1.422 {
		t.Errorf("the offer is no text of an instrument: %v", err)
	}
	no, refused, _ := counts("no", "")
	if no[inspect.Forbids] == 0 || no[inspect.Forbids] > kinds[inspect.ShortBridge] ||
		refused[inspect.ShortBridge] != kinds[inspect.ShortBridge] {
		t.Errorf("not played: %v %v", no, refused)
	}
	_, err = answersOf(t, folder, "doubt \"A1\" {\n  kind = \"short bridge\"\n  value = 1\n  played = \"perhaps\"\n}\n")
	if err == nil || !strings.Contains(err.Error(), "an answer is yes or no") {
		t.Errorf("perhaps: %v", err)
	}
}

func answersOf(t *testing.T, folder, text string) ([]inspect.Answer, error) {
	t.Helper()
	path := filepath.Join(folder, "other.answers")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return Answers(path)
}

// A roll without doubts has no strip, and says so; one that is too short for any
// doubt says how much the shortest needs.
func TestNoStrip(t *testing.T) {
	if _, err := exampleJob(t, "single-end").Edition("", &Making{TrialMM: 1000}); err == nil ||
		!strings.Contains(err.Error(), strip.ErrNoDoubt.Error()) {
		t.Errorf("no doubt: %v", err)
	}
	_, err := exampleJob(t, "bobbins").Edition("", &Making{TrialMM: 50})
	if err == nil || !strings.Contains(err.Error(), "the shortest needs 119 mm") {
		t.Errorf("no room: %v", err)
	}
}
