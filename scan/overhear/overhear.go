// Package overhear aligns a recording of a roll with the roll, and finds the
// transport, the delay by region of keys, and which strokes sounded.
//
// Its input is a roll.Roll and a take.Take, its output a Result. Times are
// seconds of the take, lengths millimetres of paper, in float64. A stated range is
// a 95 % range; a certainty is a probability that held in simulated recordings
// (docs/listening.md). An absolute delay cannot be told from where row 0 lies,
// and is not claimed.
package overhear

import (
	"context"
	"errors"
	"math"

	"rollwright/paper/roll"
	"rollwright/sound/take"
)

// Result is what a take tells of a roll.
type Result struct {
	Roll    *roll.Roll
	TakeSec float64
	Cents   float64 // by which the piano stands above A4 = 440 Hz

	list []stroke
	fit  *fitted
}

// The reasons why a take tells nothing. They are whole sentences but for the
// take's name.
var (
	ErrSilence = errors.New("the recording is silent: nothing in it is louder than its own noise")
	ErrShort   = errors.New("the recording is shorter than 3 s, which is too little to find a place in the roll")
	ErrFew     = errors.New("the roll has fewer than 12 notes, too few to find in a recording")
	ErrOther   = errors.New("the recording does not hold this roll: its notes do not begin where the roll's holes are, at any speed from 0.7 to 1.4 of the plan's; it is another piece, or noise")
)

// leastAgreement is how far the strokes found must stand out from chance.
const leastAgreement = 3.5

// Hear listens to t as a recording of r.
func Hear(ctx context.Context, r *roll.Roll, t *take.Take) (*Result, error) {
	return HearTold(ctx, r, t, func(float64) {})
}

// HearTold is Hear, and tells now and then what share of it, 0 to 1, is done.
func HearTold(ctx context.Context, r *roll.Roll, t *take.Take, told func(share float64)) (*Result, error) {
	list, endMM := strokesOf(r)
	if len(list) < 12 {
		return nil, ErrFew
	}
	if t.Sec() < 3 {
		return nil, ErrShort
	}
	if silent(t) {
		return nil, ErrSilence
	}
	e := &engine{ctx: ctx, told: told, take: t, list: list, plan: curveOf(r.Instrument.Transport, endMM)}
	if err := e.find(); err != nil {
		return nil, err
	}
	if err := e.measure(); err != nil {
		return nil, err
	}
	if !e.most() {
		return nil, ErrOther
	}
	return &Result{Roll: r, TakeSec: t.Sec(), Cents: e.cents, list: e.list, fit: e.fit}, nil
}

// most reports whether at least half of the strokes that lie in the take sounded.
// Of another piece, laid on the take where it fits best, four in ten do at most.
func (e *engine) most() bool {
	heard, count := 0, 0
	for i := range e.list {
		if s := &e.list[i]; s.inTake {
			count++
			if s.verdict() == Sounded {
				heard++
			}
		}
	}
	return count >= 12 && 2*heard >= count
}

// silent reports whether t holds nothing but the last bits of a converter.
func silent(t *take.Take) bool {
	for _, x := range t.Samples {
		if x > 2e-4 || x < -2e-4 {
			return false
		}
	}
	return true
}

// engine is a take on its way to a result.
type engine struct {
	ctx   context.Context
	told  func(share float64)
	take  *take.Take
	list  []stroke
	plan  curve
	cents float64
	bank  *bank
	floor []float32 // of bins, as amplitude
	curve curve
	fit   *fitted
	ev    []evidence
	voice [moments]*voices
	faint [128]float64 // by how many decibels a key lies below its neighbours
}

// find places the roll in the take: at the tuning that is heard, else a semitone
// lower or higher, for old pianos are tuned down.
func (e *engine) find() error {
	var used [128]bool
	for i := range e.list {
		used[e.list[i].key] = true
	}
	spectra := newSpectra(e.take)
	cents, strength := spectra.tuning()
	if strength < 0.1 {
		cents = 0
	}
	best := 0.0
	for i, shift := range [3]float64{0, -100, 100} {
		e.told(0.1 + 0.1*float64(i)) // mostly the first is it
		b := newBank(ratioOf(cents+shift), e.take.Rate)
		n := newNovelty(e.take, b, &used)
		if err := e.ctx.Err(); err != nil {
			return err
		}
		c, fit := e.best(n)
		if fit > best {
			best = fit
			e.curve, e.bank, e.cents = c, b, cents+shift
			e.place(n)
		}
		if fit >= leastAgreement {
			break
		}
	}
	if best < leastAgreement {
		return ErrOther
	}
	return nil
}

