package overhear

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"rollwright/internal/hall"
	"rollwright/sound/take"
)

// TestTakes: takes of several kinds, so that a change for the worse shows. In the first of
// dead keys, one of the two is struck with C4 in five of its six strokes. The series has the numbers.
func TestTakes(t *testing.T) {
	for _, c := range []struct {
		kind string
		n    int
	}{{"noise", 6}, {"dead", 4}, {"dead", 5}, {"part", 0}, {"lossy", 2}} {
		t.Run(fmt.Sprintf("%s %d", c.kind, c.n), func(t *testing.T) {
			x := newTrial(t, c.kind, c.n)
			r := x.hear(t)
			o := x.outcome(r)
			t.Logf("%+v", o)
			if o.rmsMS > 5 || math.Abs(o.biasMS) > 8 {
				t.Errorf("transport %.1f ms rms, %.1f ms off", o.rmsMS, o.biasMS)
			}
			if o.falseAlarm > 0 || o.deadFalse > 0 || o.deadFound < o.dead || 2*o.found < o.silent {
				t.Errorf("%+v", o)
			}
			counts := r.Counts()
			if unheard := counts.Before + counts.After; (unheard > 0) != (c.kind == "part") ||
				o.strokes+unheard != counts.Strokes {
				t.Errorf("%+v", counts)
			}
		})
	}
}

// TestSameAgain: the same take gives the same result to the last bit.
func TestSameAgain(t *testing.T) {
	x := newTrial(t, "plain", 2)
	rec := recorded(t, x.take)
	a, err := Hear(t.Context(), x.roll, rec)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Hear(t.Context(), x.roll, rec)
	if err != nil || !reflect.DeepEqual(a.Strokes(), b.Strokes()) || a.SpeedMMPerSec() != b.SpeedMMPerSec() {
		t.Errorf("another result, %v", err)
	}
}

// noise is a take of white noise.
func noise(sec, level float64) *take.Take {
	rng := rand.New(rand.NewPCG(3, 4))
	t := &take.Take{Rate: 11_025, Samples: make([]float32, int(sec*11_025))}
	for i := range t.Samples {
		t.Samples[i] = float32(level * rng.NormFloat64())
	}
	return t
}

// TestNotThisRoll: silence, noise, a take that is too short, and another piece are
// told apart from this roll, each by one sentence.
func TestNotThisRoll(t *testing.T) {
	r := laidOut(t, "first-thread", "88-note")
	hears := func(tk *take.Take, want error) {
		t.Helper()
		if _, err := Hear(t.Context(), r, tk); !errors.Is(err, want) {
			t.Errorf("%v, want %v", err, want)
		} else if s := err.Error(); strings.Contains(s, "\n") || strings.HasSuffix(s, ".") {
			t.Errorf("no plain sentence: %q", s)
		}
	}
	hears(noise(30, 0), ErrSilence)
	hears(noise(30, 2e-5), ErrSilence)
	hears(noise(30, 0.1), ErrOther)
	hears(noise(2, 0.1), ErrShort)
	few := *r
	few.Slots = few.Slots[:8]
	if _, err := Hear(t.Context(), &few, noise(30, 0.1)); !errors.Is(err, ErrFew) {
		t.Error(err)
	}
	for _, other := range []string{"bobbins", "twill"} {
		h := hall.Play(t, laidOut(t, other, "88-note"), hall.Spec{Seed: 4, BeginSec: 1, RoomSec: 0.4, RoomDB: -4,
			NoiseDB: 30})
		hears(recorded(t, h), ErrOther)
	}
}

// TestStopped: a context that has ended ends the work.
func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Hear(ctx, laidOut(t, "first-thread", "88-note"), noise(10, 0.1)); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// BenchmarkHear is a take of a minute and a half: 5 s and 300 MB are what it may
// take.
func BenchmarkHear(b *testing.B) {
	r := laidOut(b, "two-shuttles", "88-note")
	rec := recorded(b, hall.Play(b, r, hall.Spec{Seed: 1, BeginSec: 1.9, Speed: 0.99, Slowing: 2, RoomSec: 0.4, RoomDB: -4,
		NoiseDB: 20, TailSec: 1}))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Hear(b.Context(), r, rec); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(rec.Sec(), "s-of-take")
}
