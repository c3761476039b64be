package ear

import (
	"math"

	"rollwright/text/blocks"
	"rollwright/text/fields"
	"rollwright/text/source"
)

// Thresholds are what a listener can tell apart. They hold for about half of
// attentive listeners with few sounds: zones that raise a remark, never a verdict.
type Thresholds struct {
	// OneSec: two onsets so near are heard as one attack or cannot be put in order.
	// Order is heard from about 20 ms on (I. J. Hirsh, J. Acoust. Soc. Am. 31, 759,
	// 1959), fails for single tones at 20 ms (J. Vos, Acta Acust. 3, 405, 1995) and
	// goes unnoticed at 30 to 50 ms in live playing (R. A. Rasch, Acustica 43, 121,
	// 1979).
	OneSec float64

	// Below FissionSteps semitones from note to note a line cannot be heard as two,
	// whatever its rate (L. P. A. S. van Noorden, Temporal coherence in the
	// perception of tone sequences, Eindhoven 1975; from memory).
	FissionSteps float64
	// A line whose notes leap farther than the coherence boundary cannot be heard as
	// one: FastSteps semitones at FastSec from onset to onset, SlowSteps at SlowSec,
	// straight between, no boundary beyond (the same; from memory). The alternation
	// of G. A. Miller and G. A. Heise, J. Acoust. Soc. Am. 22, 637 (1950), splits
	// near 2.4 semitones for listeners who try to hear two, which is the fission
	// boundary.
	FastSec, FastSteps float64
	SlowSec, SlowSteps float64

	// PulseFastSec, PulseSlowSec: notes that follow each other faster or slower carry no
	// pulse of their own. Metre lives from about 100 ms on (J. London, Music Percept. 19, 529,
	// 2002); the slowest that can be tapped is 1800 ms (B. H. Repp, Adv. Cogn. Psychol. 2, 163,
	// 2006).
	PulseFastSec, PulseSlowSec float64

	// FlutterSec: strokes of one key that follow each other faster are not counted
	// one by one (C. Jurado et al., Timing Time Percept. 2021: 80 to 90 ms).
	FlutterSec float64

	// MaskSec, MaskLevels: a note is hidden by one that has begun at most so long
	// before it, is louder by so many levels, and lies within one band of hearing
	// (B. R. Glasberg and B. C. J. Moore, Hear. Res. 47, 103, 1990: the width of the
	// band; masking ends by 100 to 200 ms, Moore, Psychology of Hearing, from memory;
	// the levels: common practice, no source).
	MaskSec    float64
	MaskLevels float64

	// TempoShare: two speeds that differ by less are heard as one tempo whose onsets
	// drift (C. Drake and M.-C. Botte, Percept. Psychophys. 1993: 3 % in a series of
	// six).
	TempoShare float64
}

// Published are the thresholds with the sources named at Thresholds.
func Published() Thresholds {
	return Thresholds{
		OneSec: 0.030, FissionSteps: 3,
		FastSec: 0.060, FastSteps: 4, SlowSec: 0.150, SlowSteps: 12.5,
		PulseFastSec: 0.1, PulseSlowSec: 1.8, FlutterSec: 0.085, MaskSec: 0.100, MaskLevels: 48, TempoShare: 0.03,
	}
}

// Extension is that of a file of thresholds.
const Extension = ".ear"

// mostBytes bounds a file of thresholds.
const mostBytes = 64 << 10

// Read reads a listener's own thresholds from the text of f: those that it names
// take the place of the published ones. The error is a source.Errors.
func Read(f *source.File) (Thresholds, error) {
	t := Published()
	body, errs := blocks.Parse(f, blocks.Options{MaxBytes: mostBytes})
	errs = append(errs, table.Read(body, &t, fields.Given{}, nil)...)
	if len(errs) == 0 && t.SlowSec <= t.FastSec {
		errs = append(errs, &source.Error{File: f, Problem: "slow_after is not longer than fast_after",
			Hint: "the boundary is given at two rates, fast_after the shorter time from note to note"})
	}
	return t, blocks.Merge(errs).Err()
}

var table = fields.Table[Thresholds]{
	What: "a file of thresholds",
	Fields: []fields.Field[Thresholds]{
		fields.At("", "one_attack", fields.Seconds(0.001, 1, func(t *Thresholds) *float64 { return &t.OneSec })),
		fields.At("", "fission_steps", fields.Number(0, 48, func(t *Thresholds) *float64 { return &t.FissionSteps })),
		fields.At("", "fast_after", fields.Seconds(0.01, 5, func(t *Thresholds) *float64 { return &t.FastSec })),
		fields.At("", "fast_steps", fields.Number(0, 88, func(t *Thresholds) *float64 { return &t.FastSteps })),
		fields.At("", "slow_after", fields.Seconds(0.01, 5, func(t *Thresholds) *float64 { return &t.SlowSec })),
		fields.At("", "slow_steps", fields.Number(0, 88, func(t *Thresholds) *float64 { return &t.SlowSteps })),
		fields.At("", "pulse_fast", fields.Seconds(0.01, 5, func(t *Thresholds) *float64 { return &t.PulseFastSec })),
		fields.At("", "pulse_slow", fields.Seconds(0.1, 60, func(t *Thresholds) *float64 { return &t.PulseSlowSec })),
		fields.At("", "flutter", fields.Seconds(0.001, 1, func(t *Thresholds) *float64 { return &t.FlutterSec })),
		fields.At("", "masked_after", fields.Seconds(0, 1, func(t *Thresholds) *float64 { return &t.MaskSec })),
		fields.At("", "masked_levels", fields.Number(0, 127, func(t *Thresholds) *float64 { return &t.MaskLevels })),
		fields.At("", "one_tempo", fields.Number(0, 1, func(t *Thresholds) *float64 { return &t.TempoShare })),
	},
}

// OneTempo reports whether two speeds, one the ratio of the other, are heard as one tempo.
func (t *Thresholds) OneTempo(ratio float64) bool {
	return ratio > 0 && math.Abs(ratio-1) > 1e-12 && max(ratio, 1/ratio)-1 < t.TempoShare
}

// coherence is the leap in semitones beyond which notes so far apart are not heard
// as one line; false: there is none.
func (t *Thresholds) coherence(sec float64) (float64, bool) {
	if sec > t.SlowSec+1e-9 { // the differences of nanoseconds in float64
		return 0, false
	}
	share := (max(sec, t.FastSec) - t.FastSec) / (t.SlowSec - t.FastSec)
	return max(t.FastSteps+share*(t.SlowSteps-t.FastSteps), t.FissionSteps), true
}