// best is the curve that grows from the best of the anchors.
func (e *engine) best(n *novelty) (curve, float64) {
	c := n.coarse()
	var out curve
	var fit, most float64
	for _, part := range stretches(e.list) {
		for i, a := range c.anchors(e.list, part[0], part[1]) {
			if i >= 2 || a.fit < 5 {
				break
			}
			grown := n.grown(e.list, e.plan, a, e.take.Sec())
			f, count := n.agreement(e.list, &grown, e.take.Sec())
			if excess := f * math.Sqrt(float64(count)); excess > most {
				out, fit, most = grown, f, excess
			}
		}
	}
	return out, fit
}

// place puts every stroke where the curve and the warp around it have it.
func (e *engine) place(n *novelty) {
	w := n.newWarp(e.list, &e.curve)
	for i := range e.list {
		sec := e.curve.sec(e.list[i].rowMM)
		e.list[i].near = sec + w.at(sec)
	}
}

// measure finds the onsets, the transport, and the verdicts.
func (e *engine) measure() error {
	spectra := newSpectra(e.take)
	e.floor = spectra.floors(0.25)
	sum := 0.0
	for _, w := range spectra.wave {
		sum += w
	}
	for k := range e.floor {
		e.floor[k] /= float32(sum)
	}
	m := &meter{take: e.take, bank: e.bank, list: e.list, floor: func(hz float64) float64 {
		k := min(int(math.Round(hz/spectra.hz(1))), len(e.floor)-1)
		return float64(e.floor[k])
	}}
	for round := range 2 {
		e.told(0.4 + 0.2*float64(round))
		if err := e.onsets(m); err != nil {
			return err
		}
		f, ok := fit(e.list, e.curve)
		if !ok {
			return ErrOther
		}
		e.fit, e.curve = f, f.curve
		if round == 0 {
			e.replace()
		}
	}
	e.replace()
	e.told(0.8)
	return e.judge(m)
}

// riseSec is how long after its beginning a key's rise is steepest, as it is seen:
// measured on a sampled piano whose notes begin where they are asked to, in rooms.
// Low tones swell, high ones have begun to fall when they are seen whole.
func riseSec(key int) float64 {
	return min(max(0.0052-0.000135*float64(key-45), -0.0015), 0.007)
}

func (e *engine) onsets(m *meter) error {
	for i := range e.list {
		s := &e.list[i]
		s.inTake = s.near > 0.05 && s.near < e.take.Sec()-0.08
		s.heard, s.rise = math.NaN(), 0
		if !s.inTake {
			continue
		}
		if i%256 == 0 && e.ctx.Err() != nil {
			return e.ctx.Err()
		}
		late := riseSec(s.key)
		s.heard, s.rise = m.onset(i, s.near+late, m.gate(i))
		s.heard -= late
	}
	return nil
}

// replace puts every stroke where the fit has it, moved as the strokes around it
// were heard to be.
func (e *engine) replace() {
	offs := make([]float64, len(e.list))
	for i := range e.list {
		s := &e.list[i]
		offs[i] = s.heard - e.curve.sec(s.rowMM) - e.fit.delayOf(s.key)
	}
	near := make([]float64, len(e.list))
	for i := range e.list {
		s := &e.list[i]
		near[i] = e.curve.sec(s.rowMM) + e.fit.delayOf(s.key) + e.local(offs, i)
	}
	for i := range e.list {
		e.list[i].near = near[i]
	}
}

// local is by how much the strokes within 1.5 s of stroke i were heard later than
// the fit has them, drawn towards 0 where they are few.
func (e *engine) local(offs []float64, i int) float64 {
	const reach, prior = 1.5, 3
	sum, weight := 0.0, float64(prior)
	at := e.curve.sec(e.list[i].rowMM)
	for _, way := range [2]int{-1, 1} {
		j := i
		if way == 1 {
			j++
		}
		for ; j >= 0 && j < len(e.list); j += way {
			far := math.Abs(e.curve.sec(e.list[j].rowMM)-at) / reach
			if far > 1 {
				break
			}
			if w := e.list[j].weigh * (1 - far*far); w > 0 && j != i {
				sum, weight = sum+w*offs[j], weight+w
			}
		}
	}
	return sum / weight
}

// judge decides of every stroke in the take whether it sounded.
func (e *engine) judge(m *meter) error {
	e.ev = make([]evidence, len(e.list))
	for i := range e.list {
		s := &e.list[i]
		if !s.inTake {
			continue
		}
		if i%256 == 0 && e.ctx.Err() != nil {
			return e.ctx.Err()
		}
		e.ev[i] = m.look(i, s.near)
		s.sounded = 0.95
	}
	for at := range moments {
		e.voice[at] = m.learn(e.ev, at)
	}
	m.brought, e.faint = m.learnBrought(), m.faint
	for range 3 {
		for i := range e.list {
			if s := &e.list[i]; s.inTake {
				for at := range moments {
					var clear int
					s.odds[at], s.could[at], clear = m.weight(i, s.near, &e.ev[i], at, e.voice[at])
					if clear >= 0 { // later where it can be heard, when knocks are gone
						s.clear = clear
					}
				}
			}
		}
		e.settle()
	}
	return nil
}
