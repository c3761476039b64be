package workshop

import (
	"cmp"

	"rollwright/draw"
	"rollwright/paper/edition"
	"rollwright/text/choice"
	"rollwright/text/say"
)

// The bounds of what leaves the roll, the same for every output: drawings, tables,
// programs, worksheets, labels, lectures. They are looked at before any of the
// work is done. Nothing that is played comes near: a spool holds some 60 m.
const (
	// MostRollMM is the longest music of one roll: 500 m, three hours and a half at
	// 40 mm/s. A drawing has twice that from end to end (draw.Limit).
	MostRollMM = draw.Limit / 2
	// MostPunches is how many strokes of the die the rolls of one output have. A
	// stroke is a line of a program of some 60 bytes, so that is a file of 3 GB.
	MostPunches = 50_000_000
	// bytesAPunch is about what one stroke takes in the largest of the outputs.
	bytesAPunch = 60
)

// within is an error where rolls are beyond the bounds, with what would come of
// them.
func within(e *edition.Edition) error {
	punches := 0
	for _, r := range e.Rolls {
		if mm := r.MusicMM(); !(mm <= MostRollMM) {
			return choice.Errorf("a roll of %.0f m is longer than the %d m that are written; part it with {spool-length}, or make the piece shorter",
				mm/1000, int(MostRollMM/1000))
		}
		for i := range r.Slots {
			punches += int(r.Slots[i].Punches)
		}
	}
	if punches > MostPunches {
		return choice.Errorf("%s are more than the %d million that are written, some %.0f GB; part the piece with {spool-length} and name one {spool}",
			say.Count(punches, "punch"), MostPunches/1_000_000, float64(punches)*bytesAPunch/1e9)
	}
	return nil
}

// AboutBytes is about how large a product gets whose size goes with its paper or its
// time: a stroke of the die is a line of a program or of a drawing, a second of sound
// so many samples, of which FLAC keeps some two fifths. 0: nothing that becomes
// large.
func (j *Job) AboutBytes(p *Product, extension string, o *Options) (int64, error) {
	lines := p.For == ForMachine || p.For == NoTool && p.Needs == NeedsRolls && (extension == ".svg" || extension == ".dxf")
	if p.Name != "sound" && !lines {
		return 0, nil
	}
	e, err := j.Edition("", &o.Making)
	if err != nil {
		return 0, err
	}
	punches, lastSec := 0, 0.0
	for _, r := range e.Rolls {
		for i := range r.Slots {
			punches += int(r.Slots[i].Punches)
		}
		if !lines {
			for s := range r.Played() {
				lastSec = max(lastSec, s.EndSec)
			}
		}
	}
	switch {
	case lines && p.For == NoTool && extension == ".svg":
		return 2 * bytesAPunch * int64(punches), nil
	case lines:
		return bytesAPunch * int64(punches), nil
	}
	l := o.listening()
	if l.ToSec > 0 {
		lastSec = min(lastSec, l.ToSec)
	}
	channels, share := 2.0, 1.0
	if l.Mono {
		channels = 1
	}
	if extension == ".flac" {
		share = 0.4
	}
	sec := max(0, lastSec-l.FromSec) / cmp.Or(l.Rate, 1)
	return int64(sec * float64(cmp.Or(l.SampleRate, 48_000)) * channels * float64(cmp.Or(l.Bits, 24)) / 8 * share), nil
}

// fits is within for the rolls of the whole piece.
func (j *Job) fits() error {
	_, err := j.Edition("", &Making{})
	return err
}
