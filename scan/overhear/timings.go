package overhear

import "math"

// Timing is when the paper lay at a row, by the strokes of a short stretch of time
// together.
type Timing struct {
	RowMM    float64 // on the middle of the ports
	Sec      float64 // of the take, less the delay of each key
	SigmaSec float64
	Strokes  int
}

// Timings are the take's readings of the transport, one a stretch of 1.5 s: what
// moves neighbouring strokes alike then does not count as often as there are
// strokes. Their precision is the scatter of the stretches around the fit.
func (r *Result) Timings() []Timing {
	var out []Timing
	var offs []float64
	var row, off, weight float64
	strokes, last := 0, math.Inf(-1)
	c := &r.fit.curve
	flush := func() {
		if weight > 0.5 {
			out = append(out, Timing{RowMM: row / weight, Sec: c.sec(row/weight) + off/weight, Strokes: strokes})
			offs = append(offs, math.Abs(off/weight))
		}
		row, off, weight, strokes = 0, 0, 0, 0
	}
	for i := range r.list {
		s := &r.list[i]
		if s.weigh == 0 {
			continue
		}
		if block := math.Floor(c.sec(s.rowMM) / stretchSec); block != last {
			flush()
			last = block
		}
		row, weight, strokes = row+s.weigh*s.rowMM, weight+s.weigh, strokes+1
		off += s.weigh * (s.heard - c.sec(s.rowMM) - r.fit.delayOf(s.key))
	}
	flush()
	sigma := 0.001
	if m := 1.4826 * median(offs); m > sigma {
		sigma = m
	}
	for i := range out {
		out[i].SigmaSec = sigma
	}
	return out
}
