package find

import (
	"context"
	"io"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the notes, each has a voice of the design or none, what is not
// explained is counted once, and all that is written can be written.
func TestAnyNotes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SampledFrom([][]string{{""}, {"a"}, {"a", "b"}, {"", "a"}}).Draw(t, "names")
		grid := rapid.SampledFrom([]float64{0, 0.1, 1e-9, 1000}).Draw(t, "grid")
		notes := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Note {
			start := float64(rapid.IntRange(0, 60).Draw(t, "start")) * grid
			return Note{
				Key: rapid.IntRange(0, 127).Draw(t, "key"), StartSec: start,
				EndSec: start + float64(rapid.IntRange(0, 3).Draw(t, "length"))*0.1,
				Voice:  rapid.SampledFrom(names).Draw(t, "voice"), Number: rapid.IntRange(0, 5).Draw(t, "number"),
			}
		}), 0, 60).Draw(t, "notes")
		d, err := Find(context.Background(), notes)
		if err != nil {
			t.Fatal(err)
		}
		if len(d.Notes) != len(notes) || len(d.Of) != len(notes) && len(notes) > 0 {
			t.Fatalf("%d notes became %d", len(notes), len(d.Notes))
		}
		if d.Unexplained < 0 || d.Unexplained > d.Count || d.Count > len(notes) {
			t.Fatalf("%d of %d unexplained, of %d rows", d.Unexplained, d.Count, len(notes))
		}
		for _, c := range d.Canons {
			if !(c.Low <= c.Speed && c.Speed <= c.High) || math.IsNaN(c.Speed) {
				t.Fatalf("speed %g is not in %g..%g", c.Speed, c.Low, c.High)
			}
		}
		for _, err := range []error{WriteJSON(io.Discard, d), WriteText(io.Discard, d), WriteRows(io.Discard, d),
			WriteDraft(io.Discard, d, "x.csv")} {
			if err != nil {
				t.Fatal(err)
			}
		}
	})
}
