// Package examples hands out the pieces that come with the program: each is
// about one idea, which the remarks in its text explain.
//
// The texts are embedded, byte for byte as they lie beside this file.
package examples

import (
	"embed"
	"fmt"
	"slices"
)

//go:embed *.piece
var files embed.FS

// First is the name of the piece that is written where none is named: short, and
// with more than one voice, so that there is something to meet.
const First = "first-thread"

// Example tells one piece from the others.
type Example struct {
	Name  string // of the file, without .piece
	Title string
	Idea  string // a line
}

// all is in the order in which to learn the language.
var all = []Example{
	{"single-end", "Single End", "one voice: seven pitches on six durations, and a lecture about it"},
	{First, "First Thread", "pitches on durations that are not equally many, in three voices"},
	{"even-picks", "Even Picks", "strokes as even as can be, four kinds on one pulse"},
	{"heddles", "Heddles", "chords and silences: what sounds in one voice is silent in the other"},
	{"dry-and-held", "Dry and Held", "how long a note sounds, and what the pedal keeps"},
	{"herringbone", "Herringbone", "a line, its mirror image, and both backwards"},
	{"twill", "Twill", "stairs: each statement higher, louder, longer or shorter"},
	{"two-shuttles", "Two Shuttles", "one line against itself at an irrational speed"},
	{"four-looms", "Four Looms", "a canon as a proportion, with a meeting point"},
	{"running-up", "The Shaft Runs Up", "a canon of voices that all get faster and end as one"},
	{"unwinding", "Unwinding", "every note a little longer than the one before"},
	{"bobbins", "Bobbins", "gestures: runs, shakes, strokes again and again, rolled chords"},
	{"two-shifts", "Two Shifts", "sections, and work heard backwards at half speed"},
	{"two-sheds", "Two Sheds", "two pianos, ten voices, thousands of notes"},
}

// List is every example, the easiest first.
func List() []Example { return slices.Clone(all) }

// Source is the text of the named example. The error says that there is none
// of that name.
func Source(name string) ([]byte, error) {
	text, err := files.ReadFile(name + ".piece")
	if err != nil {
		return nil, fmt.Errorf("examples: there is no example %q", name)
	}
	return text, nil
}
