package find

import (
	"context"
	"errors"
	"testing"
	"time"
)

// ending is a context that ends when it has been asked so often.
type ending struct {
	context.Context
	asked, last int
}

func (e *ending) Err() error {
	if e.asked++; e.asked > e.last {
		return context.Canceled
	}
	return nil
}

// A search that is broken off, wherever it is, says so and claims nothing; one that
// was not asked to stop is the same as ever.
func TestStopped(t *testing.T) {
	whole := &ending{Context: t.Context(), last: 1 << 30}
	notes := fourVoices(200)
	if d, err := Find(whole, notes); err != nil || len(d.Voices) != 4 {
		t.Fatal(err)
	}
	if whole.asked < 100 {
		t.Errorf("asked %d times only whether to go on", whole.asked)
	}
	for last := 0; last < whole.asked; last = 2*last + 1 {
		d, err := Find(&ending{Context: t.Context(), last: last}, notes)
		if d != nil || !errors.Is(err, context.Canceled) {
			t.Fatalf("stopped after %d of %d: %v, %v", last, whole.asked, d, err)
		}
	}
}

// BenchmarkStopped reports how long a search of 100,000 notes goes on at most after
// it was stopped, at places all over it.
func BenchmarkStopped(b *testing.B) {
	notes := fourVoices(100_000)
	worst := time.Duration(0)
	for b.Loop() {
		for after := 50 * time.Millisecond; ; after *= 2 {
			ctx, stop := context.WithCancel(b.Context())
			stopped := make(chan time.Time, 1)
			time.AfterFunc(after, func() {
				stopped <- time.Now()
				stop()
			})
			_, err := Find(ctx, notes)
			done := time.Now()
			if err == nil {
				stop()
				break
			}
			worst = max(worst, done.Sub(<-stopped))
		}
	}
	b.ReportMetric(float64(worst.Milliseconds()), "worst-ms-after")
}
