// Package sound turns events into the sound of the instrument that would play
// them: strings, hammers, soundboard and dampers, computed.
//
// Mix takes strokes (event.Event), the hammers of each piano and how dry it is,
// and returns the measured sound, ready to be played once or more often into a
// file or a player as stereo frames of -1 to 1. Times are seconds, keys 21 to 108,
// levels 1 to 127, loudness LUFS, peaks dB above full scale.
//
// A note is computed once for its key, level, hammers, dryness and sample rate and
// kept in a Cache. Its partials are f_n = n f0 sqrt(1 + B n^2) with the first at equal temperament
// (ISO 16) to a rounding error; a stroke begins on the sample nearest to its
// time (FrameAt). Every sum runs in a fixed order, so the same events make the
// same samples to the bit from run to run and on any number of cores.
//
// docs/sound.md says what is modelled, what is not, and where each number of
// scale.txt, hammers.txt and board.txt comes from.
package sound
