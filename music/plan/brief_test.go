package plan_test

import (
	"strings"
	"testing"

	"rollwright/examples"
	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/text/source"
)

func examplePlan(t *testing.T, name string) *plan.Plan {
	t.Helper()
	text, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := piecefile.Parse(&source.File{Name: name, Text: text})
	if err != nil {
		t.Fatal(err)
	}
	f, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return plan.New(f, plan.Options{})
}

// The plan of every example fits on a screen of 40 lines of 80 columns.
func TestBriefFitsAScreen(t *testing.T) {
	for _, e := range examples.List() {
		var out strings.Builder
		if err := plan.WriteBrief(&out, examplePlan(t, e.Name), "3473 punches", "everything: --all"); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(out.String(), "\n")
		if len(lines) > 40 {
			t.Errorf("%s takes %d lines", e.Name, len(lines))
		}
		for _, line := range lines {
			if len([]rune(line)) > 80 {
				t.Errorf("%s: %d columns: %s", e.Name, len([]rune(line)), line)
			}
		}
	}
}

// Two Shuttles: 13 pitches on 12 durations end together after 156 notes, which
// both voices of the canon have; they meet at note 105, 56 s in.
func TestBrief(t *testing.T) {
	p := examplePlan(t, "two-shuttles")
	var out strings.Builder
	if err := plan.WriteBrief(&out, p, "", ""); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(out.String()), " ")
	for _, want := range []string{
		"slow, quick: 13 pitches on 12 durations and 2 silences; color and talea end together after 156 notes",
		"canon shuttles: note 105 of each, at 0:56.0", "slow with weight: once, at 1:24.3",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, out.String())
		}
	}
	out.Reset()
	if ok, err := plan.WriteVoice(&out, p, "quick"); !ok || err != nil ||
		!strings.HasPrefix(out.String(), "Voice quick, in canon shuttles\n") {
		t.Errorf("%v, %v: %s", ok, err, out.String())
	}
	out.Reset()
	if ok, err := plan.WritePair(&out, p, "quick", "slow"); !ok || err != nil ||
		!strings.HasPrefix(out.String(), "slow with quick\n") {
		t.Errorf("%v, %v: %s", ok, err, out.String())
	}
	if ok, _ := plan.WritePair(&out, p, "quick", "slw"); ok {
		t.Error("a voice that is not there was compared")
	}
}
