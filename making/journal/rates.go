package journal

import (
	"math"
	"slices"
	"time"
)

// HalfHour is the slips in half an hour of all sittings.
type HalfHour struct {
	From, To time.Duration // of work since the sitting began
	Worked   time.Duration // of all sittings together
	Slips    int
}

// stretchMS is how sittings are cut up to see when slips come.
const stretchMS = 30 * 60 * 1000

// enoughSlips is how many slips are wanted before anything is said of when they
// come: with fewer a rate is not known to within a half (the standard deviation
// of a count is its root).
const enoughSlips = 5

// Slipping says how many slips came in each half hour since the sitting began;
// nil while there are too few to tell. A sitting ends with a pause of more than
// ten minutes.
func (s *State) Slipping() []HalfHour {
	st := &s.stints
	if len(st.slips) < enoughSlips {
		return nil
	}
	var out []HalfHour
	at := func(ms int64) *HalfHour {
		for n := int64(len(out)); n <= ms/stretchMS; n++ {
			out = append(out, HalfHour{From: time.Duration(n*stretchMS) * time.Millisecond,
				To: time.Duration((n+1)*stretchMS) * time.Millisecond})
		}
		return &out[ms/stretchMS]
	}
	for _, one := range st.all {
		at(max(one.sitting-1, 0)).Worked += time.Duration(one.ms) * time.Millisecond
	}
	for _, ms := range st.slips {
		at(ms).Slips++
	}
	return out
}

// enoughChecks is how many rows with a length to measure are wanted before the
// time of a check is told.
const enoughChecks = 5

// CheckEvery is how far apart lengths should be measured so that checks and the
// work that a slip spoils cost least together: after sqrt(2 c m) of work, c being
// the time of a check and m the mean work between slips (J. W. Young, A first
// order approximation to the optimum checkpoint interval, Communications of the
// ACM 17 (1974) 530: a slip spoils, on average, half of what was made since the
// last check). ok is false while there is too little to tell.
func (s *State) CheckEvery() (everyMM float64, check, between time.Duration, ok bool) {
	st := &s.stints
	if len(st.slips) < enoughSlips || len(st.all) < 2 {
		return 0, 0, 0, false
	}
	var after, plain []float64 // ms of the row after a check, of the others, a punch each
	way := 0.0
	for i := 1; i < len(st.all); i++ {
		a, b := st.all[i-1], st.all[i]
		way += max(b.along-a.along, 0)
		if a.checked && b.sitting > a.sitting { // in one sitting
			after = append(after, float64(b.ms))
		} else {
			plain = append(plain, float64(b.ms))
		}
	}
	if len(after) < enoughChecks || len(plain) < enoughChecks || way <= 0 {
		return 0, 0, 0, false
	}
	cost := median(after) - median(plain)
	if cost <= 0 {
		return 0, 0, 0, false
	}
	mean := float64(st.workMS) / float64(len(st.slips))
	everyMS := math.Sqrt(2 * cost * mean)
	millis := func(ms float64) time.Duration { return time.Duration(math.Round(ms)) * time.Millisecond }
	return everyMS * way / float64(st.workMS), millis(cost), millis(mean), true
}

func median(xs []float64) float64 {
	slices.Sort(xs)
	n := len(xs)
	return (xs[(n-1)/2] + xs[n/2]) / 2
}
