package show_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollwright/music/event"
	"rollwright/music/plan"
	"rollwright/telling/show"
	"rollwright/telling/whatif"
	"rollwright/workshop"
)

// asked is what the page knows of an answer.
type asked struct {
	Set    string         `json:"set"`
	Length float64        `json:"length_s"`
	Pairs  []any          `json:"pairs"`
	Events whatif.Events  `json:"events"`
	Said   string         `json:"said"`
	Error  string         `json:"error"`
	Slots  map[string]int `json:"slots"`
}

// TestWhatIfAnswersAsThePlan asks the page, in a browser and without a network, what the
// piece would be, and the command with the same set: the pairs of the plan, the notes and
// the slots of the rolls are the same.
func TestWhatIfAnswersAsThePlan(t *testing.T) {
	p := browser(t)
	for _, c := range []struct {
		example string
		ratios  []string
	}{
		{"two-shuttles", []string{"3/2", "sqrt(2)", "pi", "1.37"}},
		{"two-shifts", []string{"5/4"}},
		{"herringbone", []string{"4/3"}},
	} {
		job := example(t, c.example)
		p.open(page(t, lectureOf(t, job, show.Options{})), 1280, 720)
		p.JS(`rollwright.whatIf.turn()`)
		p.Await(`rollwright.whatIf.answer`)
		for _, ratio := range c.ratios {
			got := value[asked](p, fmt.Sprintf(`(async () => {
				await rollwright.whatIf.ask(%q, false);
				const { set, length_s, pairs, events, papers } = rollwright.whatIf.answer;
				return { set, length_s, pairs, events, said: document.getElementById("predicted").innerText,
					slots: Object.fromEntries(papers.map(p => [p.name, p.slots.port.length])) };
			})()`, ratio))
			path := filepath.Join(t.TempDir(), c.example+".piece")
			if err := os.WriteFile(path, job.File.Text, 0o644); err != nil {
				t.Fatal(err)
			}
			want, err := workshop.OpenGiven(context.Background(), path, nil, workshop.Given{Set: []string{got.Set}})
			if err != nil {
				t.Fatal(err)
			}
			voice, _, _ := strings.Cut(got.Set, ".speed=")
			compareAsked(t, c.example+" "+got.Set, voice, got, want)
		}
	}
}

// plainJSON is a value as JSON has it, of maps and numbers alone.
func plainJSON(t *testing.T, v any) (plain any) {
	t.Helper()
	text, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(text, &plain)
	}
	if err != nil {
		t.Fatal(err)
	}
	return plain
}

func compareAsked(t *testing.T, name, voice string, got asked, want *workshop.Job) {
	t.Helper()
	pairs := map[string]any{}
	for _, pair := range plan.New(want.Performance, plan.Options{List: whatif.MostMeetings}).Pairs {
		if pair.A == voice || pair.B == voice {
			pairs[pair.A+" and "+pair.B] = plainJSON(t, pair)
		}
	}
	if len(pairs) == 0 || len(pairs) != len(got.Pairs) {
		t.Errorf("%s: %d pairs, the plan has %d", name, len(got.Pairs), len(pairs))
	}
	for _, pair := range got.Pairs {
		of := fmt.Sprint(pair.(map[string]any)["a"], " and ", pair.(map[string]any)["b"])
		if diff := cmp.Diff(pairs[of], pair); diff != "" {
			t.Errorf("%s: %s (-plan +page):\n%s", name, of, diff)
		}
	}
	if math.Abs(got.Length-want.EndSec) > 1e-9 {
		t.Errorf("%s: lasts %v, want %v", name, got.Length, want.EndSec)
	}
	var at []int64
	var keys []int16
	events := slices.SortedStableFunc(want.Events(), func(a, b event.Event) int {
		switch {
		case a.StartSec < b.StartSec:
			return -1
		case a.StartSec > b.StartSec:
			return 1
		}
		return 0
	})
	for _, e := range events {
		at, keys = append(at, int64(math.Round(e.StartSec*1e6))), append(keys, e.Key)
	}
	if !slices.Equal(at, got.Events.At) || !slices.Equal(keys, got.Events.Key) {
		t.Errorf("%s: the notes differ", name)
	}
	rolls, err := want.Rolls()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rolls {
		if n, ok := got.Slots[r.Name]; len(r.Slots) > 0 && (!ok || n != len(r.Slots)) {
			t.Errorf("%s: %q has %d slots in the page, want %d", name, r.Name, n, len(r.Slots))
		}
	}
}
