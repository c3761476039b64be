// Package tempo turns places in a voice, counted in units, into seconds and
// back, along a tempo that is constant or changes by a law.
//
// A place is the number of units since the voice's start; a unit is a share of
// a whole note, and a tempo counts quarter notes a minute: u units of size U
// are 4*U*u quarter notes. Seconds count from the voice's start. A voice's
// speed divides all its times.
//
// Both directions are closed formulas, so nothing is summed up and no error
// grows. What is exact stays exact (Path.SecondsPerUnit); the crossing to
// floating point is Path.Seconds, Path.Units and Path.Tempo, each with its
// error bound, and Path.BigSeconds for any precision.
package tempo
