package sound

import (
	"context"
	"errors"
	"slices"
	"testing"
)

// TestCloseAfterFailedPlay closes at once when the sink has failed, as a full
// disk makes a command do: nothing may still be working on the sound. The race
// detector, or an index out of range, would tell.
func TestCloseAfterFailedPlay(t *testing.T) {
	full := errors.New("disk full")
	for range 5 {
		s, err := Mix(context.Background(), slices.Values(randomEvents(200, 20, 1)), DefaultOptions(Felt))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Play(context.Background(), func(_, _ []float32) error { return full }); !errors.Is(err, full) {
			t.Errorf("playing: %v", err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}
