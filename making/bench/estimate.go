package bench

import (
	"math"

	"rollwright/paper/instrument"
)

// Estimate is what a roll costs in work and paper.
type Estimate struct {
	Punches, Rows int
	Turns         float64 // of the crank, from the zero line to the last row
	Pace          Pace    // reckoned with
	Assumed       bool    // nobody has measured that pace
	WorkSec       float64
	Sessions      int
	LeaderMM      float64 // paper before the zero line
	MusicMM       float64 // from the zero line to the last hole or the end of the last note
	TrailerMM     float64
	PaperMM       float64 // all three
	SpoolMM       float64 // diameter of the wound roll
	SpoolTurns    float64
}

// The core and thickness reckoned with where the instrument's transport has
// none: an empty circumference of 5.25 in and 0.00289 in a turn (B. Jelen,
// Mechanical Music Digest 1995.06.13.02).
const (
	assumedRadiusMM    = 5.25 * inchMM / (2 * math.Pi)
	assumedThicknessMM = 0.00289 * inchMM
)

// Estimate reckons with a pace that is known; where that says nothing, with the one
// that the profile assumes. Sittings are the profile's.
func (p *Plan) Estimate(known Pace) Estimate {
	paper := p.Roll.Instrument.Paper
	e := Estimate{
		Punches: p.Punches, Rows: len(p.Rows), Pace: known,
		LeaderMM: p.LeaderMM(), TrailerMM: paper.TrailerMM,
		MusicMM: p.EndMM - p.AlongMM(p.Start),
	}
	if !known.Known() {
		e.Pace, e.Assumed = p.Profile.Pace, true
	}
	e.Pace.SessionSec = p.Profile.Pace.SessionSec
	if n := len(p.Rows); n > 0 {
		e.Turns = float64(p.Rows[n-1].Dial-p.Start) / float64(p.Profile.Crank.Parts)
	}
	e.WorkSec = e.Pace.WorkSec(p.Punches, len(p.Rows))
	e.Sessions = Sessions(e.WorkSec, e.Pace.SessionSec)
	e.PaperMM = e.LeaderMM + e.MusicMM + e.TrailerMM
	e.SpoolMM, e.SpoolTurns = Wound(p.Roll.Instrument.Transport, e.PaperMM)
	return e
}

// Sessions is how many sittings so much work takes.
func Sessions(workSec, sessionSec float64) int {
	return int(math.Ceil(workSec/sessionSec - noiseParts))
}

// Wound is the diameter of so much paper on its core, D = sqrt(d^2 + 4Lt/pi)
// for core diameter d, length L, thickness t, and its turns n = (D-d)/(2t)
// (Mechanical Music Digest 2019.10.27.06). A spool's radius at time 0 counts
// as the core.
func Wound(tr instrument.Transport, mm float64) (diameterMM, turns float64) {
	d, t := 2*assumedRadiusMM, assumedThicknessMM
	if tr.Spool && tr.RadiusMM > 0 && tr.ThicknessMM > 0 {
		d, t = 2*tr.RadiusMM, tr.ThicknessMM
	}
	diameterMM = math.Sqrt(d*d + 4*mm*t/math.Pi)
	return diameterMM, (diameterMM - d) / (2 * t)
}
