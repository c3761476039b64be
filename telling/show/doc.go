// Package show turns a performed piece into a lecture: steps to see and to hear
// one after the other, written as one page for the browser, as slides with
// sound, or as text.
//
// The steps follow from the piece (New): its rhythm alone, its melody alone,
// both together until both end together, a line against itself at another
// speed, each further voice, all of it, the points at which voices meet. A show
// block in the piece file changes them (ReadScript).
//
// Times are seconds of the piece, lengths of steps seconds as they are played.
// Times of sounds are handed to the page in whole microseconds, places of holes
// in hundredths of a millimetre, both to nearest (micros, hundredths). The page
// holds no clock, no chance and no address: equal pieces give equal bytes, and
// it needs no network.
package show
