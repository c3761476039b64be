package instrument

import "math"

// footMM is the international foot; roll tempos count feet.
const footMM = 304.8

// SpeedMMPerSec is the paper speed at time 0. The trade's figure is ten times
// the feet of paper a minute (Music Roll Standards, Chicago 1911: "at 70,
// seven feet"), so 80 is 40.64 mm/s.
func (t Transport) SpeedMMPerSec() float64 { return t.RollTempo / 10 * footMM / 60 }

// LeverTempo is what the tempo lever says when the paper runs at RollTempo: what
// a piece asks for, and what a label tells the player to set.
func (t Transport) LeverTempo() float64 {
	if t.Lever > 0 {
		return t.Lever
	}
	return t.RollTempo
}

// AtLever is the transport with its lever at another tempo: an instrument that
// runs one per cent slow does so at every tempo.
func (t Transport) AtLever(tempo float64) Transport {
	if t.Lever > 0 {
		t.RollTempo, t.Lever = t.RollTempo*tempo/t.Lever, tempo
	} else {
		t.RollTempo = tempo
	}
	return t
}

// Build-up: a take-up spool of radius r0 at time 0 turns at constant angular
// speed w = v0/r0 and its radius grows by h each turn, so after time t
//
//	s(t) = w*r0*t + h*w*w*t*t/(4*pi) = v0*t + bend*t*t.
func (t Transport) bend() float64 {
	if !t.Spool || t.RadiusMM <= 0 {
		return 0
	}
	w := t.SpeedMMPerSec() / t.RadiusMM
	return t.ThicknessMM * w * w / (4 * math.Pi)
}

// AlongMM is the row on the bar at time sec: 0 at time 0, negative before.
func (t Transport) AlongMM(sec float64) float64 {
	if t.SlowingPerMM > 0 {
		return t.slowAlong(sec)
	}
	return (t.SpeedMMPerSec() + t.bend()*sec) * sec
}

// Sec is the time at which the row along lies on the bar: the inverse of
// AlongMM, in the form of the quadratic's root that loses no digits at small
// bend. Rows before the spool could have begun count as its beginning.
func (t Transport) Sec(along float64) float64 {
	if t.SlowingPerMM > 0 {
		return t.slowSec(along)
	}
	v, bend := t.SpeedMMPerSec(), t.bend()
	return 2 * along / (v + math.Sqrt(max(v*v+4*bend*along, 0)))
}

// SpeedAt is the paper speed in mm/s at time sec.
func (t Transport) SpeedAt(sec float64) float64 {
	if t.SlowingPerMM > 0 {
		along := t.slowAlong(sec)
		return t.SpeedMMPerSec() * t.widening(along) * t.turning(along)
	}
	return t.SpeedMMPerSec() + 2*t.bend()*sec
}

// TempoAt is the roll tempo at time sec: what a player would have to set for a
// constant speed.
func (t Transport) TempoAt(sec float64) float64 {
	return t.SpeedAt(sec) * 60 / footMM * 10
}

// Turns is how often the take-up spool has turned at time sec; 0 for a
// constant transport.
func (t Transport) Turns(sec float64) float64 {
	if !t.Spool || t.RadiusMM <= 0 {
		return 0
	}
	if t.SlowingPerMM > 0 { // by the paper wound: the radius grows by h a turn all the same
		along := t.slowAlong(sec)
		return along / (math.Pi * t.RadiusMM * (1 + t.widening(along)))
	}
	return t.SpeedMMPerSec() / t.RadiusMM * sec / (2 * math.Pi)
}

// RadiusAt is the radius in millimetres of spool and paper at time sec.
func (t Transport) RadiusAt(sec float64) float64 {
	return t.RadiusMM + t.ThicknessMM*t.Turns(sec)
}

// OpenMM is how long a port counts as open, in millimetres of paper, over a
// slot of the given length: its length and p*(1 - 2f) for a port of height p
// that counts as open while the share f of it is uncovered.
func (in *Instrument) OpenMM(lengthMM float64) float64 {
	return lengthMM - 2*in.EdgeShiftMM()
}

// SingleSec is how many seconds a single punch holds its port open, at the speed of the
// paper at time 0.
func (in *Instrument) SingleSec() float64 {
	return in.OpenMM(in.Die.DiameterMM) / in.Transport.SpeedMMPerSec()
}

// EdgeShiftMM is p*(f - 1/2): the port opens when the row so much after a
// slot's leading edge lies on its middle, and shuts so much before the
// trailing edge.
func (in *Instrument) EdgeShiftMM() float64 {
	return in.Bar.HeightMM * (in.Bar.OpenShare - 0.5)
}

// WebMaxMM is the widest web of paper that does not shut a port: p*(1 - f).
func (in *Instrument) WebMaxMM() float64 {
	return in.Bar.HeightMM * (1 - in.Bar.OpenShare)
}

// StrokesASecond is how often a second one port can be struck when every
// stroke is a slot of slotMM and bridgeMM of paper stay between two: speed at
// time 0 divided by their sum.
func (in *Instrument) StrokesASecond(slotMM, bridgeMM float64) float64 {
	return in.Transport.SpeedMMPerSec() / (slotMM + bridgeMM)
}

// FastestStrokes is the most strokes a second of one key that this paper,
// punch and action can tell apart: single punches, the action's gap of paper
// and of time between them, and the port open long enough to sound. It is
// rounded down to a hundredth, so that strokes at this rate keep clear of the
// limit, and reckoned at time 0, where a spool is slowest.
func (in *Instrument) FastestStrokes() float64 {
	v, d := in.Transport.SpeedMMPerSec(), in.Die.DiameterMM
	open := in.OpenMM(d) / v
	interval := max(
		(d+in.Action.GapPaperMM+in.StepMM)/v,
		in.Action.GapSec+open+in.StepMM/v,
		in.Action.GapSec+in.Action.ShortestSec,
	)
	return math.Floor(100/interval) / 100
}

// Repetition is how a key is struck again and again as fast as nothing is to be
// said against: so many strokes a second, each sounding for so many seconds.
// Between two strokes stay the paper of the standard's bridge and the action's
// gap of time, and each keeps its port open for as long as the action needs. It
// is rounded and reckoned as FastestStrokes, which is faster.
func (in *Instrument) Repetition() (strokes, holdSec float64) {
	v, d := in.Transport.SpeedMMPerSec(), in.Die.DiameterMM
	hold := in.Action.ShortestSec
	if in.OpenMM(d) < hold*v+in.StepMM {
		hold += in.StepMM / v // what rounding to rows may take away
	}
	open := max(in.OpenMM(d)/v, hold)
	interval := max(
		open+(2*in.EdgeShiftMM()+max(in.Action.GapPaperMM, in.Paper.BridgeMM)+in.StepMM)/v,
		open+in.Action.GapSec+in.StepMM/v,
	)
	return math.Floor(100/interval) / 100, hold
}
