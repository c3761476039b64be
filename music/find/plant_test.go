package find

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"rollwright/exact"
	"rollwright/music/tempo"
)

// planted is a table of notes with what was put into it.
type planted struct {
	notes  []Note
	of     []string // for each note its voice, in the order of notes; empty: added
	voices []plantedVoice
	canons []plantedCanon
	strict bool // series begin at the first note, nothing is damaged
	noise  float64
}

type plantedVoice struct {
	name      string
	talea     []int64 // nil: none
	color     [][]int // nil: none
	unit      float64 // seconds, at the first note
	shape     Shape
	ratio     float64 // tempo at the end over that at the first note
	stretch   string
	transpose int
	notes     int
}

type plantedCanon struct {
	leader, follower string
	speed            float64
	near             string
	transpose        int
	inverted         bool
	backward         bool
	meet             float64 // NaN: none
}

// plant makes one kind of design from a seed.
type plant struct {
	r     *rand.Rand
	p     planted
	apart bool // voices of a canon keep to keys of their own
}

func newPlant(kind string, seed uint64) *plant {
	h := uint64(1469598103934665603)
	for _, c := range kind {
		h = (h ^ uint64(c)) * 1099511628211
	}
	return &plant{r: rand.New(rand.NewPCG(seed, h)), p: planted{strict: true}}
}

// shift is how much higher the other voice of a canon is.
func (g *plant) shift(low, high int) int {
	if g.apart {
		return g.between(20, 26)
	}
	return g.between(low, high)
}

func (g *plant) between(low, high int) int { return low + g.r.IntN(high-low+1) }

// talea is a series of durations that is no shorter one repeated and has none in
// common.
func (g *plant) talea(members int) []int64 {
	for {
		out := make([]int64, members)
		common := int64(0)
		for i := range out {
			out[i] = int64(g.between(1, 5))
			common = gcd(common, out[i])
		}
		if common == 1 && leastPeriod(out) == members && slices.Min(out) != slices.Max(out) {
			return out
		}
	}
}

// color is a series of pitches about a centre that is no shorter one repeated.
func (g *plant) color(members, centre, reach int) [][]int {
	for {
		out := make([][]int, members)
		last := -1
		for i := range out {
			k := centre
			for k = g.between(centre-reach, centre+reach); k == last; {
				k = g.between(centre-reach, centre+reach)
			}
			last = k
			out[i] = []int{k}
		}
		flat := make([]int, members)
		for i := range out {
			flat[i] = out[i][0]
		}
		if leastPeriod(flat) == members && !glides(flat) {
			return out
		}
	}
}

// glides reports whether a series is a shorter one transposed again and again.
func glides(flat []int) bool {
	steps := make([]int, len(flat))
	for i := range flat {
		steps[i] = flat[(i+1)%len(flat)] - flat[i]
	}
	return leastPeriod(steps) < len(flat)
}

func leastPeriod[T comparable](s []T) int {
	for p := 1; p < len(s); p++ {
		if len(s)%p != 0 {
			continue
		}
		same := true
		for i := p; i < len(s); i++ {
			same = same && s[i] == s[i-p]
		}
		if same {
			return p
		}
	}
	return len(s)
}

// line is the notes of a voice before they are in seconds.
type plantedLine struct {
	keys  [][]int
	units []float64 // onsets
	total float64
}

func (g *plant) line(talea []int64, color [][]int, notes int, stretch float64, transpose int) plantedLine {
	l := plantedLine{}
	at := 0.0
	for i := range notes {
		l.units = append(l.units, at)
		var keys []int
		for _, k := range color[i%len(color)] {
			keys = append(keys, k+transpose*(i/len(color)))
		}
		l.keys = append(l.keys, keys)
		at += float64(talea[i%len(talea)]) * math.Pow(stretch, float64(i/len(talea)))
	}
	l.total = at
	return l
}

// sound puts a line into seconds: unit seconds a unit, from start on.
func (g *plant) sound(name string, l plantedLine, unit, start float64, hold float64,
	seconds func(units float64) float64) {
	for i := range l.units {
		next := l.total
		if i+1 < len(l.units) {
			next = l.units[i+1]
		}
		a, b := start+seconds(l.units[i])*unit, start+seconds(next)*unit
		for _, k := range l.keys[i] {
			g.p.notes = append(g.p.notes, Note{Key: k, StartSec: a, EndSec: a + hold*(b-a), Voice: name, Number: i + 1,
				Level: 80})
		}
	}
}

func same(units float64) float64 { return units }

// path is a tempo path over a line that ends at ratio times the tempo, in units
// of the first tempo.
func path(shape Shape, total, ratio float64) func(float64) float64 {
	shapes := map[Shape]tempo.Shape{Geometric: tempo.Geometric, PerUnit: tempo.PerUnit, PerSecond: tempo.PerSecond}
	to := exact.MustParse(fmt.Sprintf("%.6f", 60*ratio))
	p, err := tempo.New([]tempo.Leg{{From: exact.MustParse("60"), To: to, HasFrom: true, HasTo: true,
		OverUnits: exact.Int(int64(math.Round(total))), Shape: shapes[shape]}}, exact.MustParse("60"), exact.NewRat(1, 4),
		exact.MustParse("1"))
	if err != nil {
		panic(err)
	}
	return p.Seconds
}

// finish jitters, damages and orders the notes; labels go away where nobody is to
// know them.
func (g *plant) finish(jitter float64, rows, damaged, labelled bool) planted {
	p := &g.p
	p.noise = jitter
	if damaged {
		g.damage()
		p.strict = false
	}
	for i := range p.notes {
		n := &p.notes[i]
		d := n.EndSec - n.StartSec
		n.StartSec += jitter * g.r.NormFloat64()
		if rows {
			const row = 25.4 / 45 / 40.64
			n.StartSec = math.Round(n.StartSec/row) * row
		}
		n.StartSec = math.Round(math.Max(0, n.StartSec)*1e9) / 1e9
		n.EndSec = math.Round((n.StartSec+d)*1e9) / 1e9
	}
	slices.SortStableFunc(p.notes, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.StartSec, b.StartSec), cmp.Compare(a.Key, b.Key))
	})
	count := map[string]int{}
	at := map[string]map[int]int{}
	for i := range p.notes {
		n := &p.notes[i]
		p.of = append(p.of, n.Voice)
		if at[n.Voice] == nil {
			at[n.Voice] = map[int]int{}
		}
		if _, ok := at[n.Voice][n.Number]; !ok {
			count[n.Voice]++
			at[n.Voice][n.Number] = count[n.Voice]
		}
		n.Number = at[n.Voice][n.Number]
		if !labelled {
			n.Voice, n.Number, n.Level = "", 0, 0
		}
	}
	if !labelled {
		p.strict = false
	}
	return *p
}

// damage makes one note in a hundred wrong, leaves one out and adds one.
func (g *plant) damage() {
	p := &g.p
	var out []Note
	for _, n := range p.notes {
		switch x := g.r.Float64(); {
		case x < 0.01:
			n.Key = min(127, max(0, n.Key+g.between(1, 6)*(1-2*g.r.IntN(2))))
		case x < 0.02:
			continue
		case x < 0.03:
			extra := n
			extra.StartSec += 0.05 + g.r.Float64()*0.3
			extra.EndSec = extra.StartSec + 0.1
			extra.Key = min(127, max(0, n.Key+g.between(-7, 7)))
			extra.Number = 100_000 + len(out)
			out = append(out, extra)
		}
		out = append(out, n)
	}
	p.notes = out
}
