package table

import (
	"io"
	"iter"

	"rollwright/music/event"
	"rollwright/music/pitch"
)

// WriteEvents lists events, a row each, in the order they come; voices are the
// names that they point to. Columns:
//
//	voice    its name; empty for an event that is Unlabelled
//	note     sounding items of the voice, from 1; tones of a chord share it; empty where it is 0
//	key      0 to 127; 60 is middle C
//	pitch    the key's name, spelled with sharps: C4 is middle C
//	start_s  seconds from the start of the piece
//	end_s    the same; equal to start_s for a note that is a single punch
//	level    1 to 127
//	part     strokes of a gesture, from 1; 1 for everything else
//
// In JSON what is empty is null. Only the writer fails.
func WriteEvents(w io.Writer, f Format, voices []string, events iter.Seq[event.Event]) error {
	r := newRows(w, f, "voice", "note", "key", "pitch", "start_s", "end_s", "level", "part")
	names := labelsOf(f, voices)
	var pitches [128]string
	for key := range pitches {
		pitches[key] = labelOf(f, pitch.Name(key))
	}
	for e := range events {
		if e.Voice < 0 {
			r.none()
		} else {
			r.label(names[e.Voice])
		}
		if e.Note == 0 {
			r.none()
		} else {
			r.integer(int64(e.Note))
		}
		r.integer(int64(e.Key))
		r.label(pitches[e.Key])
		r.seconds(e.StartSec)
		r.seconds(e.EndSec)
		r.integer(int64(e.Level))
		r.integer(int64(e.Part))
		if !r.end() {
			break
		}
	}
	return r.close()
}

// labelsOf are names as cells.
func labelsOf(f Format, names []string) []string {
	labels := make([]string, len(names))
	for i, name := range names {
		labels[i] = labelOf(f, name)
	}
	return labels
}
