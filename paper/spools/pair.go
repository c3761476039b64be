package spools

import (
	"fmt"
	"math"

	"rollwright/paper/roll"
)

// Pair is what is known about pianos that play together without being coupled.
type Pair struct {
	CueMM      float64 // marks so far apart on the first piano's roll; 0: none
	SpeedShare float64 // by how much their speeds may differ: 0.01 is one in a hundred
	HeardSec   float64 // two attacks so far apart are heard as two; 0: 30 ms
	StartSec   float64 // the start mark lies so long before the spool's time 0; 0: two seconds
}

const (
	heardSec     = 0.030 // two attacks are heard as two: assumed, differs with sound and ear
	startMarkSec = 2     // assumed: time to lay hands on both levers
	meetSec      = 0.5   // more than the drift that a gap must hold: assumed
)

func (p Pair) heard() float64 { return cmpOr(p.HeardSec, heardSec) }

// DriftSec is how far apart pianos are so long after they began together.
func (p Pair) DriftSec(sec float64) float64 { return sec * p.SpeedShare }

// HeardAfterSec is when that drift is heard, the pianos having begun together;
// +Inf where their speeds do not differ.
func (p Pair) HeardAfterSec() float64 {
	if p.SpeedShare == 0 {
		return math.Inf(1)
	}
	return p.heard() / math.Abs(p.SpeedShare)
}

// EndMM is where the music of one roll ends on its paper when it lasts as long as
// that of all rolls of the spool: the last note or hole of any of them.
func EndMM(r *roll.Roll, rolls []*roll.Roll) float64 {
	end := r.MusicMM()
	for _, o := range rolls {
		sec := max(o.EndSec, o.Instrument.Transport.Sec(o.MusicMM()))
		end = max(end, r.Instrument.Transport.AlongMM(sec))
	}
	return end
}

// Cue is one instant marked on every roll.
type Cue struct {
	Name    string
	Sec     float64   // from the spool's time 0
	AlongMM []float64 // on the roll of each piano
}

// Bar is where a bar of the piece begins, from the spool's time 0.
type Bar struct {
	Number int // 0: the upbeat
	Sec    float64
}

// Cues are the start mark, then a cue each CueMM of the first roll, at the same
// instants on all. The rolls are those of one spool. Where the piece has bars, which come in
// their order, each cue stands at the next bar line and names its bar.
func (p Pair) Cues(rolls []*roll.Roll, bars ...Bar) []Cue {
	if len(rolls) == 0 {
		return nil
	}
	at := func(name string, sec float64) Cue {
		c := Cue{Name: name, Sec: sec}
		for _, r := range rolls {
			c.AlongMM = append(c.AlongMM, r.Instrument.Transport.AlongMM(sec))
		}
		return c
	}
	cues := []Cue{at("start mark", -cmpOr(p.StartSec, startMarkSec))}
	if p.CueMM <= 0 {
		return cues
	}
	end := 0.0
	for _, r := range rolls {
		end = max(end, r.EndSec)
	}
	for n := 1; n <= mostCues; n++ {
		sec := rolls[0].Instrument.Transport.Sec(float64(n) * p.CueMM)
		for len(bars) > 0 && (bars[0].Sec < sec-sameSec || bars[0].Number == 0) {
			bars = bars[1:]
		}
		name := fmt.Sprintf("cue %d", len(cues))
		if len(bars) > 0 && sec < end {
			sec = bars[0].Sec
			name += fmt.Sprintf(", bar %d", bars[0].Number)
			bars = bars[1:]
		}
		if sec >= end {
			break
		}
		if sec > cues[len(cues)-1].Sec+sameSec { // a bar may be longer than from cue to cue
			cues = append(cues, at(name, sec))
		}
	}
	return cues
}

// sameSec is how far apart two instants may be that are one: far less than a row of paper.
const sameSec = 1e-6

// mostCues is more marks than anyone watches for.
const mostCues = 2000

// Meeting is a rest in which players who have drifted apart may wait for each
// other.
type Meeting struct {
	Rest
	SinceSec float64 // since they were last together
	DriftSec float64 // how far apart they may be by then
}

// Meetings are the rests that hold the drift that may have come up since the
// last of them, with some time to spare. Times count from the beginning of the
// piece, and all pianos are together there.
func (p Pair) Meetings(rests []Rest) []Meeting {
	var out []Meeting
	last := 0.0
	for _, r := range rests {
		drift := math.Abs(p.DriftSec(r.FromSec - last))
		if r.Sec() >= drift+meetSec {
			out = append(out, Meeting{r, r.FromSec - last, drift})
			last = r.ToSec
		}
	}
	return out
}
