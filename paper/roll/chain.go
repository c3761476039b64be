package roll

import (
	"iter"
	"math"
	"slices"

	"rollwright/paper/instrument"
)

// NoiseMM is a length that only arithmetic can have made: far above the error
// of float64 on the longest roll, far below anything a punch can do.
const NoiseMM = 1e-7

// Die is the arithmetic of one punch: where it can stand and how its holes
// follow each other. Places are counted in units of the perforator's step, or
// of a millimetre when it is continuous.
type Die struct {
	unitMM     float64
	diameterMM float64
	stepped    bool
	bridged    bool
	slot       float64 // between centres in an open slot; whole when stepped
	bridge     float64 // between centres over thin webs; whole when stepped
	open       float64 // from the first centre to the last of the open beginning; whole when stepped
	lastWeb    float64 // the least distance of two centres that leaves a web between them
	noise      float64 // NoiseMM
}

// NewDie is the die of an instrument with its step and chain.
func NewDie(in *instrument.Instrument) Die {
	d := in.Die.DiameterMM
	out := Die{
		unitMM:     1,
		diameterMM: d,
		stepped:    in.StepMM > 0,
		bridged:    in.Chain.Bridged,
		slot:       in.Chain.SlotSpacingMM,
		bridge:     in.Chain.BridgeSpacingMM,
		open:       max(in.Chain.OpenFirstMM-d, 0),
		lastWeb:    d + in.Chain.WebMinMM,
		noise:      NoiseMM,
	}
	if out.stepped {
		q := in.StepMM
		out.unitMM, out.lastWeb, out.noise = q, out.lastWeb/q, NoiseMM/q
		out.slot = float64(max(rowBefore(out.slot, q), 1))
		out.bridge = float64(max(rowBefore(out.bridge, q), 1))
		out.open = float64(rowBefore(out.open, q))
	}
	return out
}

// nearestRow is the row of step q nearest to mm; halfway it is the later one.
func nearestRow(mm, q float64) int64 {
	return int64(math.Floor((mm+NoiseMM)/q + 0.5))
}

// rowBefore is the last row of step q that is not beyond mm.
func rowBefore(mm, q float64) int64 {
	return int64(math.Floor((mm + NoiseMM) / q))
}

// Centre is where the die can stand nearest to mm.
func (d *Die) Centre(mm float64) float64 {
	if !d.stepped {
		return mm
	}
	return float64(nearestRow(mm, d.unitMM)) * d.unitMM
}

// CentreBefore is where the die can stand last without being beyond mm, which
// may be infinite.
func (d *Die) CentreBefore(mm float64) float64 {
	if !d.stepped || math.IsInf(mm, 1) {
		return mm
	}
	return float64(rowBefore(mm, d.unitMM)) * d.unitMM
}

// chain is the punches of one slot: the first, then up to three runs.
type chain struct {
	first float64
	runs  [3]run
}

// run is n punches after from, stride apart, the last of them at to.
type run struct {
	n                int
	from, stride, to float64
}

// chain plans the punches between the centres firstMM and lastMM, which are
// rows when the die is stepped. Bridged, it begins with an open slot, goes on
// over thin webs and ends so that never a sliver of paper stays.
func (d *Die) chain(firstMM, lastMM float64) chain {
	first, last := firstMM, lastMM
	if d.stepped {
		first, last = math.Round(firstMM/d.unitMM), math.Round(lastMM/d.unitMM)
	}
	c := chain{first: first}
	if !d.bridged {
		c.runs[0] = d.openRun(first, last)
		return c
	}
	mid := min(first+d.open, last)
	c.runs[0] = d.openRun(first, mid)
	webs := math.Floor((last - mid + d.noise) / d.bridge)
	c.runs[1] = run{int(webs), mid, d.bridge, mid + webs*d.bridge}
	if rest := last - c.runs[1].to; rest >= d.lastWeb-d.noise {
		c.runs[2] = run{1, c.runs[1].to, rest, last}
	} else {
		c.runs[2] = d.openRun(c.runs[1].to, last)
	}
	return c
}

// openRun is overlapping punches after from, the last of them at to: equal
// spaces when continuous, else so many rows each and what is left.
func (d *Die) openRun(from, to float64) run {
	length := to - from
	if length <= d.noise {
		return run{}
	}
	n := math.Ceil((length - d.noise) / d.slot)
	if d.stepped {
		return run{int(n), from, d.slot, to}
	}
	return run{int(n), from, length / n, to}
}

// Count is how many punches stand from firstMM to lastMM, which are places where
// the die can stand.
func (d *Die) Count(firstMM, lastMM float64) int32 {
	c := d.chain(firstMM, lastMM)
	return int32(c.punches())
}

func (c *chain) punches() int {
	return 1 + c.runs[0].n + c.runs[1].n + c.runs[2].n
}

// Punches are the centres of a slot's punches along the paper in millimetres,
// in order: the first is s.FirstMM and there are s.Punches of them. They are
// worked out as they are asked for.
func (r *Roll) Punches(s *Slot) iter.Seq[float64] {
	if s.Own != nil {
		return slices.Values(s.Own)
	}
	return func(yield func(float64) bool) {
		d := NewDie(r.Instrument)
		c := d.chain(s.FirstMM, s.LastMM)
		if !yield(c.first * d.unitMM) {
			return
		}
		for _, run := range c.runs {
			for i := 1; i <= run.n; i++ {
				at := run.from + float64(i)*run.stride
				if i == run.n {
					at = run.to
				}
				if !yield(at * d.unitMM) {
					return
				}
			}
		}
	}
}

// LongestOpenMM is the longest stretch of the slot, from edge to edge, that no
// web of paper crosses. It costs no walk over the punches.
func (r *Roll) LongestOpenMM(s *Slot) float64 {
	if s.Own != nil {
		return r.longestOwn(s)
	}
	d := NewDie(r.Instrument)
	if !d.bridged || d.bridge*d.unitMM <= d.diameterMM {
		return s.TrailMM - s.LeadMM
	}
	c := d.chain(s.FirstMM, s.LastMM)
	begin := 0.0
	if c.runs[0].n > 0 {
		begin = c.runs[0].to - c.first
	}
	end := 0.0
	if tail := c.runs[2]; tail.n > 0 && tail.stride*d.unitMM < d.diameterMM {
		end = tail.to - tail.from
	}
	if c.runs[1].n == 0 {
		return (begin+end)*d.unitMM + d.diameterMM
	}
	return max(begin, end)*d.unitMM + d.diameterMM
}

// longestOwn is LongestOpenMM of a slot whose punches a bench has arranged.
func (r *Roll) longestOwn(s *Slot) float64 {
	longest := 0.0
	for o := range r.Openings(s) {
		longest = max(longest, o.LastMM-o.FirstMM)
	}
	return longest + r.Instrument.Die.DiameterMM
}
