package find

import "math"

// clock says where a series of durations puts its notes.
type clock struct {
	warp    warp
	from    float64   // seconds: where place 0 falls
	offset  []float64 // of each member from the beginning of its statement, in even seconds
	length  float64   // of the first statement, in even seconds
	stretch float64   // of each statement against the one before; 1: none
	noise   float64   // standard deviation of the onsets about it, seconds

	whole []int64 // durations in units, where they are commensurable
	unit  float64 // even seconds
}

// at is the time of a place, which may be negative.
func (c *clock) at(place int) float64 {
	return c.from + c.warp.back(c.even(place))
}

// even is the even time of a place from place 0.
func (c *clock) even(place int) float64 {
	n := len(c.offset)
	member := ((place % n) + n) % n
	statement := (place - member) / n
	if c.stretch == 1 {
		return float64(statement)*c.length + c.offset[member]
	}
	power := math.Pow(c.stretch, float64(statement))
	return c.length*(power-1)/(c.stretch-1) + power*c.offset[member]
}

// duration is that of a member in the first statement, in even seconds.
func (c *clock) duration(member int) float64 {
	if member == len(c.offset)-1 {
		return c.length - c.offset[member]
	}
	return c.offset[member+1] - c.offset[member]
}

// spot is an onset and its place in the series.
type spot struct {
	t                 float64 // seconds since the first
	statement, member int
}

// spotsOf are the onsets that have a place. Times count from the first of them.
func spotsOf(t []float64, places []int, members int) (spots []spot, from float64) {
	first := true
	for i, p := range places {
		if p == absent {
			continue
		}
		if first {
			from, first = t[i], false
		}
		spots = append(spots, spot{t[i] - from, p / members, p % members})
	}
	return spots, from
}

// thinned are at most so many spots, spread evenly.
func thinned(spots []spot, most int) []spot {
	if len(spots) <= most {
		return spots
	}
	out := make([]spot, most)
	for i := range out {
		out[i] = spots[i*(len(spots)-1)/(most-1)]
	}
	return out
}

// fit is a clock that has been fitted to spots, with the sum of its squared
// errors in seconds.
type fit struct {
	clock clock
	sse   float64
}

// fitEven fits a statement's length and its members' offsets under a law of
// tempo, each error counted in seconds as played: statements and members are two
// factors whose effects add (least squares of the two-way layout).
func fitEven(spots []spot, members int, w warp) fit {
	type sum struct{ w, z, k float64 }
	sums := make([]sum, members)
	for _, s := range spots {
		z, rate := w.forward(s.t)
		weight := 1 / (rate * rate)
		m := &sums[s.member]
		m.w, m.z, m.k = m.w+weight, m.z+weight*z, m.k+weight*float64(s.statement)
	}
	kz, kk := 0.0, 0.0
	for _, s := range spots {
		z, rate := w.forward(s.t)
		m := &sums[s.member]
		k := float64(s.statement) - m.k/m.w
		kz += k * (z - m.z/m.w) / (rate * rate)
		kk += k * k / (rate * rate)
	}
	f := fit{clock: clock{warp: w, length: kz / kk, offset: make([]float64, members), stretch: 1}}
	for i, m := range sums {
		f.clock.offset[i] = (m.z - f.clock.length*m.k) / m.w // NaN for a member that never sounds
	}
	fillGaps(f.clock.offset, f.clock.length)
	for _, s := range spots {
		z, rate := w.forward(s.t)
		e := (z - f.clock.length*float64(s.statement) - f.clock.offset[s.member]) / rate
		f.sse += e * e
	}
	f.shift()
	return f
}

// shift moves place 0 to offset 0.
func (f *fit) shift() {
	zero := f.clock.offset[0]
	for i := range f.clock.offset {
		f.clock.offset[i] -= zero
	}
	f.clock.from += f.clock.warp.back(zero)
	if !f.clock.warp.even() { // the law counts from the new place 0
		_, rate := f.clock.warp.forward(zero)
		for i := range f.clock.offset {
			f.clock.offset[i] /= rate
		}
		f.clock.length /= rate
		f.clock.warp = f.clock.warp.later(f.clock.warp.back(zero))
	}
}

