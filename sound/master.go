package sound

import (
	"math"

	"rollwright/loudness"
)

// Bounds of the finished sound. The peak is kept a tenth of a dB below the -1 dBTP
// that is promised, because meters interpolate a little differently.
const (
	ceilingDB    = -1.1
	mostLimitDB  = 6.0
	limiterReach = 24 // slices of 1.3 ms before and after a peak: too slow to bend the wave of A0
)

// A Report is what is known of a mixed sound.
type Report struct {
	SampleRate int
	Channels   int
	Frames     int64
	Strokes    int // notes that sound, after strokes on one key at one time were joined

	MixLUFS    float64 // integrated loudness before any gain
	GainDB     float64 // applied to all
	LimitDB    float64 // most the limiter takes away anywhere; 0: it is not used
	LUFS       float64 // integrated loudness of what is played; -Inf if there is too little
	TruePeakDB float64 // of what is played, dBTP; with a limiter, an upper bound
}

// Seconds is the length of the sound.
func (r Report) Seconds() float64 { return float64(r.Frames) / float64(r.SampleRate) }

// master decides gain and limiter from what was measured.
func (s *Sound) master() {
	r := &s.record
	peak := loudness.DB(r.TruePeak())
	s.report = Report{SampleRate: s.o.SampleRate, Channels: 2, Frames: s.frames, Strokes: s.strokes, MixLUFS: r.Integrated()}
	if s.o.Mono {
		s.report.Channels = 1
	}
	switch {
	case s.o.GainDB != nil:
		s.report.GainDB = *s.o.GainDB
	case s.o.TargetLUFS == nil || math.IsInf(s.report.MixLUFS, -1):
		s.report.GainDB = min(0, ceilingDB-peak)
	default:
		s.toTarget(*s.o.TargetLUFS, peak)
	}
	if s.curve == nil {
		s.report.LUFS = s.report.MixLUFS + s.report.GainDB
		s.report.TruePeakDB = peak + s.report.GainDB
	}
}

// toTarget finds the gain that brings the loudness to the target and, if peaks
// then stand out, the limiter that keeps them in. What the limiter takes is put
// back by gain, a few times over.
func (s *Sound) toTarget(target, peak float64) {
	gain := target - s.report.MixLUFS
	if peak+gain <= ceilingDB {
		s.report.GainDB = gain
		return
	}
	for range 6 {
		gain = min(gain, ceilingDB+mostLimitDB-peak)
		s.curve = limiter(s.record.Peak, math.Pow(10, (ceilingDB-gain)/20))
		s.report.GainDB = gain
		s.report.LUFS = gain + s.record.IntegratedWith(func(i int) float64 { return float64(s.curve[i]) })
		gain += target - s.report.LUFS
	}
	least, high := float32(1), float32(0)
	for i, p := range s.record.Peak {
		least = min(least, s.curve[i])
		around := max(s.curve[max(0, i-1)], s.curve[i], s.curve[min(len(s.curve)-1, i+1)])
		high = max(high, p*around)
	}
	s.report.LimitDB = -loudness.DB(float64(least))
	s.report.TruePeakDB = loudness.DB(float64(high)) + s.report.GainDB
}

// limiter is the gain of each slice that keeps peaks at or below a ceiling: the
// least that any slice within reach asks for, smoothed over less than that reach,
// so that it is down in time.
func limiter(peaks []float32, ceiling float64) []float32 {
	ask := make([]float32, len(peaks))
	for i, p := range peaks {
		ask[i] = 1
		if float64(p) > ceiling {
			ask[i] = float32(ceiling / float64(p))
		}
	}
	return smoothed(lowest(ask, limiterReach), limiterReach-2)
}

// lowest is the least of each value's neighbours, reach to either side, by a
// queue of those that may still be it.
func lowest(x []float32, reach int) []float32 {
	out := make([]float32, len(x))
	var queue []int
	for i := range len(x) + reach {
		if i < len(x) {
			for len(queue) > 0 && x[queue[len(queue)-1]] >= x[i] {
				queue = queue[:len(queue)-1]
			}
			queue = append(queue, i)
		}
		if at := i - reach; at >= 0 {
			for queue[0] < at-reach {
				queue = queue[1:]
			}
			out[at] = x[queue[0]]
		}
	}
	return out
}

// smoothed is the mean of each value's neighbours, those beyond the ends being
// like the last. The running sum is of whole numbers, so it does not drift.
func smoothed(x []float32, reach int) []float32 {
	out := make([]float32, len(x))
	const unit = 1 << 30
	at := func(i int) int64 { return int64(x[max(0, min(len(x)-1, i))] * unit) }
	sum := int64(0)
	for i := -reach; i <= reach; i++ {
		sum += at(i)
	}
	for i := range x {
		out[i] = float32(float64(sum) / unit / float64(2*reach+1))
		sum += at(i+reach+1) - at(i-reach)
	}
	return out
}
