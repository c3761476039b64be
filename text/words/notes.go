package words

import (
	"fmt"
	"strings"
)

// NoteNames is how notes are called, whatever the language: a choice of its own, because
// schools of one language differ.
type NoteNames int8

// The names of notes.
const (
	Letters   NoteNames = iota // C D E F G A B, with signs
	Syllables                  // do re mi fa sol la si, as the language spells them, with signs
	German                     // C D E F G A H, with endings, and B a semitone below H
)

var noteNames = [...]string{"letters", "syllables", "german"}

func (n NoteNames) String() string { return noteNames[n] }

// ParseNoteNames reads "letters", "syllables" or "german"; nothing is letters.
func ParseNoteNames(s string) (NoteNames, error) {
	for i, name := range noteNames {
		if s == name || s == "" {
			return NoteNames(i), nil
		}
	}
	return 0, fmt.Errorf("there are no names of notes %q; write letters, syllables (do re mi), or german (H and B)", s)
}

// Calling is the book with notes called so.
func (b *Book) Calling(n NoteNames) *Book {
	called := *b
	called.notes = n
	return &called
}

// germanNames are notes with up to two signs: common practice, no source.
var germanNames = map[string]string{
	"B": "H", "Bb": "B", "Bbb": "Heses", "B#": "His", "B##": "Hisis",
	"E#": "Eis", "Eb": "Es", "Ebb": "Eses", "A#": "Ais", "Ab": "As", "Abb": "Ases",
}

// Note is a pitch by the name that package pitch gives it, "Bb3", as notes are called here.
// The number of its octave stays, and so do the signs of letters and syllables.
func (b *Book) Note(name string) string {
	if b.notes == Letters || name == "" || !strings.Contains("CDEFGAB", name[:1]) {
		return name
	}
	octave := strings.IndexAny(name, "-0123456789")
	if octave < 0 {
		octave = len(name)
	}
	if b.notes == Syllables {
		syllables := strings.Fields(b.raw("note.syllables"))
		return syllables[strings.Index("CDEFGAB", name[:1])] + name[1:]
	}
	if german, ok := germanNames[name[:octave]]; ok {
		return german + name[octave:]
	}
	return name[:1] + strings.Repeat("is", strings.Count(name[:octave], "#")) +
		strings.Repeat("es", strings.Count(name[1:octave], "b")) + name[octave:]
}
