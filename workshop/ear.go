package workshop

import (
	"slices"

	"rollwright/exact"
	"rollwright/music/ear"
	"rollwright/music/perform"
	"rollwright/music/plan"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
)

// Ear is what a listener can follow of the notes, by the given thresholds.
func (j *Job) Ear(t ear.Thresholds) *ear.Report {
	r := ear.Listen(j.Events(), j.Voices, t)
	if j.Piece == nil {
		return r
	}
	for i := range j.Plan().Pairs {
		if p := &j.Plan().Pairs[i]; p.Ratio != nil && t.OneTempo(p.Ratio.Decimal) {
			share := max(p.Ratio.Decimal, 1/p.Ratio.Decimal) - 1
			r.Tempos = append(r.Tempos, ear.Tempos{A: p.A, B: p.B, Share: share})
		}
	}
	return r
}

// mostTried bounds the speeds that are tried: each is a performance of the piece.
const mostTried = 24

// NearSpeeds tries, for the voices of canons that meet once at a ratio without a
// common measure, the simple ratios near to it: when each is heard apart, and how
// many holes of the roll it would move. A hole counts as moved when one of its
// edges lies farther than a twentieth of a millimetre from where it was, or on
// another row.
func (j *Job) NearSpeeds(t ear.Thresholds) []ear.Near {
	if j.Piece == nil || j.Performance.Count > triedEvents {
		return nil
	}
	var out []ear.Near
	for i := range j.Plan().Pairs {
		p := &j.Plan().Pairs[i]
		if p.Canon == "" || p.Ratio == nil || p.Commensurable != "no" || p.Meetings.First == nil {
			continue
		}
		for _, value := range p.Convergents {
			if n, ok := j.nearSpeed(p, value, &t); ok && len(out) < mostTried {
				out = append(out, n)
			}
		}
	}
	return out
}

func (j *Job) nearSpeed(p *plan.Pair, value string, t *ear.Thresholds) (ear.Near, bool) {
	a, b := slices.Index(j.Voices, p.A), slices.Index(j.Voices, p.B)
	other, err := exact.Parse(value)
	if err != nil || a < 0 || b < 0 || j.Piece.Voices[b].Lasts.Set || len(j.Piece.Voices[b].Path) > 0 {
		return ear.Near{}, false
	}
	moved, of, ok := j.moved(b, j.Piece.Voices[b].Speed.Mul(other.Quo(j.ratio(a, b))))
	if !ok {
		return ear.Near{}, false
	}
	n := ear.Near{A: p.A, B: p.B, Value: value, In: p.Ratio.Exact, Slots: moved, Of: of}
	v := j.Plan().Voices[b]
	n.BeforeSec, n.AfterSec = t.HeardApart(other.Float64()/p.Ratio.Decimal, p.Meetings.First.At.Decimal, float64(v.First),
		float64(v.Last))
	return n, true
}

// ratio is the units that b plays while a plays one.
func (j *Job) ratio(a, b int) exact.Real {
	return j.secPerUnit(a).Quo(j.secPerUnit(b))
}

func (j *Job) secPerUnit(voice int) exact.Real {
	sec, _ := j.Performance.Lines[voice].SecondsPerUnit()
	return sec
}

// moved is how many slots of a voice lie elsewhere when it has another speed, and
// how many it has.
func (j *Job) moved(voice int, speed exact.Real) (moved, of int, ok bool) {
	changed := *j.Piece
	changed.Voices = slices.Clone(changed.Voices)
	changed.Voices[voice].Speed = speed
	f, err := perform.New(&changed, lay.Limits(j.Instruments))
	if err != nil {
		return 0, 0, false
	}
	after, err := lay.Of(f, j.Instruments)
	if err != nil {
		return 0, 0, false
	}
	before, err := j.Rolls()
	if err != nil {
		return 0, 0, false
	}
	piano := j.Piece.Voices[voice].Piano
	was, is := slotsOf(before[piano], voice), slotsOf(after[piano], voice)
	for cause, s := range was {
		if o, there := is[cause]; !there || apart(s.LeadMM, o.LeadMM) || apart(s.TrailMM, o.TrailMM) {
			moved++
		}
	}
	return moved, len(was), true
}

// elsewhereMM is how far an edge may move before the hole lies elsewhere: half of
// what a careful hand places.
const elsewhereMM = 0.05

func apart(a, b float64) bool { return a-b > elsewhereMM || b-a > elsewhereMM }

// struck is one stroke of a voice on a port.
type struck struct {
	port, note int32
}

// slotsOf are the slots that a voice causes.
func slotsOf(r *roll.Roll, voice int) map[struck]*roll.Slot {
	out := map[struck]*roll.Slot{}
	for i := range r.Slots {
		for c := range r.Slots[i].Causes.All() {
			if int(c.Voice) == voice && r.Instrument.Bar.Ports[r.Slots[i].Port].Key > 0 {
				out[struck{r.Slots[i].Port, c.Note}] = &r.Slots[i]
			}
		}
	}
	return out
}
