// Package calibrate makes a test roll for an instrument, and fits the
// instrument to what was read while it played.
//
// Its input is an instrument.Instrument and, later, readings: times at marks of
// known lengths, turns and girth of the take-up spool, which tries sounded. Its
// output is a roll.Roll with a form, then a Result that writes an .instrument
// file. Lengths are millimetres, times seconds, in float64. A stated range is a
// 95 % range: a standard uncertainty from the least-squares fit times Student's
// factor for the freedom that is left (JCGM 100:2008, GUM, annex G).
package calibrate

import (
	"math"

	"rollwright/paper/instrument"
)

// Value is a number with its range.
type Value struct {
	Value  float64
	Half   float64 // half the 95 % range; 0 where the number was not fitted
	Fitted bool    // false: taken over from the instrument
}

// Fit is what least squares make of the readings.
type Fit struct {
	Speed     Value // mm/s at time 0
	Radius    Value // of the spool at time 0, mm
	Thickness Value // a turn, mm
	Delay     Value // from the port's opening to the sound, s
	Slowing   Value // share of its turning that the motor loses a millimetre of paper; fitted where readings ask for it
	Together  bool  // times alone were read: Thickness is build-up less what the motor slows

	Readings int
	Freedom  int       // readings less what was fitted to them
	Scatter  float64   // how much the readings scatter, as a share of what their precision says
	Worst    *Residual // the reading that lies farthest off, by its precision; nil without readings

	Lack *Lack // that the marks lie off alike in all runs; nil where they do not, or nobody can tell

	set        []int                 // what was fitted
	byRadius   float64               // of state
	other      *state                // what another model makes of the readings; nil: none is in question
	factor     float64               // Student's, times the scatter
	covariance [cores][cores]float64 // of speed, radius, thickness, delay, slowing; of one unit of scatter
}

// Residual is how far a reading lies from the fit.
type Residual struct {
	Reading string
	Off     float64 // reading less fit
	Unit    string
}

// Transport is how the paper moves by the fit, with the lever at lever.
func (f *Fit) Transport(lever float64) instrument.Transport {
	return instrument.Transport{
		Spool: f.Thickness.Value != 0, RollTempo: tempoOf(f.Speed.Value), Lever: lever,
		RadiusMM: f.Radius.Value, ThicknessMM: f.Thickness.Value,
		SlowingPerMM: max(f.Slowing.Value, 0),
	}
}

// tempoOf is the roll tempo of a paper speed in mm/s: the inverse of
// instrument.Transport.SpeedMMPerSec.
func tempoOf(speed float64) float64 { return speed * 60 / 304.8 * 10 }

// speedOf is its inverse.
func speedOf(tempo float64) float64 { return instrument.Transport{RollTempo: tempo}.SpeedMMPerSec() }

// TimeRange is half the 95 % range of the time at which a row lies on the bar,
// counted from time 0: the fit's uncertainty carried through its formula, and
// what another model would make of the same readings.
func (f *Fit) TimeRange(alongMM float64) float64 {
	at := state{speed: f.Speed.Value, radius: f.Radius.Value, thickness: f.Thickness.Value, slowing: f.Slowing.Value}
	var slope [cores]float64
	for i := range slope {
		if i == iDelay { // counted from time 0, it takes part in none
			continue
		}
		up, down := at, at
		step := stepOf(i, *up.core(i))
		*up.core(i) += step
		*down.core(i) -= step
		slope[i] = (up.sec(alongMM) - down.sec(alongMM)) / (2 * step)
	}
	sum := 0.0
	for i := range slope {
		for j := range slope {
			sum += slope[i] * f.covariance[i][j] * slope[j]
		}
	}
	half := f.factor * math.Sqrt(max(sum, 0))
	if f.other == nil {
		return half
	}
	return f.wider(half, f.other.sec(alongMM)-at.sec(alongMM))
}
