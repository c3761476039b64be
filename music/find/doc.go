// Package find looks for the design in notes: which series of pitches runs on
// which series of durations, and which line is another at another speed.
//
// Input are notes (Note), with or without the names of their voices; output is a
// Design: for each voice its color, its talea and its tempo, and between voices
// canons, each claim with the share of notes that it predicts and with how likely
// chance would be to do as well. Notes without voices are first parted by what
// explains them. Nothing is claimed where nothing repeats.
//
// Times are seconds and pitches keys, 60 being C4. All reckoning is in float64;
// durations in units and numbers near to a speed are exact; Talea and package
// simple say how they were found. The same notes give the same Design. Papers are
// cited from memory in docs/find.md.
package find
