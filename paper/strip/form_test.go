package strip_test

import (
	"bytes"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/paper/inspect"
	"rollwright/paper/strip"
	"rollwright/text/source"
)

// Two kinds of doubt lie together early, one of them alone again later and worse
// nowhere: the one window that holds both is enough.
func TestOneWindowForTwoKinds(t *testing.T) {
	text := `tempo = 60
voice "fast" {
  line = "C5:1 repeat(C5 14/s):4 (40) repeat(C5 14/s):4"
}
voice "low" {
  line = "(2) C2+D2+E2+F2+G2+A2+B2+C3+D3+E3+F3+G3+A3+B3+C4+D4+E4+F4+G4+A4+B4+D5+E5+F5+G5+A5+B5+C6+D6+E6+F6+G6:1"
}
`
	f, _ := rollcases.Performed(t, text)
	rolls := rollcases.Rolls(t, text)
	s, err := strip.Make(rolls[0], inspect.All(f.Piece, rolls), strip.Options{LongestMM: 1000})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Windows) != 1 || len(s.Windows[0].Doubts) < 2 || s.Windows[0].Letter != "A" || len(s.NoRoom) != 0 {
		t.Fatalf("%d windows, the first with %v, no room for %v", len(s.Windows), s.Windows[0].Doubts, s.NoRoom)
	}
	var form bytes.Buffer
	if err := strip.Form(&form, "Two \"kinds\"", []*strip.Strip{s}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"What the strip can't show", "Played as written?", `doubt "A1" {`, `doubt "A2" {`} {
		if !strings.Contains(form.String(), want) {
			t.Errorf("no %q in\n%s", want, form.String())
		}
	}
	answers, err := strip.Read(&source.File{Name: "a.answers",
		Text: bytes.ReplaceAll(form.Bytes(), []byte(`played = ""`), []byte(`played = "yes"`))})
	if err != nil || len(answers) != len(s.Windows[0].Doubts) {
		t.Fatalf("%d answers, %v", len(answers), err)
	}
	for f := range inspect.CheckAnswered(f.Piece, rolls, answers).All() {
		for _, a := range answers {
			if a.Kind == f.Kind {
				t.Errorf("still told: %s", f.Message())
			}
		}
	}
}

// FuzzRead: whatever is in a form, answers have a kind that is known, or an error has
// a place.
func FuzzRead(f *testing.F) {
	f.Add("doubt \"A1\" {\n  kind = \"short bridge\"\n  value = 1.42\n  unit = \"mm\"\n  played = \"yes\"\n}\n")
	f.Add("doubt \"A1\" {\n  kind = \"none\"\n}\ndoubt \"A1\" {\n  played = 3\n}\n")
	f.Add("# Trial strip\n\ndoubt {\n")
	f.Fuzz(func(t *testing.T, text string) {
		answers, err := strip.Read(&source.File{Name: "f.answers", Text: []byte(text)})
		if err != nil {
			return
		}
		for _, a := range answers {
			if kind, ok := inspect.KindOf(a.Kind.String()); !ok || kind != a.Kind {
				t.Errorf("%+v", a)
			}
		}
	})
}