// later is the same law seen from a later time, whose tempo then counts as 1.
func (w warp) later(t float64) warp {
	_, rate := w.forward(t)
	_, end := w.forward(w.span)
	w.theta, w.span = math.Log(end/rate), w.span-t
	return w
}

// fillGaps puts members that never sounded halfway between their neighbours.
func fillGaps(offset []float64, length float64) {
	for i, o := range offset {
		if !math.IsNaN(o) {
			continue
		}
		before, after := 0.0, length
		if i > 0 {
			before = offset[i-1]
		}
		for _, next := range offset[i+1:] {
			if !math.IsNaN(next) {
				after = next
				break
			}
		}
		offset[i] = (before + after) / 2
	}
}

// fitStretched fits statements each so many times as long as the one before:
// t = limit - ratio^k h with one h for each member, which is linear but for the
// ratio.
func fitStretched(spots []spot, members int, ratio float64) fit {
	power := func(s spot) float64 { return math.Pow(ratio, float64(s.statement)) }
	type sum struct{ qq, q, qt float64 }
	sums := make([]sum, members)
	for _, s := range spots {
		q := power(s)
		m := &sums[s.member]
		m.qq, m.q, m.qt = m.qq+q*q, m.q+q, m.qt+q*s.t
	}
	oneT, oneOne := 0.0, 0.0
	for _, s := range spots {
		m, q := &sums[s.member], power(s)
		one := 1 - q*m.q/m.qq
		oneT += one * (s.t - q*m.qt/m.qq)
		oneOne += one * one
	}
	limit := oneT / oneOne
	h := make([]float64, members)
	for i, m := range sums {
		h[i] = (limit*m.q - m.qt) / m.qq
	}
	f := fit{clock: clock{warp: warp{shape: Constant}, offset: make([]float64, members), stretch: ratio}}
	f.clock.from = limit - h[0]
	f.clock.length = h[0] * (1 - ratio)
	for i := range h {
		f.clock.offset[i] = h[0] - h[i]
	}
	fillGaps(f.clock.offset, f.clock.length)
	for _, s := range spots {
		e := s.t - limit + power(s)*h[s.member]
		f.sse += e * e
	}
	return f
}

// fitWhole fits durations that are whole numbers of a unit: only the place of the
// first note and the unit are free. The stretch is that of each statement, 1 for
// none.
func fitWhole(spots []spot, whole []int64, w warp, stretch float64) fit {
	before := make([]float64, len(whole)+1)
	for i, n := range whole {
		before[i+1] = before[i] + float64(n)
	}
	total := before[len(whole)]
	place := func(s spot) float64 {
		if stretch == 1 {
			return float64(s.statement)*total + before[s.member]
		}
		p := math.Pow(stretch, float64(s.statement))
		return total*(p-1)/(stretch-1) + p*before[s.member]
	}
	var sw, su, sz, suu, suz float64
	for _, s := range spots {
		z, rate := w.forward(s.t)
		u, weight := place(s), 1/(rate*rate)
		sw, su, sz = sw+weight, su+weight*u, sz+weight*z
	}
	mu, mz := su/sw, sz/sw
	for _, s := range spots {
		z, rate := w.forward(s.t)
		u, weight := place(s)-mu, 1/(rate*rate)
		suu, suz = suu+weight*u*u, suz+weight*u*(z-mz)
	}
	unit := suz / suu
	f := fit{clock: clock{warp: w, offset: make([]float64, len(whole)), stretch: stretch, whole: whole, unit: unit}}
	zero := mz - unit*mu
	for i := range f.clock.offset {
		f.clock.offset[i] = unit*before[i] + zero
	}
	f.clock.length = unit * total
	for _, s := range spots {
		z, rate := w.forward(s.t)
		e := (z - mz - unit*(place(s)-mu)) / rate
		f.sse += e * e
	}
	old := w
	f.shift()
	if _, rate := old.forward(zero); !old.even() {
		f.clock.unit /= rate
	}
	return f
}
