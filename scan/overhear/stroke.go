package overhear

import (
	"cmp"
	"math"
	"slices"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// stroke is a slot of a note port on its way to a verdict.
type stroke struct {
	slot  int // index into Roll.Slots
	key   int
	rowMM float64 // that lies on the middle of the port when it opens
	level int
	plan  float64 // s, when the plan's transport opens the port: row 0 at 0
	long  float64 // s, how long the port is open by the plan
	short bool    // the port is open for less than the action asks

	near  float64          // s of the take, where the warp has it
	heard float64          // s of the take, when the sound begins to rise; NaN where nothing rises
	rise  float64          // how much the rise stands out, in scatters of what no stroke gives
	odds  [moments]float64 // log of how much better what is heard agrees with a sound than with none
	weigh float64          // in the fit, 0 to 1

	inTake  bool
	could   [moments]float64 // what odds would be of a sound that comes in as its key mostly does
	clear   int              // partials that nothing but this key explains
	sounded float64          // probability
	dead    float64          // probability that its key is dead
}

// strokesOf are the note slots of r in order of time.
func strokesOf(r *roll.Roll) (list []stroke, endMM float64) {
	in := r.Instrument
	edge := in.EdgeShiftMM()
	for p := range r.Played() {
		s := &r.Slots[p.Slot]
		row := s.LeadMM + edge
		list = append(list, stroke{
			slot: p.Slot, key: in.Bar.Ports[s.Port].Key, rowMM: row, level: p.Level, short: !p.Sounds,
			plan: in.Transport.Sec(row), long: p.EndSec - p.StartSec, heard: math.NaN(),
		})
		endMM = max(endMM, s.TrailMM)
	}
	slices.SortStableFunc(list, func(a, b stroke) int { return cmp.Compare(a.rowMM, b.rowMM) })
	return list, endMM
}

// curve is when rows lie on the bar, in seconds of the take: a place in time, the
// speed at row 0, and a slowing that runs straight along the paper; the build-up
// is the plan's.
type curve struct {
	begin   float64 // s of the take, at row 0
	speed   float64 // mm/s at row 0
	slowing float64 // share from row 0 to endMM
	grow    float64 // of the square of the spool's radius, a millimetre of paper: r^2 = r0^2 (1 + grow s)
	endMM   float64
}

// curveOf is the plan's own.
func curveOf(t instrument.Transport, endMM float64) curve {
	c := curve{speed: t.SpeedMMPerSec(), endMM: max(endMM, 1)}
	if t.Spool && t.RadiusMM > 0 {
		c.grow = t.ThicknessMM / (math.Pi * t.RadiusMM * t.RadiusMM) // paper of length s fills h s of the spool's face
	}
	c.slowing = t.SlowingPerMM * c.endMM
	return c
}

// sec is when a row lies on the bar. The integral of 1/v over the paper, with v =
// speed * sqrt(1 + grow s) * (1 - slowing s/end), is taken by Gauss and Legendre's
// rule of five points on each half: its error on a roll of 100 m that slows by a
// tenth is below a microsecond.
func (c *curve) sec(mm float64) float64 {
	return c.begin + c.unit(mm)/c.speed
}

// unit is the paper that a constant speed would have moved in the time to row mm.
func (c *curve) unit(mm float64) float64 {
	if c.grow == 0 && c.slowing == 0 {
		return mm
	}
	sum := 0.0
	const parts = 2
	for p := range parts {
		half := mm / (2 * parts)
		mid := half * float64(2*p+1)
		for i, x := range legendreX {
			s := mid + half*x
			sum += half * legendreW[i] / (math.Sqrt(max(1+c.grow*s, 0.05)) * max(1-c.slowing*s/c.endMM, 0.05))
		}
	}
	return sum
}

// Points and weights of Gauss and Legendre's rule of five points (NIST Digital
// Library of Mathematical Functions, table 3.5.2).
var (
	legendreX = [...]float64{-0.906179845938664, -0.538469310105683, 0, 0.538469310105683, 0.906179845938664}
	legendreW = [...]float64{0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366, 0.236926885056189}
)
