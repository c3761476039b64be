package sound

import (
	"fmt"
	"math"

	"rollwright/music/event"
)

// Options say how events become sound. The zero value is 48 kHz, stereo, one
// piano with felt hammers that is not dry, at its own loudness; see
// DefaultOptions for what a listener wants.
type Options struct {
	SampleRate int     // 44100 or 48000; 0 is 48000
	Pianos     []Piano // by event.Event.Piano; events of a piano that is not there are an error
	Rate       float64 // of playing: 2 is twice as fast at the same pitch; 0.25 to 4, 0 is 1
	FromSec    float64 // what is heard begins here, in the time of the events
	ToSec      float64 // and no note starts at or after this; 0 is to the end
	Mono       bool    // one channel

	// Places are where voices are heard, by event.Event.Voice, -1 left to 1 right, in place of
	// where their keys lie. Voices beyond them keep their keys' places.
	Places []float64

	// Soft are the stretches in which the soft pedals of pianos are down, in the time of the
	// events. See SoftLevel.
	Soft  []event.Span
	Knock bool // no strings, only the knock of each blow

	// TargetLUFS is the integrated loudness to bring the sound to (ITU-R
	// BS.1770). nil leaves it as it is. Either way the true peak stays at or
	// below -1 dBTP: by a limiter, as far as LimitDB lets it, and beyond that by less
	// loudness.
	TargetLUFS *float64
	// LimitDB is the most that the limiter may hold peaks back, 0 to MostLimitDB. It
	// pulls down whatever sounds at the time of a peak.
	LimitDB float64
	// GainDB, if not nil, is used instead, without limiter: for stems, which
	// must add up to their mix. Peaks are then the caller's care.
	GainDB *float64

	Cache *Cache // of notes; nil computes all anew
	// Progress is told now and then what is being done and how much of it is
	// done, 0 to 1. It is called from one goroutine at a time.
	Progress func(stage Stage, done float64)

	voice  *int32 // heard alone, though the others end its notes; nil: all
	length int64  // frames at least, with silence at the end, or nothing but silence
}

// A Stage is a part of the work that Progress tells of.
type Stage string

// The stages: computing notes, mixing them, playing the result.
const (
	Notes   Stage = "notes"
	Mixing  Stage = "mixing"
	Playing Stage = "playing"
)

// Piano is one instrument as it is heard.
type Piano struct {
	Hammers Hammers
	// how much of a strip of felt lies on the strings, 0 to 1: at 1 they ring a sixth as long, and less high
	Dry   float64
	Seat  float64 // where it stands, -1 left to 1 right
	Width float64 // from the middle of its keys to either end, in the same unit
	// SingleSec is how long one punch holds a port open at Rate 1: what a Single event
	// lasts. 0 is 42.5 ms, a hole of 1.7272 mm at roll tempo 80.
	SingleSec float64
	Tuning    Tuning
	// Copy tells instruments that are alike apart: those of different numbers differ as two
	// pianos of one maker do after the tuner has left, by up to 1.2 cents a key and in
	// their unisons.
	Copy int
}

// What is heard unless told otherwise.
const (
	DefaultLUFS       = -23.0 // of programmes, EBU R 128: there the limiter has nothing to do
	DefaultDry        = 0.5   // assumed
	defaultSingleSec  = 1.7272 / 40.64
	defaultSampleRate = 48000
)

// DefaultOptions are those for pianos that stand beside each other from left to
// right, one or more, with these hammers.
func DefaultOptions(hammers ...Hammers) Options {
	target := DefaultLUFS
	o := Options{SampleRate: defaultSampleRate, Rate: 1, TargetLUFS: &target}
	for i, h := range hammers {
		p := Piano{Hammers: h, Dry: DefaultDry, Copy: i}
		p.Seat, p.Width = Seats(i, len(hammers))
		o.Pianos = append(o.Pianos, p)
	}
	return o
}

// Seats places piano i of n: one in the middle with its keys spread to half way,
// several from left to right, each less wide. Assumed.
func Seats(i, n int) (seat, width float64) {
	if n <= 1 {
		return 0, 0.5
	}
	return -0.6 + 1.2*float64(i)/float64(n-1), 0.3
}

func (o *Options) complete() error {
	if o.SampleRate == 0 {
		o.SampleRate = defaultSampleRate
	}
	if o.Rate == 0 {
		o.Rate = 1
	}
	if o.Pianos == nil {
		o.Pianos = []Piano{{Width: 0.5}}
	}
	switch {
	case o.SampleRate != 44100 && o.SampleRate != 48000:
		return fmt.Errorf("sound: sample rate %d, wanted 44100 or 48000", o.SampleRate)
	case !(o.Rate >= 0.25 && o.Rate <= 4):
		return fmt.Errorf("sound: rate %v, wanted 0.25 to 4", o.Rate)
	case math.IsNaN(o.FromSec) || math.IsInf(o.FromSec, 0) || math.IsNaN(o.ToSec) || math.IsInf(o.ToSec, 0):
		return fmt.Errorf("sound: from %v s to %v s is no stretch of time", o.FromSec, o.ToSec)
	case o.ToSec != 0 && o.ToSec <= o.FromSec:
		return fmt.Errorf("sound: from %v s to %v s: the end is not after the start", o.FromSec, o.ToSec)
	}
	for _, db := range []*float64{o.TargetLUFS, o.GainDB} {
		if db != nil && !(math.Abs(*db) <= 200) {
			return fmt.Errorf("sound: loudness or gain of %v dB", *db)
		}
	}
	if !(o.LimitDB >= 0 && o.LimitDB <= MostLimitDB) {
		return fmt.Errorf("sound: a limiter of %v dB, wanted 0 to %v", o.LimitDB, MostLimitDB)
	}
	for i, place := range o.Places {
		if !(math.Abs(place) <= 1) {
			return fmt.Errorf("sound: voice %d at %v, wanted -1 to 1", i+1, place)
		}
	}
	for i, p := range o.Pianos {
		if int(p.Hammers) >= len(hammerNames) {
			return fmt.Errorf("sound: piano %d has no such hammers: %v", i+1, p.Hammers)
		}
		if !(p.Dry >= 0 && p.Dry <= 1) {
			return fmt.Errorf("sound: piano %d: dry is %v, wanted 0 to 1", i+1, p.Dry)
		}
		if p.Copy < 0 {
			return fmt.Errorf("sound: piano %d is copy %d", i+1, p.Copy)
		}
		if !(math.Abs(p.Seat) <= 1) || !(p.Width >= -1 && p.Width <= 1) || !(p.SingleSec >= 0 && p.SingleSec <= 10) {
			return fmt.Errorf("sound: piano %d: seat %v, width %v, single %v s", i+1, p.Seat, p.Width, p.SingleSec)
		}
	}
	return nil
}

// FrameAt is the frame at a time: the nearest, half a frame up. A frame is at
// most 11.4 microseconds from its time (44.1 kHz); docs/sound.md measures that nothing between
// frames is heard.
func FrameAt(sec float64, sampleRate int) int64 {
	return int64(math.Floor(sec*float64(sampleRate) + 0.5))
}

// pan is the gain of the two channels for a place between -1 and 1, at constant
// power.
func pan(place float64) (left, right float32) {
	angle := (max(-1, min(1, place)) + 1) * math.Pi / 4
	return float32(math.Cos(angle)), float32(math.Sin(angle))
}
