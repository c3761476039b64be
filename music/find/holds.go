package find

import (
	"math"
	"slices"
)

// held is how long the notes of a voice sound: a share of their duration, or a
// time, or a share of part of it, the rest being silence.
type held struct {
	share  float64
	sec    float64 // more than 0: every note sounds so long
	silent []int64 // for each member of the talea how many of its units are silence; nil: none
}

// holdOf says how the notes of a voice are held, from where they end. All is by
// medians, so that single notes cut short on a roll do not count.
func (v *Voice) holdOf() held {
	c := v.clock
	var shares, lengths []float64
	units := make([][]float64, len(c.offset))
	for k, s := range v.steps {
		p := v.rhythm.places[k]
		if p == absent {
			continue
		}
		length, duration := s.end-s.at, c.at(p+1)-c.at(p)
		if !(duration > 0) || length < 0 {
			continue
		}
		shares, lengths = append(shares, length/duration), append(lengths, length)
		m := p % len(c.offset)
		if c.whole != nil {
			units[m] = append(units[m], length/duration*float64(c.whole[m]))
		}
	}
	if len(shares) == 0 {
		return held{share: 1}
	}
	share, length := median(slices.Clone(shares)), median(slices.Clone(lengths))
	h := held{share: tidy(share)}
	alike := spread(shares, share)
	switch {
	case alike < 0.02:
	case spread(lengths, length)/length < 0.02:
		h.sec = length
	case c.whole != nil:
		if silent, share, ok := silences(units, c.whole); ok {
			h.silent, h.share = silent, tidy(share)
		}
	}
	return h
}

// tidy rounds a share to hundredths, if it is near to one.
func tidy(x float64) float64 {
	if r := math.Round(x*100) / 100; math.Abs(r-x) < 0.004 && r > 0 {
		return r
	}
	return math.Max(0.001, math.Round(x*1000)/1000)
}

// spread is the middle distance of values from one.
func spread(values []float64, from float64) float64 {
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - from)
	}
	return median(off)
}

// silences finds the share at which every member of a talea sounds a whole
// number of units, the rest of it being silent.
func silences(units [][]float64, whole []int64) (silent []int64, share float64, ok bool) {
	length := make([]float64, len(whole))
	for m, u := range units {
		if len(u) == 0 {
			return nil, 0, false
		}
		length[m] = median(slices.Clone(u))
		share = math.Max(share, length[m]/float64(whole[m]))
	}
	if share > 1.001 || share <= 0 {
		return nil, 0, false
	}
	silent = make([]int64, len(whole))
	for m, l := range length {
		sounds := math.Round(l / share)
		if math.Abs(sounds-l/share) > 0.12 || sounds < 1 {
			return nil, 0, false
		}
		silent[m] = whole[m] - int64(sounds)
	}
	return silent, share, true
}
