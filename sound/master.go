package sound

import (
	"context"
	"math"
	"runtime"
	"slices"

	"rollwright/sound/loudness"
)

// Bounds of the finished sound. The peak is kept a tenth of a dB below the -1 dBTP
// that is promised, because meters interpolate a little differently.
const (
	ceilingDB    = -1.1
	limiterReach = 4 // slices of 1.3 ms in which the limiter comes down before a peak
	nearDB       = 0.001
	releaseSec   = 0.15 // in which it goes back by 63 %: too slow to bend the wave of A0
)

// MostLimitDB is the most that a limiter may take away: more would be heard as another way
// of playing.
const MostLimitDB = 12.0

// While mixing, true peaks are sought above the highest sample so far. Where a limiter has to
// know those below, they are sought again, down to lowPeak times the highest: below that is
// beyond MostLimitDB.
const lowPeak = 0.25

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
func (s *Sound) master(ctx context.Context) error {
	r := &s.record
	peak := loudness.DB(r.TruePeak())
	s.report = Report{SampleRate: s.o.SampleRate, Channels: 2, Frames: s.frames, Strokes: s.strokes,
		MixLUFS: r.Integrated()}
	if s.o.Mono {
		s.report.Channels = 1
	}
	switch {
	case s.o.GainDB != nil:
		s.report.GainDB = *s.o.GainDB
	case s.o.TargetLUFS == nil || math.IsInf(s.report.MixLUFS, -1):
		s.report.GainDB = min(0, ceilingDB-peak)
	default:
		if err := s.toTarget(ctx, *s.o.TargetLUFS, peak); err != nil {
			return err
		}
	}
	if s.curve == nil {
		s.report.LUFS = s.report.MixLUFS + s.report.GainDB
		s.report.TruePeakDB = peak + s.report.GainDB
	}
	return nil
}

// toTarget finds the gain that brings the loudness to the target and, if peaks
// then stand out, the limiter that keeps them in. What the limiter takes is put
// back by gain, a few times over.
func (s *Sound) toTarget(ctx context.Context, target, peak float64) error {
	gain := target - s.report.MixLUFS
	if peak+gain <= ceilingDB || s.o.LimitDB == 0 {
		s.report.GainDB = min(gain, ceilingDB-peak)
		return nil
	}
	if err := s.measureAgain(ctx); err != nil {
		return err
	}
	ask := make([]float32, len(s.record.Peak))
	s.curve = make([]float32, 0, len(s.record.Peak))
	for range 6 {
		gain = min(gain, ceilingDB+s.o.LimitDB-peak)
		s.curve = limiter(s.curve, ask, s.record.Peak, math.Pow(10, (ceilingDB-gain)/20))
		s.report.GainDB = gain
		s.report.LUFS = gain + s.record.IntegratedWith(func(i int) float64 { return float64(s.curve[i]) })
		if math.Abs(target-s.report.LUFS) < nearDB {
			break
		}
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
	return nil
}

// measureAgain finds true peaks further down, from the mix that the spool keeps,
// some runs at a time on all cores.
func (s *Sound) measureAgain(ctx context.Context) error {
	low := lowPeak * float32(s.record.TruePeak())
	s.record = loudness.Record{Rate: s.record.Rate, Energy: s.record.Energy,
		Peak: make([]float32, 0, len(s.record.Peak))}
	peaks := func(_, now [2][]float32) loudness.Analysis { return loudness.AnalysePeaks(s.o.SampleRate, now) }
	var before [2][]float32
	batch := 2 * runtime.GOMAXPROCS(0)
	for from := 0; from < s.spool.len(); from += batch {
		if err := ctx.Err(); err != nil {
			return err
		}
		runs := make([][2][]float32, min(batch, s.spool.len()-from))
		for i := range runs {
			x, err := s.spool.get(from + i)
			if err != nil {
				return err
			}
			if runs[i] = x; !s.spool.inMemory {
				runs[i] = [2][]float32{slices.Clone(x[0]), slices.Clone(x[1])}
			}
		}
		for _, a := range analysed(peaks, before, runs, func(float32) float32 { return low }) {
			s.record.Append(a)
		}
		before = runs[len(runs)-1]
	}
	return nil
}

// limiter is the gain of each slice that keeps peaks at or below a ceiling: the
// least that any slice within reach asks for, from which it goes back slowly,
// smoothed over less than that reach, so that it is down in time. It is written
// over curve; ask is scratch, as long as peaks.
func limiter(curve, ask, peaks []float32, ceiling float64) []float32 {
	for i, p := range peaks {
		ask[i] = 1
		if float64(p) > ceiling {
			ask[i] = float32(ceiling / float64(p))
		}
	}
	curve = lowest(curve, ask, limiterReach)
	back := float32(-math.Expm1(-sliceSec / releaseSec))
	now := float32(1)
	for i, g := range curve {
		now = min(g, now+(1-now)*back)
		curve[i] = now
	}
	return smoothed(curve, ask, limiterReach-2)
}

// sliceSec is about the length of a slice.
const sliceSec = 64.0 / 48000

// lowest writes to out the least of each value's neighbours, reach to either side,
// by a queue of those that may still be it.
func lowest(out, x []float32, reach int) []float32 {
	out = out[:0]
	var queue []int
	for i := range len(x) + reach {
		if i < len(x) {
			for len(queue) > 0 && x[queue[len(queue)-1]] >= x[i] {
				queue = queue[:len(queue)-1]
			}
			queue = append(queue, i)
		}
		if at := i - reach; at >= 0 {
			if queue[0] < at-reach {
				queue = append(queue[:0], queue[1:]...)
			}
			out = append(out, x[queue[0]])
		}
	}
	return out
}

// smoothed replaces x by the mean of each value's neighbours, those beyond the ends
// being like the last. The running sum is of whole numbers, so it does not drift.
// scratch is as long as x.
func smoothed(x, scratch []float32, reach int) []float32 {
	copy(scratch, x)
	const unit = 1 << 30
	at := func(i int) int64 { return int64(scratch[max(0, min(len(x)-1, i))] * unit) }
	sum := int64(0)
	for i := -reach; i <= reach; i++ {
		sum += at(i)
	}
	for i := range x {
		x[i] = float32(float64(sum) / unit / float64(2*reach+1))
		sum += at(i+reach+1) - at(i-reach)
	}
	return x
}
