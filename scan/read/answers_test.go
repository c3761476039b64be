package read

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestAnswers(t *testing.T) {
	r := &Reading{Slots: []Slot{
		{Port: 1, Box: Box{10, 10, 20, 40}, Certainty: 0.5, Reason: "partly filled"},
		{Port: 2, Box: Box{50, 10, 60, 20}, Certainty: 0.5},
		{Port: 3, Box: Box{10, 10, 20, 40}, Picture: 1, Certainty: 0.5},
	}}
	name := AnswersName(filepath.Join(t.TempDir(), "scan.png"))
	if err := r.answer(name); err != nil || len(r.Slots) != 3 {
		t.Fatalf("without answers: %v, %d slots", err, len(r.Slots))
	}
	if err := os.WriteFile(name, []byte("picture,x,y,answer\n1,15,25,is\n1,55,15,none\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := r.answer(name); err != nil {
		t.Fatal(err)
	}
	if len(r.Slots) != 2 || r.Slots[0].Certainty != 1 || r.Slots[0].Reason != "" || r.Slots[1].Port != 3 ||
		r.Slots[1].Certainty != 0.5 {
		t.Errorf("%+v", r.Slots)
	}
	if _, err := parseAnswers("a.csv", "picture,x,y,answer\n1,2,3,maybe\n"); err == nil ||
		!strings.Contains(err.Error(), `a.csv:2: "1,2,3,maybe" is no answer`) {
		t.Error(err)
	}
}
