package overhear

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Region is a part of the compass.
type Region int8

// The regions.
const (
	Bass   Region = iota // up to B2
	Middle               // C3 to B4
	Treble               // from C5
	regions
)

// regionOf is the region of a key.
func regionOf(key int) Region {
	switch {
	case key < 48:
		return Bass
	case key < 72:
		return Middle
	}
	return Treble
}

// How much is taken to scatter before anything is heard, in seconds: the delay of
// a region beside the others', and of a key beside its region's.
const (
	regionPriorSec = 0.05
	keyPriorSec    = 0.006
	slowingPrior   = 0.1
)

// clockShare is how far the clock of a recorder may be off (common practice, no
// source: crystals of 50 parts in a million).
const clockShare = 50e-6

// regionFloorSec is by how much the beginning of a rise may seem to lie earlier
// or later in one region than in another: measured on a sampled piano whose notes
// begin where they are asked to, in rooms.
const regionFloorSec = 0.0025

// fitted is the transport by what was heard.
type fitted struct {
	curve   curve
	regions [regions]float64 // s, beside the middle of all
	key     [128]float64     // s, beside the region's
	count   [regions]int     // strokes that told
	scatter float64          // s, of one stroke beside its key's time
	rms     float64          // s, of one stroke beside its region's time

	speedHalf   float64 // half the 95 % range, mm/s
	slowingHalf float64
	late        [regions][regions]bound // how much later the first speaks than the second
}

// bound is a value with half its 95 % range.
type bound struct{ value, half float64 }

// The first columns of the fit; those of the regions and of the keys follow.
const (
	colBegin = iota
	colSpeed
	colSlowing
	colRegion
	colKey = colRegion + int(regions)
)

// fit is heard = curve + region + key by least squares that what lies far off
// has no part in: Tukey's biweight, reweighted until it stays (P. W. Holland and
// R. E. Welsch, Commun. Statist. A6 (1977) 813). Regions and keys are taken to
// scatter, which is a ridge (C. R. Henderson, Biometrics 31 (1975) 423). The range
// is White's, with what belongs to one stretch of time taken together, because the
// paper's unrest moves neighbours alike (K.-Y. Liang and S. L. Zeger, Biometrika
// 73 (1986) 13), times Student's factor for the number of stretches.
func fit(list []stroke, start curve) (*fitted, bool) {
	p := newFitting(list, start)
	if len(p.seen) < 12 {
		return nil, false
	}
	for range 12 {
		p.weigh()
		if !p.step() {
			return nil, false
		}
	}
	p.weigh()
	return p.result()
}

// fitting is a fit on its way.
type fitting struct {
	list []stroke
	seen []int    // strokes
	keys []int    // that have a delay of their own
	col  [128]int // of these; 0: none
	f    fitted
}

func newFitting(list []stroke, start curve) *fitting {
	p, rise := &fitting{list: list}, risesOf(list)
	p.f.curve = start
	for i := range list {
		s := &list[i]
		s.weigh = 0
		if !s.inTake || math.IsNaN(s.heard) || s.rise < seenRise {
			continue
		}
		p.seen = append(p.seen, i)
		if p.col[s.key] == 0 && rise[s.key] >= mutedRise {
			p.keys = append(p.keys, s.key)
			p.col[s.key] = colKey + len(p.keys) - 1
		}
	}
	p.f.scatter = 0.02
	return p
}

// seenRise is how clear a rise has to be to tell of the transport. mutedRise is how clear
// those of a key have to be in the middle, to tell of a delay of its own: of a dead key
// some few rise with noise or with what other strokes bring, and a change of micrometres
// would move that delay by milliseconds. Such a key takes its region's.
const (
	seenRise  = 0.3
	mutedRise = 0.2
)

// risesOf is how clearly the strokes of each key rise: their median, for a few may rise
// with what other strokes bring.
func risesOf(list []stroke) (rise [128]float64) {
	var all [128][]float64
	for i := range list {
		if s := &list[i]; s.inTake {
			all[s.key] = append(all[s.key], s.rise)
		}
	}
	for key := range rise {
		rise[key] = median(all[key])
	}
	return rise
}

func (p *fitting) off(s *stroke) float64 {
	return s.heard - p.f.curve.sec(s.rowMM) - p.f.regions[regionOf(s.key)] - p.f.key[s.key]
}

// weigh gives each stroke its weight by how far it lies off, and finds the
// scatter: the median distance times 1.4826, which is the standard deviation where
// that is normal.
func (p *fitting) weigh() {
	offs := make([]float64, 0, len(p.seen))
	for _, i := range p.seen {
		offs = append(offs, math.Abs(p.off(&p.list[i])))
	}
	slices.Sort(offs)
	p.f.scatter = max(1.4826*offs[len(offs)/2], 0.001)
	for _, i := range p.seen {
		s := &p.list[i]
		x := p.off(s) / (biweight * p.f.scatter)
		s.weigh = 0
		if x*x < 1 {
			s.weigh = (1 - x*x) * (1 - x*x) * min(s.rise/0.5, 1)
		}
	}
}

