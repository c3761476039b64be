package workshop

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"rollwright/exact"
	"rollwright/making/bench"
	"rollwright/making/price"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/lay"
	"rollwright/sound"
)

// Bounds of trying shorter holds, each of which performs the piece and orders its
// rows once more.
const (
	mostPriced   = 8         // voices
	pricedEvents = 1_000_000 // of all tries together
)

// Price is what the voices, holds and gestures of a piece cost at the bench that m
// names, what is held unheard, what shorter holds would save. Whoever has a journal
// at that bench is reckoned with the pace that it knows.
func (j *Job) Price(ctx context.Context, m *Making) (*price.Bill, error) {
	if err := j.has(NeedsPiece, "the price of voices and holds"); err != nil {
		return nil, err
	}
	plans, err := j.benchPlans(m)
	if err != nil {
		return nil, err
	}
	p, err := j.Profile(m)
	if err != nil {
		return nil, err
	}
	pace, known := j.knownPace(p)
	bill := price.Of(j.Performance, plans, pace)
	bill.Bench, bill.Assumed = p.Name, !known
	rolls, err := j.Rolls()
	if err != nil {
		return nil, err
	}
	bill.Unheard = price.CountUnheard(j.Performance, rolls, j.sinks())
	return bill, j.savings(ctx, bill, m)
}

// benchPlans are the plans of all rolls.
func (j *Job) benchPlans(m *Making) ([]*bench.Plan, error) {
	e, err := j.Edition("", m)
	if err != nil {
		return nil, err
	}
	var out []*bench.Plan
	for _, r := range e.Rolls {
		plan, err := j.BenchPlan(r, m)
		if err != nil {
			return nil, err
		}
		out = append(out, plan)
	}
	return out, nil
}

// knownPace is the pace of a person at a bench, by the journals beside the piece,
// else the one that the bench assumes.
func (j *Job) knownPace(p *bench.Profile) (pace bench.Pace, known bool) {
	at, _ := j.AtBench() // a journal that cannot be read is told by those who work on it
	for _, a := range at {
		if a.State.Head.Bench != j.within(p.Name) {
			continue
		}
		if pace := a.State.Pace(p.Pace); pace.Known() {
			return pace, true
		}
	}
	return p.Pace, false
}

// sinks tells after how many seconds the notes of keys have sunk, each reckoned
// once.
func (j *Job) sinks() func(piano, key int) (float64, bool) {
	type note struct {
		hammers string
		key     int
	}
	known := map[note]float64{}
	return func(piano, key int) (float64, bool) {
		id := note{j.Pianos[piano].Hammers, key}
		sec, ok := known[id]
		if !ok {
			h, err := sound.ParseHammers(id.hammers)
			if err == nil {
				sec, err = sound.SinkSec(key, h)
			}
			if err != nil {
				sec = math.Inf(1)
			}
			known[id] = sec
		}
		return sec, !math.IsInf(sec, 1)
	}
}

// savings tries shorter holds, of the voices that cost most and of all together.
func (j *Job) savings(ctx context.Context, bill *price.Bill, m *Making) error {
	left := pricedEvents / max(j.Performance.Count, 1)
	order := slices.Clone(bill.Voices)
	slices.SortStableFunc(order, func(a, b price.Voice) int { return -cmp.Compare(a.WorkSec, b.WorkSec) })
	tried := map[string]bool{}
	for _, v := range order[:min(len(order), mostPriced)] {
		tried[v.Name] = true
	}
	bill.Untried = len(bill.Voices) - len(tried)
	if len(bill.Voices) > 1 {
		all := make([]int, len(j.Piece.Voices))
		for i := range all {
			all[i] = i
		}
		if err := j.saving(ctx, bill, m, "", all, &left); err != nil {
			return err
		}
	}
	for i := range j.Piece.Voices {
		name := j.Piece.Voices[i].Name
		if !tried[name] {
			continue
		}
		if err := j.saving(ctx, bill, m, name, []int{i}, &left); err != nil {
			return err
		}
	}
	return nil
}

// saving tries what may be shorter in some voices.
func (j *Job) saving(ctx context.Context, bill *price.Bill, m *Making, name string, voices []int, left *int) error {
	for _, hold := range j.shorter(bill, name, voices) {
		if *left--; *left < 0 {
			return nil
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		changed := *j.Piece
		changed.Voices = slices.Clone(changed.Voices)
		for _, v := range voices {
			changed.Voices[v].Hold = hold
		}
		other, err := j.with(&changed)
		if err != nil {
			continue // the piece has no such performance: nothing to promise
		}
		plans, err := other.benchPlans(m)
		if err != nil {
			return err
		}
		cost := price.Of(other.Performance, plans, bill.Pace).Whole
		if less := bill.Whole.Beyond(cost); less.WorkSec > 0 {
			bill.Savings = append(bill.Savings, price.Saving{Voice: name, Hold: holdValue(hold), Cost: less})
		}
	}
	return nil
}

// shorter are holds to try: a half of what voices have, single punches, and no
// longer than their notes are heard.
func (j *Job) shorter(bill *price.Bill, name string, voices []int) [][]piece.Hold {
	now := j.Piece.Voices[voices[0]].Hold
	same, single, full := true, true, true
	for _, v := range voices {
		for _, h := range j.Piece.Voices[v].Hold {
			single = single && h.Kind == piece.HoldSingle
			full = full && h.Kind == piece.HoldShare && h.Share.Float64() >= 1
		}
		same = same && piecefile.HoldText(j.Piece.Voices[v].Hold) == piecefile.HoldText(now)
	}
	if single {
		return nil
	}
	var out [][]piece.Hold
	for _, u := range bill.Unheard {
		sec, err := exact.ParseRat(fmt.Sprintf("%.2f", math.Ceil(100*u.LeastSec-1e-9)/100))
		if err == nil && u.Voice == name && full {
			out = append(out, []piece.Hold{{Kind: piece.HoldTime, Sec: sec}})
		}
	}
	if half, ok := halved(now); ok && same {
		out = append(out, half)
	}
	return append(out, []piece.Hold{{Kind: piece.HoldSingle}})
}

// halved is a cycle of holds half as long, shares to a hundredth and times to a
// millisecond; false where nothing of one would be left.
func halved(holds []piece.Hold) ([]piece.Hold, bool) {
	out := slices.Clone(holds)
	for i, h := range holds {
		switch h.Kind {
		case piece.HoldShare:
			share, err := exact.Parse(fmt.Sprintf("%.2f", math.Floor(50*h.Share.Float64()+1e-9)/100))
			if err != nil || share.Float64() <= 0 {
				return nil, false
			}
			out[i].Share = share
		case piece.HoldTime:
			sec, err := exact.ParseRat(fmt.Sprintf("%.3f", math.Floor(500*h.Sec.Float64()+1e-9)/1000))
			if err != nil || sec.Sign() <= 0 {
				return nil, false
			}
			out[i].Sec = sec
		}
	}
	return out, true
}

// holdValue is holds as they have to stand behind hold =.
func holdValue(holds []piece.Hold) string {
	if len(holds) == 1 && holds[0].Kind == piece.HoldShare {
		return piecefile.HoldText(holds)
	}
	return `"` + piecefile.HoldText(holds) + `"`
}

// with is the job of a piece that differs from this one in its numbers alone.
func (j *Job) with(p *piece.Piece) (*Job, error) {
	other := *j
	f, err := perform.New(p, lay.Limits(j.Instruments))
	if err != nil {
		return nil, err
	}
	other.Piece, other.Performance, other.Pianos = f.Piece, f, nil
	other.perform()
	return &other, nil
}
