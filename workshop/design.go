package workshop

import (
	"rollwright/music/event"
	"rollwright/music/find"
)

// Notes are the notes of a source as find takes them: of a table of notes as its
// rows have them, of any other as it plays.
func (j *Job) Notes() ([]find.Note, error) {
	if j.notes == nil {
		if _, err := j.Rolls(); err != nil {
			return nil, err
		}
	}
	var out []find.Note
	for e := range j.Events() {
		out = append(out, NoteOf(e, j.Voices))
	}
	return out, nil
}

// NoteOf is an event, whose voice has one of the names, as find takes it. Its number
// is that of the table, so that the tones of a chord stay together however unevenly
// they are struck.
func NoteOf(e event.Event, names []string) find.Note {
	n := find.Note{Key: int(e.Key), StartSec: e.StartSec, EndSec: e.EndSec, Number: int(e.Note), Level: int(e.Level)}
	if e.Voice >= 0 && int(e.Voice) < len(names) {
		n.Voice = names[e.Voice]
	}
	return n
}