// biweight is how many scatters off a stroke has no part any more: 95 % of the
// efficiency of plain least squares where the scatter is normal.
const biweight = 4.685

// columns are the slopes of a stroke, by column.
func (p *fitting) columns(s *stroke) (at [5]int, slope [5]float64) {
	c := &p.f.curve
	at = [5]int{colBegin, colSpeed, colSlowing, colRegion + int(regionOf(s.key)), p.col[s.key]}
	slope = [5]float64{1, -c.unit(s.rowMM) / c.speed, c.slowingSlope(s.rowMM), 1, 1}
	if p.col[s.key] == 0 {
		slope[4] = 0
	}
	return at, slope
}

// prior is the ridge of a column, and how far its value lies from 0.
func (p *fitting) prior(col int) (precision, value float64) {
	switch {
	case col == colSlowing:
		return 1 / (slowingPrior * slowingPrior), p.f.curve.slowing
	case col >= colKey:
		return 1 / (keyPriorSec * keyPriorSec), p.f.key[p.keys[col-colKey]]
	case col >= colRegion:
		return 1 / (regionPriorSec * regionPriorSec), p.f.regions[col-colRegion]
	}
	return 0, 0
}

// step is one step of Gauss and Newton.
func (p *fitting) step() bool {
	m := colKey + len(p.keys)
	right := mat.NewVecDense(m, nil)
	for _, i := range p.seen {
		s := &p.list[i]
		at, slope := p.columns(s)
		g := s.weigh * p.off(s) / (p.f.scatter * p.f.scatter)
		for a := range at {
			right.SetVec(at[a], right.AtVec(at[a])+g*slope[a])
		}
	}
	for k := range m {
		precision, value := p.prior(k)
		right.SetVec(k, right.AtVec(k)-precision*value)
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(p.normal(func(s *stroke) float64 { return s.weigh })) || chol.SolveVecTo(&x, right) != nil {
		return false
	}
	p.advance(&x)
	return true
}

// normal is the normal matrix, each stroke of a weight, with the ridge.
func (p *fitting) normal(weight func(*stroke) float64) *mat.SymDense {
	m := colKey + len(p.keys)
	normal := mat.NewSymDense(m, nil)
	for _, i := range p.seen {
		s := &p.list[i]
		w := weight(s) / (p.f.scatter * p.f.scatter)
		at, slope := p.columns(s)
		for a := range at {
			for b := a; b < len(at); b++ {
				normal.SetSym(at[a], at[b], normal.At(at[a], at[b])+w*slope[a]*slope[b])
			}
		}
	}
	for k := range m {
		precision, _ := p.prior(k)
		normal.SetSym(k, k, normal.At(k, k)+precision)
	}
	return normal
}

// inverse is the inverse of the matrix of slopes of the equations that were
// solved, in which a stroke counts by how its pull changes with its distance
// (P. J. Huber, Robust Statistics, 7.6), and how many strokes' worth of freedom
// the fit took.
func (p *fitting) inverse() (bread *mat.Dense, taken float64, ok bool) {
	var chol mat.Cholesky
	if !chol.Factorize(p.normal(func(s *stroke) float64 { return s.weigh })) {
		return nil, 0, false
	}
	var plain, inverse mat.SymDense
	if chol.InverseTo(&plain) != nil {
		return nil, 0, false
	}
	for k := range plain.SymmetricDim() {
		precision, _ := p.prior(k)
		taken += 1 - precision*plain.At(k, k)
	}
	slopes := p.normal(func(s *stroke) float64 {
		x := p.off(s) / (biweight * p.f.scatter)
		if s.weigh == 0 {
			return 0
		}
		return s.weigh * (1 - 5*x*x) / (1 - x*x)
	})
	if !chol.Factorize(slopes) || chol.InverseTo(&inverse) != nil { // few strokes, far apart
		return mat.DenseCopyOf(&plain), taken, true
	}
	return mat.DenseCopyOf(&inverse), taken, true
}

func (p *fitting) advance(x *mat.VecDense) {
	c := &p.f.curve
	c.begin += x.AtVec(colBegin)
	c.speed *= 1 + min(max(x.AtVec(colSpeed), -0.05), 0.05)
	c.slowing = min(max(c.slowing+x.AtVec(colSlowing), -mostSlowing), mostSlowing)
	for r := range p.f.regions {
		p.f.regions[r] += x.AtVec(colRegion + r)
	}
	for k, key := range p.keys {
		p.f.key[key] += x.AtVec(colKey + k)
	}
}

// stretchSec is how long a stretch of time is whose strokes count as one for the
// ranges.
const stretchSec = 1.5

// covariance is of the parameters, and how many stretches it rests on.
func (p *fitting) covariance() (cov *mat.Dense, stretches int, ok bool) {
	bread, taken, ok := p.inverse()
	if !ok {
		return nil, 0, false
	}
	m := colKey + len(p.keys)
	meat := mat.NewDense(m, m, nil)
	grad := make([]float64, m)
	last := math.Inf(-1)
	flush := func() {
		for a, x := range grad {
			if x == 0 {
				continue
			}
			for b, y := range grad {
				if y != 0 {
					meat.Set(a, b, meat.At(a, b)+x*y)
				}
			}
		}
		clear(grad)
	}
	for _, i := range p.seen {
		s := &p.list[i]
		if block := math.Floor(s.near / stretchSec); block != last {
			flush()
			stretches, last = stretches+1, block
		}
		at, slope := p.columns(s)
		g := s.weigh * p.off(s) / (p.f.scatter * p.f.scatter)
		for a := range at {
			grad[at[a]] += g * slope[a]
		}
	}
	flush()
	n := float64(len(p.seen))
	meat.Scale(n/max(n-taken, n/4), meat)
	for k := range m {
		precision, _ := p.prior(k)
		meat.Set(k, k, meat.At(k, k)+precision)
	}
	var half mat.Dense
	half.Mul(bread, meat)
	cov = &mat.Dense{}
	cov.Mul(&half, bread)
	return cov, stretches, true
}

// widened is by how much wider ranges are than Student's factor has them: the
// stretches at the ends of a roll weigh most and show least of their scatter, so
// that the narrower ones held the truth in 91 to 93 of a hundred simulated takes.
const widened = 1.1

func (p *fitting) result() (*fitted, bool) {
	f := &p.f
	cov, stretches, ok := p.covariance()
	if !ok {
		return nil, false
	}
	n := float64(stretches)
	free := max(n-3, 1)
	factor := widened * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(0.975) * math.Sqrt(n/free)
	speed := factor * math.Sqrt(max(cov.At(colSpeed, colSpeed), 0))
	f.speedHalf = f.curve.speed * math.Hypot(speed, clockShare)
	f.slowingHalf = factor * math.Sqrt(max(cov.At(colSlowing, colSlowing), 0))
	var mean [regions]*mat.VecDense
	sum, total := 0.0, 0.0
	for r := range regions {
		mean[r] = p.contrast(r)
	}
	for a := range regions {
		for b := range regions {
			if a == b || mean[a] == nil || mean[b] == nil {
				continue
			}
			var d, cd mat.VecDense
			d.SubVec(mean[a], mean[b])
			cd.MulVec(cov, &d)
			f.late[a][b] = bound{
				p.delay(a) - p.delay(b),
				math.Hypot(factor*math.Sqrt(max(mat.Dot(&d, &cd), 0)), 1.96*regionFloorSec*math.Sqrt2),
			}
		}
	}
	squares := 0.0
	var late [regions]float64
	for r := range regions {
		late[r] = p.delay(r)
	}
	for _, i := range p.seen {
		s := &p.list[i]
		if s.weigh > 0 {
			off := p.off(s) + f.regions[regionOf(s.key)] + f.key[s.key]
			sum, total = sum+off, total+1
			off -= late[regionOf(s.key)]
			squares += off * off
		}
	}
	f.rms = math.Sqrt(squares / max(total, 1))
	f.recentre(p, late)
	return f, true
}

// delay is the mean delay of a region's strokes.
func (p *fitting) delay(r Region) float64 {
	sum, weight := 0.0, 0.0
	for _, i := range p.seen {
		if s := &p.list[i]; regionOf(s.key) == r {
			sum, weight = sum+s.weigh*(p.f.regions[r]+p.f.key[s.key]), weight+s.weigh
		}
	}
	return sum / max(weight, 1e-9)
}

// contrast is the combination of columns that delay is; nil without strokes.
func (p *fitting) contrast(r Region) *mat.VecDense {
	v := mat.NewVecDense(colKey+len(p.keys), nil)
	weight := 0.0
	for _, i := range p.seen {
		if s := &p.list[i]; regionOf(s.key) == r && s.weigh > 0 {
			if col := p.col[s.key]; col != 0 {
				v.SetVec(col, v.AtVec(col)+s.weigh)
			}
			weight += s.weigh
			p.f.count[r]++
		}
	}
	if weight == 0 {
		return nil
	}
	v.ScaleVec(1/weight, v)
	v.SetVec(colRegion+int(r), 1)
	return v
}

// recentre moves the median delay of the strokes into the beginning.
func (f *fitted) recentre(p *fitting, late [regions]float64) {
	var all []float64
	for _, i := range p.seen {
		if s := &p.list[i]; s.weigh > 0 {
			all = append(all, f.regions[regionOf(s.key)]+f.key[s.key])
		}
	}
	if len(all) == 0 {
		return
	}
	slices.Sort(all)
	mid := all[len(all)/2]
	f.curve.begin += mid
	for _, key := range p.keys { // of the key, the region's mean is taken out
		f.key[key] += f.regions[regionOf(key)] - late[regionOf(key)]
	}
	for r := range f.regions {
		f.regions[r] = late[r] - mid
	}
}

// delayOf is when a key speaks beside the curve.
func (f *fitted) delayOf(key int) float64 { return f.regions[regionOf(key)] + f.key[key] }
