package inspect_test

import (
	"regexp"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/paper/inspect"
)

var heldFor = regexp.MustCompile(`hold = ([0-9.]+) in v`)

// TestAHoldClearsAll: where the hold is the cause, the remedy says so and names one
// that helps everywhere in the voice; written into the piece it leaves nothing to say,
// and a hundredth more does.
func TestAHoldClearsAll(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		// 8 a second: 125 ms; of these the bridge of 2.79 mm takes 69 at 40.64 mm/s
		"a repetition": {"talea = \"8 8 4 4\"\n color = \"repeat(E6 8/s) C5 D5 G4\"\n hold = 0.9\n",
			"its hold leaves too little paper: hold = 0.45 in v would leave enough; or write repeat(E6 "},
		// the shortest of the notes is a unit of 250 ms, the example is one of four
		"notes of one key": {"talea = \"4 2 1\"\n color = \"C5\"\n hold = 0.97\n", "hold = 0.72 in v would leave 2.79 mm"},
		"a trill":          {"talea = \"8\"\n color = \"trill(C3 D3 14/s)\"\n hold = 1.4\n", "its hold leaves too little paper: hold = "},
	} {
		piece := func(text string) string {
			return "tempo = 60\nvoice \"v\" {\n " + text + " extent = \"24 notes\"\n}\n"
		}
		said := remedies(t, piece(c.text))
		if !strings.Contains(said, c.says) {
			t.Errorf("%s: %q", name, said)
			continue
		}
		share := heldFor.FindStringSubmatch(said)[1]
		if left := remedies(t, piece(regexp.MustCompile(`hold = [0-9.]+`).ReplaceAllString(c.text, "hold = "+share))); left != "" {
			t.Errorf("%s with hold = %s: %q", name, share, left)
		}
	}
}

// remedies are all remedies of a piece, one after the other.
func remedies(t *testing.T, text string) string {
	t.Helper()
	p, _ := rollcases.Performed(t, text)
	var all []string
	for _, told := range inspect.Check(p.Piece, rollcases.Rolls(t, text)).Told() {
		all = append(all, told.Remedy)
	}
	return strings.Join(all, "\n")
}
