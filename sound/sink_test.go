package sound_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"rollwright/music/event"
	"rollwright/sound"
)

// The note itself, mixed and measured, has at the time that SinkSec tells an energy
// 60 dB below its first fifth of a second, to within what the body adds and 2 %
// of the time: before it is louder, after it stays below.
func TestSinkSec(t *testing.T) {
	for _, key := range []int{45, 60, 84, 100} {
		sec, err := sound.SinkSec(key, sound.Felt)
		if err != nil {
			t.Fatal(err)
		}
		frames := heldNote(t, key, sec+3)
		rate := 48000
		first := energyOf(frames, 0, rate/5)
		down := func(at float64) float64 {
			from := int(at * float64(rate))
			return 10 * math.Log10(energyOf(frames, from, from+rate/5)/first)
		}
		t.Logf("key %d: %.2f s; at it %.1f dB, a tenth before %.1f dB", key, sec, down(sec), down(0.9*sec))
		if at := down(sec); at > -58 || at < -66 {
			t.Errorf("key %d: %.1f dB at %.2f s, want about -60", key, at, sec)
		}
		if before := down(0.8 * sec); before < -58 {
			t.Errorf("key %d: already %.1f dB at 0.8 of the time", key, before)
		}
	}
	if _, err := sound.SinkSec(5, sound.Felt); err == nil {
		t.Error("a key without strings has sunk")
	}
}

// The bass rings longer than the treble; every key sinks in the end.
func TestSinkSecOverTheKeyboard(t *testing.T) {
	var all []float64
	for _, key := range []int{21, 33, 45, 57, 69, 81, 93, 105} {
		sec, err := sound.SinkSec(key, sound.Metal)
		if err != nil || !(sec > 0.1) || sec > 90 {
			t.Errorf("key %d: %g s, %v", key, sec, err)
		}
		all = append(all, sec)
	}
	t.Log(all)
	if slices.Max(all[6:]) > slices.Min(all[:3]) {
		t.Errorf("treble rings longer than bass: %v", all)
	}
}

func heldNote(t *testing.T, key int, sec float64) []float32 {
	t.Helper()
	o := sound.DefaultOptions(sound.Felt)
	o.Pianos[0].Dry = 0
	events := slices.Values([]event.Event{{EndSec: sec, Voice: 0, Note: 1, Part: 1, Key: int16(key), Level: 80}})
	s, err := sound.Mix(context.Background(), events, o)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var out []float32
	err = s.Play(context.Background(), func(left, _ []float32) error {
		out = append(out, left...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func energyOf(frames []float32, from, to int) float64 {
	sum := 0.0
	for _, x := range frames[min(from, len(frames)):min(to, len(frames))] {
		sum += float64(x) * float64(x)
	}
	return sum
}
