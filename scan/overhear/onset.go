package overhear

import (
	"math"

	"rollwright/sound/take"
)

// stepSec is the raster on which a partial's strength is followed.
const stepSec = 0.002

// meter follows partials through the take.
type meter struct {
	take    *take.Take
	bank    *bank
	floor   func(hz float64) float64 // strength of what is always there, at a frequency
	list    []stroke
	faint   [128]float64                // by how many decibels a key lies below its neighbours, where it can be heard
	brought [moments]map[pairOf]brought // by strokes at other keys' partials; nil: not learnt
	re      []float64
	im      []float64
}

// smoothSec is the length of Hann's window through which a partial's strength is
// seen: longer for low ones, whose neighbours lie close.
func smoothSec(hz float64) float64 {
	switch {
	case hz < 300:
		return 0.060
	case hz < 900:
		return 0.044
	}
	return 0.032
}

// strengths are the amplitudes of hz around the times from, from + stepSec, ...,
// n of them.
func (m *meter) strengths(hz, from float64, n int, dst []float64) []float64 {
	rate := m.take.Rate
	taps := int(smoothSec(hz)/stepSec) | 1
	half := taps / 2
	total := n + 2*half
	if cap(m.re) < total {
		m.re, m.im = make([]float64, total), make([]float64, total)
	}
	re, im := m.re[:total], m.im[:total]
	w := 2 * math.Pi * hz / rate
	sr, cr := math.Sincos(w)
	start := from - (float64(half)+0.5)*stepSec
	for i := range total { // each step's samples, brought down to frequency 0
		a := int(math.Round((start + float64(i)*stepSec) * rate))
		b := int(math.Round((start + float64(i+1)*stepSec) * rate))
		a, b = max(a, 0), min(b, len(m.take.Samples))
		re[i], im[i] = 0, 0
		if a >= b {
			continue
		}
		s, c := math.Sincos(w * float64(a))
		for _, x := range m.take.Samples[a:b] {
			re[i] += float64(x) * c
			im[i] -= float64(x) * s
			c, s = c*cr-s*sr, s*cr+c*sr
		}
	}
	dst = dst[:0]
	for i := range n {
		var a, b, sum float64
		for k := range taps {
			h := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(k)+0.5)/float64(taps))
			a, b, sum = a+h*re[i+k], b+h*im[i+k], sum+h
		}
		dst = append(dst, math.Hypot(a, b)/(sum*stepSec*rate))
	}
	return dst
}

// gateSec is how far from where it should be an onset is looked for.
const gateSec = 0.05

// onset is when and how clearly the partials of stroke i rise together near sec.
func (m *meter) onset(i int, sec, gate float64) (heard, rise float64) {
	const reach = 0.064 // for the differences at the ends
	steps := int(2*(gate+reach)/stepSec) + 1
	from := sec - float64(steps/2)*stepSec
	sum := make([]float64, steps)
	weights := 0.0
	var a []float64
	partials := m.bank[m.list[i].key]
	for _, p := range partials[:min(onsetOf, len(partials))] {
		weight := 1.0
		if m.crowded(i, p.hz) {
			weight = 0.2
		}
		a = m.strengths(p.hz, from, steps, a)
		most := 0.0
		for _, x := range a {
			most = max(most, x)
		}
		scale := most + 3*m.floor(p.hz)
		if scale == 0 {
			continue
		}
		h := int(smoothSec(p.hz) / 2 / stepSec)
		for k := h; k+2*h < steps; k++ { // what is gone again a moment later is the knock, not the tone
			sum[k] += weight * max(0, min(a[k+h], a[k+2*h])-a[k-h]) / scale
		}
		weights += weight
	}
	best, value := -1, 0.0
	for k := 1; k+1 < steps; k++ {
		off := float64(k-steps/2) * stepSec
		if math.Abs(off) > gate {
			continue
		}
		if v := sum[k] * math.Exp(-off*off/(2*0.04*0.04)); v > value && sum[k] >= sum[k-1] && sum[k] >= sum[k+1] {
			best, value = k, v
		}
	}
	if best < 0 {
		return math.NaN(), 0
	}
	shift := 0.0
	if bend := sum[best-1] - 2*sum[best] + sum[best+1]; bend < 0 {
		shift = 0.5 * (sum[best-1] - sum[best+1]) / bend
	}
	return from + (float64(best)+shift)*stepSec, sum[best] / weights
}

// crowded reports whether another key's stroke near in time has a partial that
// near.
func (m *meter) crowded(i int, hz float64) bool {
	s := &m.list[i]
	near := 1.2 / smoothSec(hz)
	for _, way := range [2]int{-1, 1} {
		for j := i + way; j >= 0 && j < len(m.list) && math.Abs(m.list[j].near-s.near) < 0.1; j += way {
			if m.list[j].key == s.key {
				continue
			}
			for _, p := range m.bank[m.list[j].key] {
				if math.Abs(p.hz-hz) < near {
					return true
				}
			}
		}
	}
	return false
}

// gate is how far around stroke i may be looked: not as far as the middle
// between it and the next stroke of its key.
func (m *meter) gate(i int) float64 {
	gate := gateSec
	s := &m.list[i]
	for _, way := range [2]int{-1, 1} {
		for j := i + way; j >= 0 && j < len(m.list); j += way {
			apart := math.Abs(m.list[j].near - s.near)
			if apart > 2*gateSec {
				break
			}
			if m.list[j].key == s.key {
				gate = min(gate, apart/2)
			}
		}
	}
	return gate
}
