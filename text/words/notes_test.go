package words

import "testing"

// TestNote: the names of the same pitches. German ones and syllables: common practice, no
// source.
func TestNote(t *testing.T) {
	french, err := Open("fr", "")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, german, syllable, french string }{
		{"C4", "C4", "do4", "do4"}, {"D#3", "Dis3", "re#3", "ré#3"}, {"Eb5", "Es5", "mib5", "mib5"},
		{"F##2", "Fisis2", "fa##2", "fa##2"}, {"Gb4", "Ges4", "solb4", "solb4"}, {"Abb4", "Ases4", "labb4", "labb4"},
		{"Ab4", "As4", "lab4", "lab4"}, {"B4", "H4", "si4", "si4"}, {"Bb4", "B4", "sib4", "sib4"},
		{"B#3", "His3", "si#3", "si#3"}, {"C-1", "C-1", "do-1", "do-1"}, {"–", "–", "–", "–"},
	} {
		for i, book := range []*Book{English(), English().Calling(German), English().Calling(Syllables),
			french.Calling(Syllables)} {
			if got, want := book.Note(c.name), []string{c.name, c.german, c.syllable, c.french}[i]; got != want {
				t.Errorf("%s is called %s, want %s", c.name, got, want)
			}
		}
	}
	for text, want := range map[string]NoteNames{"": Letters, "letters": Letters, "syllables": Syllables, "german": German} {
		if got, err := ParseNoteNames(text); err != nil || got != want {
			t.Errorf("%q: %v, %v", text, got, err)
		}
	}
	if _, err := ParseNoteNames("solfa"); err == nil {
		t.Error("solfa is taken")
	}
}
