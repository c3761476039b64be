package overhear

import (
	"cmp"
	"math"
	"slices"
)

// moment is when after a stroke its tone is looked at. Soon, all that a stroke brings is
// there; later, the knock and what the beginning of a tone spreads beside it are gone
// and the tone is left, which tells a key from another that is struck with it.
type moment int

const (
	soon moment = iota
	later
	moments
)

// laterSec is how long after a stroke the later moment begins.
const laterSec = 0.06

// evidence is what a stroke's partials did, in power.
type evidence struct {
	before []float64          // a partial each, just before
	after  [moments][]float64 // NaN: not to be told, another stroke comes or the key is let go
	alone  []bool             // no other stroke near in time has a partial there
}

// look measures the partials of stroke i around the time at which it sounds, or
// should.
func (m *meter) look(i int, sec float64) evidence {
	partials := m.bank[m.list[i].key]
	n := len(partials)
	e := evidence{make([]float64, n), [moments][]float64{make([]float64, n), make([]float64, n)}, make([]bool, n)}
	free := m.free(i)
	var a []float64
	for k, p := range partials {
		half := smoothSec(p.hz) / 2
		steps := int((2*half+0.026)/stepSec) + 1
		a = m.strengths(p.hz, sec-half-0.008, steps, a)
		e.before[k] = meanPower(a[:4])
		e.after[soon][k] = meanPower(a[len(a)-9:])
		floor := m.floor(p.hz)
		e.before[k] = max(e.before[k], floor*floor)
		e.after[later][k] = math.NaN()
		if sec+laterSec+2*half+0.016 < free {
			e.after[later][k] = meanPower(m.strengths(p.hz, sec+laterSec+half, 9, a))
		}
		e.alone[k] = !m.crowded(i, p.hz)
	}
	return e
}

// atOnceSec is how far apart strokes begin that are struck at once.
const atOnceSec = 0.03

// free is until when stroke i goes on and no later one begins.
func (m *meter) free(i int) float64 {
	s := &m.list[i]
	until := s.near + 0.9*s.long
	for j := i + 1; j < len(m.list) && m.list[j].near < until+atOnceSec; j++ {
		if late := m.list[j].near; late > s.near+atOnceSec {
			until = min(until, late)
		}
	}
	return until
}

func meanPower(a []float64) float64 {
	sum := 0.0
	for _, x := range a {
		sum += x * x
	}
	return sum / float64(len(a))
}

// voice is how strong each partial of a key comes in: power in decibels.
type voice []float64

// voices are of every key that the roll strikes.
type voices [128]voice

// learn finds the voices from the strokes: the median over a key's strokes, drawn
// towards its neighbours' when strokes are few, and its neighbours' alone where
// the key is far below them, as a dead one is.
func (m *meter) learn(ev []evidence, at moment) *voices {
	var gains [128][][]float64
	for i := range m.list {
		s := &m.list[i]
		if !s.inTake {
			continue
		}
		if gains[s.key] == nil {
			gains[s.key] = make([][]float64, len(m.bank[s.key]))
		}
		for k, after := range ev[i].after[at] {
			if ev[i].alone[k] && !math.IsNaN(after) {
				gains[s.key][k] = append(gains[s.key][k], decibels(max(after-ev[i].before[k], ev[i].before[k]/10)))
			}
		}
	}
	var own voices
	for key := range gains {
		if gains[key] == nil {
			continue
		}
		own[key] = make(voice, len(gains[key]))
		for k, g := range gains[key] {
			own[key][k] = median(g)
		}
	}
	return m.drawn(&own, &gains, at)
}

func decibels(power float64) float64 { return 10 * math.Log10(max(power, 1e-20)) }

// median is NaN of nothing.
func median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	slices.Sort(x)
	return x[len(x)/2]
}

// deadBelow is how many decibels below its neighbours a key is not believed to
// sound at all; deadHigh is the same of the highest, of which two partials are heard
// and whose neighbours are all lower and louder.
const (
	deadBelow = 9.0
	deadHigh  = 15.0
)

// drawn is own, drawn towards the neighbours'.
func (m *meter) drawn(own *voices, gains *[128][][]float64, at moment) *voices {
	var out voices
	rise := risesOf(m.list)
	for key := range own {
		if gains[key] == nil {
			continue
		}
		near := m.neighbours(own, gains, key)
		least := deadBelow
		if len(near) < 3 {
			least = deadHigh
		}
		far := max(below(own[key], near, math.Inf(1)), below(own[key], near, strongWithin))
		m.faint[key] = max(m.faint[key], far)
		weak := rise[key] < clearRise && far > least
		out[key] = make(voice, len(own[key]))
		for k, x := range own[key] {
			count := float64(len(gains[key][k]))
			switch {
			case math.IsNaN(near[k]):
				out[key][k] = x
			case math.IsNaN(x), weak:
				out[key][k] = near[k]
			default:
				out[key][k] = near[k] + (x-near[k])*count/(count+2)
			}
		}
	}
	return &out
}

// strongWithin is how many decibels below the strongest of its neighbours' partials
// one still tells of a key that is always struck with the same others: weaker ones are
// as strong as what those bring. clearRise is how clearly the strokes of a key rise
// that is only softer than its neighbours: in the series dead keys rose by 0.26 at
// most, and soft ones that would have been taken for dead by 0.37 and more.
const (
	strongWithin = 25.0
	clearRise    = 0.32
)

