// Package event names the event: one note of one voice, and the rounding of its
// times.
//
// It is what performing a piece, reading a file of notes and playing a roll all
// arrive at. Times are seconds in float64, the nearest to what they stand for;
// Nanoseconds is their one rounding. Voices and pianos are indices: whoever made
// the events knows their names.
package event

// Event is one note of one voice: one stroke of one key.
type Event struct {
	StartSec float64 // from the piece's 0
	EndSec   float64 // not before StartSec; equal to it when Single
	Voice    int32   // index into the names of their maker
	Note     int32   // counts the sounding items of the voice from 1; chord tones and strokes of a gesture share it
	Part     int32   // counts the strokes of a gesture from 1; 1 for everything else
	Piano    int16   // index likewise
	Key      int16   // 0 to 127; 60 is C4
	Level    int16   // 1 to 127; mf is 80
	Single   bool    // one punch, whatever the written duration
}
