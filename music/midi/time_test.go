package midi

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestTickAt(t *testing.T) {
	for _, test := range []struct {
		sec  float64
		want uint64
	}{
		{0, 0},
		{-3, 0},
		{0.000009, 0},              // 0.45 ticks
		{0.000011, 1},              // 0.55 ticks
		{0.5 / 16384, 2},           // 1.53 ticks
		{3.0 / 32768 * 0.78125, 4}, // 3.576 ticks
		{1, 50_000},
		{36_000, 1_800_000_000}, // ten hours
	} {
		if got := TickAt(test.sec); got != test.want {
			t.Errorf("TickAt(%v) = %d, want %d", test.sec, got, test.want)
		}
	}
}

// Whatever the time within ten hours, its tick lies within half a tick of it.
func TestTickAtIsTheNearest(t *testing.T) {
	clock, err := NewClock(&File{Format: 1, Division: ticksPerQuarter})
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		sec := rapid.Float64Range(0, 36_000).Draw(t, "sec")
		if off := math.Abs(clock.Seconds(TickAt(sec)) - sec); off > TickSec/2+1e-10 {
			t.Fatalf("%v s becomes a tick %v s away", sec, off)
		}
	})
}

func tempoEvent(tick uint64, us int) Event {
	return Event{Tick: tick, Status: Meta, A: Tempo, Data: []byte{byte(us >> 16), byte(us >> 8), byte(us)}}
}

func TestClock(t *testing.T) {
	// 480 ticks a quarter. To tick 960 at the unwritten 500,000 us: 1 s. To tick
	// 1440 at 250,000 us: a quarter more. From there 1,000,000 us a quarter.
	file := &File{Format: 1, Division: 480, Tracks: []Track{
		{Events: []Event{tempoEvent(1440, 1_000_000)}},
		{Events: []Event{tempoEvent(960, 1), tempoEvent(960, 250_000)}},
	}}
	clock, err := NewClock(file)
	if err != nil {
		t.Fatal(err)
	}
	for tick, want := range map[uint64]float64{0: 0, 480: 0.5, 960: 1, 1200: 1.125, 1440: 1.25, 1920: 2.25, 4800: 8.25} {
		if got := clock.Seconds(tick); got != want {
			t.Errorf("tick %d is at %v s, want %v", tick, got, want)
		}
	}
}

func TestClockOfTimeCode(t *testing.T) {
	// -29 frames means 30000/1001 a second; with 100 ticks a frame 3,000,000 ticks
	// are 1001 s. -25 and 40 make a tick a millisecond, the standard's example.
	for _, test := range []struct {
		division Division
		tick     uint64
		want     float64
	}{{0xE364, 3_000_000, 1001}, {0xE728, 1234, 1.234}, {0xE804, 96, 1}} {
		clock, err := NewClock(&File{Format: 1, Division: test.division})
		if err != nil {
			t.Fatal(err)
		}
		if got := clock.Seconds(test.tick); math.Abs(got-test.want) > 1e-12 {
			t.Errorf("division %#x: tick %d is at %v s, want %v", uint16(test.division), test.tick, got, test.want)
		}
	}
}

func TestClockRefuses(t *testing.T) {
	with := func(data ...byte) *File {
		return &File{Format: 1, Division: 96, Tracks: []Track{{Events: []Event{{Status: Meta, A: Tempo, Data: data}}}}}
	}
	var broken FormatError
	for _, f := range []*File{with(), with(1, 2), with(1, 2, 3, 4), with(0, 0, 0), {Format: 1}} {
		if _, err := NewClock(f); !errors.As(err, &broken) {
			t.Errorf("NewClock gave %v", err)
		}
	}
	var unsupported UnsupportedError
	if _, err := NewClock(&File{Format: 2, Division: 96}); !errors.As(err, &unsupported) {
		t.Errorf("format 2: %v", err)
	}
}