// below is by how many decibels a key's partials lie below its neighbours', in the
// mean over those within so many decibels of the neighbours' strongest.
func below(own, near voice, within float64) float64 {
	most := math.Inf(-1)
	for k, x := range near {
		if !math.IsNaN(x) && !math.IsNaN(own[k]) {
			most = max(most, x)
		}
	}
	sum, n := 0.0, 0.0
	for k, x := range near {
		if !math.IsNaN(x) && !math.IsNaN(own[k]) && x > most-within {
			sum, n = sum+x-own[k], n+1
		}
	}
	return sum / max(n, 1)
}

// neighbours is what the keys around have at the frequencies of a key's partials:
// the median of the four strokes' worth and more that lie nearest.
func (m *meter) neighbours(own *voices, gains *[128][][]float64, key int) voice {
	out := make(voice, len(m.bank[key]))
	type level struct {
		far   float64
		value float64
		count int
	}
	for k, p := range m.bank[key] {
		var all []level
		for other := max(key-12, 0); other <= min(key+12, 127); other++ {
			if other == key || own[other] == nil {
				continue
			}
			for j, q := range m.bank[other] {
				if j < len(own[other]) && q.n == p.n && !math.IsNaN(own[other][j]) {
					all = append(all, level{math.Abs(float64(other - key)), own[other][j], len(gains[other][j])})
				}
			}
		}
		slices.SortStableFunc(all, func(a, b level) int { return cmp.Compare(a.far, b.far) })
		var near []float64
		for i, l := range all {
			if i >= 5 {
				break
			}
			near = append(near, l.value)
		}
		out[k] = median(near)
	}
	return out
}

// weight is how far what is heard of stroke i at a moment speaks for a sound, in nats,
// were its partials independent: the power of each is held against the most that
// silence leaves, which is what was there before together with what other strokes bring,
// and against the least that a sound makes, which is the key's own voice with what others
// bring, and soon after the stroke with what was there before; later that may have died
// away. Below the first silence agrees, above the second a sound does; distances
// otherwise follow Student's distribution of four degrees, because partials beat. could
// is what sum would be of a sound that comes in just as its key mostly does: how well the
// two can be told apart. clear is how many partials that no other stroke has come in as
// the key has them, far above what silence leaves; -1 where none can be heard.
func (m *meter) weight(i int, sec float64, e *evidence, at moment, v *voices) (sum, could float64, clear int) {
	const sigma = 5.0
	clear = -1
	own := v[m.list[i].key]
	for k := range m.bank[m.list[i].key] {
		if k >= len(own) || math.IsNaN(own[k]) || math.IsNaN(e.after[at][k]) {
			continue
		}
		tone, others := math.Pow(10, own[k]/10), m.others(i, k, sec, at, v)
		silent, full := decibels(e.before[k]+others), decibels(e.before[k]+others+tone)
		sounded := full
		if at == later {
			sounded = decibels(others + tone)
		}
		y := decibels(e.after[at][k])
		sum += student((y-sounded)/sigma, y < sounded) - student((y-silent)/sigma, y > silent)
		could -= student((full-silent)/sigma, true)
		clear = max(clear, 0)
		if e.alone[k] && y > silent+3*sigma && math.Abs(y-full) < sigma {
			clear++
		}
	}
	return sum, could, clear
}

// student is the logarithm of Student's density of four degrees, but for its
// constant; 0 where what is heard does not speak against.
func student(x float64, against bool) float64 {
	if !against {
		return 0
	}
	return -2.5 * math.Log1p(x*x/4)
}

// others is the power that other strokes bring between before and after stroke i at
// its partial k: what their own partials spread there, or what was heard of them there
// where they were struck without this key, if that is more.
func (m *meter) others(i, k int, sec float64, at moment, v *voices) float64 {
	key := m.list[i].key
	hz := m.bank[key][k].hz
	w := smoothSec(hz)
	sum := 0.0
	for _, way := range [2]int{-1, 1} {
		for j := i + way; j >= 0 && j < len(m.list) && math.Abs(m.list[j].near-m.list[i].near) < togetherSec; j += way {
			o := &m.list[j]
			late := o.near - sec
			after, before := risen((w/2+0.009-late)/w), risen((-w/2-0.005-late)/w)
			if at == later {
				after = 1
			}
			part := after*after - before*before
			if part <= 0 || o.sounded == 0 {
				continue
			}
			power := 0.0
			for n, p := range m.bank[o.key] {
				x := math.Abs(p.hz-hz) * w
				if x > 3 || n >= len(v[o.key]) || math.IsNaN(v[o.key][n]) {
					continue
				}
				leak := hann(x)
				power += leak * leak * math.Pow(10, v[o.key][n]/10)
			}
			if b := m.brought[at][pairOf{o.key, key}]; b != nil && !math.IsNaN(b[k]) {
				power = max(power, math.Pow(10, b[k]/10))
			}
			sum += o.sounded * part * power
		}
	}
	return sum
}

// risen is how much of its strength a tone has, seen through Hann's window, whose
// middle lies x windows after its beginning.
func risen(x float64) float64 {
	switch {
	case x <= -0.5:
		return 0
	case x >= 0.5:
		return 1
	}
	return x + 0.5 + math.Sin(2*math.Pi*x)/(2*math.Pi)
}

// hann is the response of Hann's window x bins beside a tone: F. J. Harris, Proc.
// IEEE 66 (1978) 51.
func hann(x float64) float64 {
	switch {
	case x < 1e-6:
		return 1
	case math.Abs(x-1) < 1e-6:
		return 0.5
	}
	return math.Abs(math.Sin(math.Pi*x) / (math.Pi * x) / (1 - x*x))
}
