package sound

import "testing"

// TestModelIsEmbedded: the version of notes is reckoned from files that are there; a
// directive that is none would leave them out, and old notes would be taken for new.
func TestModelIsEmbedded(t *testing.T) {
	entries, err := model.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	has := map[string]bool{}
	for _, e := range entries {
		has[e.Name()] = true
	}
	for _, name := range []string{"scale.txt", "hammers.txt", "board.txt", "blow.go", "hammer.go", "note.go", "render.go",
		"cache.go"} {
		if !has[name] {
			t.Errorf("%s is not embedded", name)
		}
	}
}
