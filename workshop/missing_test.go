package workshop

import (
	"os"
	"path/filepath"
	"testing"

	"rollwright/text/source"
)

// TestMissingInstruments: every instrument without a file is told of, once, with
// the name that is near.
func TestMissingInstruments(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "hall.instrument"), []byte("like = \"88-note\"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	text := `piano "a" {
  instrument = "hall2.instrument"
}
piano "b" {
  instrument = "65-note.instrument"
}
piano "c" {
  instrument = "sub/organ.instrument"
}
piano "d" {
  instrument = "hall.instrument"
}
piano "e" {
  instrument = "hall2.instrument"
}
voice "v" {
  talea = 1
  color = "C4"
}
`
	_, err := New(t.Context(), &source.File{Name: "x.piece", Text: []byte(text)}, dir)
	want := `x.piece:2:3: there is no file hall2.instrument; it is looked for beside the piece
      instrument = "hall2.instrument"
      ^
  did you mean instrument = "hall.instrument"?
x.piece:5:3: there is no file 65-note.instrument; it is looked for beside the piece
      instrument = "65-note.instrument"
      ^
  did you mean instrument = "65-note"?
x.piece:8:3: there is no file sub/organ.instrument; its path counts from the folder of the piece
      instrument = "sub/organ.instrument"
      ^
  ` + instrumentHint
	if err == nil || err.Error() != want {
		t.Errorf("got\n%v\nwant\n%s", err, want)
	}
}
