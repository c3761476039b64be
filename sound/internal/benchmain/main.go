// Command benchmain plays random notes into a WAVE file, or writes the same notes
// as a MIDI file, so that a benchmark can time it against another program, whole
// process against whole process.
package main

import (
	"context"
	"encoding/binary"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"runtime/pprof"
	"slices"

	"rollwright/music/event"
	"rollwright/sound"
	"rollwright/sound/wav"
)

func main() {
	notes := flag.Int("notes", 3000, "how many notes")
	seconds := flag.Float64("seconds", 180, "in how many seconds")
	anything := flag.Bool("anything", false, "at any level, on any key")
	cache := flag.String("cache", "", "folder of the cache of notes")
	out := flag.String("o", "", "WAVE file to write")
	mid := flag.String("midi", "", "MIDI file to write instead")
	profile := flag.String("cpuprofile", "", "profile to write")
	flag.Parse()
	if *profile != "" {
		f, err := os.Create(*profile)
		if err == nil {
			pprof.StartCPUProfile(f)
			defer pprof.StopCPUProfile()
		}
	}
	if err := run(random(*notes, *seconds, *anything), *cache, *out, *mid); err != nil {
		fmt.Fprintln(os.Stderr, "benchmain:", err)
		os.Exit(1)
	}
}

// random are notes spread evenly over the time, of 50 to 400 ms: at the eight plain
// levels on six octaves, or anything.
func random(n int, seconds float64, anything bool) []event.Event {
	rng := rand.New(rand.NewPCG(1, 1))
	levels := []int16{16, 33, 49, 64, 80, 96, 112, 126}
	var events []event.Event
	for i := range n {
		start := float64(i) * seconds / float64(n)
		e := event.Event{
			StartSec: start, EndSec: start + 0.05 + 0.35*rng.Float64(), Note: int32(i + 1), Part: 1,
			Key: int16(28 + rng.IntN(73)), Level: levels[rng.IntN(len(levels))],
		}
		if anything {
			e.Key, e.Level = int16(sound.LowestKey+rng.IntN(88)), int16(1+rng.IntN(127))
		}
		events = append(events, e)
	}
	return events
}

func run(events []event.Event, cache, out, mid string) error {
	if mid != "" {
		return os.WriteFile(mid, midi(events), 0o666)
	}
	o := sound.DefaultOptions(sound.Metal)
	if cache != "" {
		c, err := sound.OpenCache(cache, sound.DefaultCacheBytes)
		if err != nil {
			return err
		}
		o.Cache = c
	}
	s, err := sound.Mix(context.Background(), slices.Values(events), o)
	if err != nil {
		return err
	}
	defer s.Close()
	r := s.Report()
	fmt.Printf("%d strokes, %.1f s, %.2f LUFS, %.2f dBTP, gain %.2f, limit %.2f\n", r.Strokes, r.Seconds(), r.LUFS,
		r.TruePeakDB, r.GainDB, r.LimitDB)
	f, err := os.Create(out)
	if err != nil {
		return err
	}
	defer f.Close() // again, if something fails
	w, err := wav.NewWriter(f, wav.Format{Rate: r.SampleRate, Channels: r.Channels, Bits: 16, Frames: r.Frames})
	if err != nil {
		return err
	}
	if err := s.Play(context.Background(), w.Write); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	return f.Close()
}

// midi is a file of one track, 500 ticks a quarter note of half a second, so a
// tick a millisecond.
func midi(events []event.Event) []byte {
	type change struct {
		at       int64
		on       byte
		key, vel byte
	}
	var changes []change
	for _, e := range events {
		changes = append(changes,
			change{int64(e.StartSec * 1000), 1, byte(e.Key), byte(e.Level)},
			change{int64(e.EndSec * 1000), 0, byte(e.Key), 0})
	}
	slices.SortStableFunc(changes, func(a, b change) int {
		if a.at != b.at {
			return int(a.at - b.at)
		}
		return int(a.on) - int(b.on)
	})
	track := []byte("\x00\xff\x51\x03\x07\xa1\x20\x00\xc0\x00")
	last := int64(0)
	for _, c := range changes {
		track = append(quantity(track, c.at-last), 0x90, c.key, c.vel)
		last = c.at
	}
	track = append(track, "\x00\xff\x2f\x00"...)
	b := []byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xf4MTrk")
	return append(binary.BigEndian.AppendUint32(b, uint32(len(track))), track...)
}

// quantity appends a variable-length quantity.
func quantity(b []byte, n int64) []byte {
	var digits []byte
	for ; n > 0x7f; n >>= 7 {
		digits = append(digits, byte(n&0x7f))
	}
	b = append(b, byte(n))
	if len(digits) > 0 {
		b[len(b)-1] |= 0x80
	}
	for i := len(digits) - 1; i >= 0; i-- {
		d := digits[i]
		if i > 0 {
			d |= 0x80
		}
		b = append(b, d)
	}
	return b
}
