package sound

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io/fs"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rollwright/music/event"
	"rollwright/sound/loudness"
)

// plain are options without any gain, dry, on one piano in the middle.
func plain(h Hammers) Options {
	zero := 0.0
	return Options{Pianos: []Piano{{Hammers: h, Dry: 1}}, GainDB: &zero}
}

func note1(start, end float64, key, level int16) event.Event {
	return event.Event{StartSec: start, EndSec: end, Note: 1, Part: 1, Key: key, Level: level}
}

// played are all frames of a mix.
func played(t testing.TB, events []event.Event, o Options) (left, right []float32, r Report) {
	t.Helper()
	s, err := Mix(context.Background(), slices.Values(events), o)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	err = s.Play(context.Background(), func(l, r []float32) error {
		left, right = append(left, l...), append(right, r...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if int64(len(left)) != s.Report().Frames {
		t.Fatalf("%d frames played, %d reported", len(left), s.Report().Frames)
	}
	return left, right, s.Report()
}

// onset is the first frame that is at least a thousandth of the peak.
func onset(x []float32) int {
	peak := float32(0)
	for _, v := range x {
		peak = max(peak, v, -v)
	}
	return slices.IndexFunc(x, func(v float32) bool { return max(v, -v) >= peak/1000 })
}

// A stroke is heard within a sample of its event, whatever the key, the hammers
// and the level.
func TestOnsets(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for key := int16(LowestKey); key <= HighestKey; key += 3 {
		for h := Felt; h <= Tacks; h++ {
			for _, level := range []int16{16, 70, 126} {
				start := 0.001 + rng.Float64()/10
				left, _, _ := played(t, []event.Event{note1(start, start+0.1, key, level)}, plain(h))
				if got, want := onset(left), start*48000; math.Abs(float64(got)-want) > 1 {
					t.Errorf("key %d, %v, level %d: onset at frame %d, event at %.2f", key, h, level, got, want)
				}
			}
		}
	}
}

// Does it matter that a stroke begins on a whole frame? The ear's finest
// difference of time, between the two ears, is 10 microseconds (R. G. Klumpp and H.
// R. Eady, JASA 28 (1956) 859, from memory); half a frame at 48 kHz is 10.4. Two
// pianos that strike one key together, one of them off by half a frame, sum at 5
// kHz, above which hardly anything of a note is left, to 0.12 dB less than when
// exact: 20 log10 cos(pi * 5000 * 10.4e-6). A tenth of the smallest difference of
// loudness that is heard (about 1 dB). So no.
func TestHalfAFrameIsNotHeard(t *testing.T) {
	// What lies above 5 kHz of a whole note, metal, loud, C5: less than a hundredth.
	x := rendered(t, 72, Metal, 0.5, 112, 6)
	above, all := 0.0, 0.0
	p := powerOf(windowed(x))
	for i, v := range p {
		all += v
		if float64(i)*testRate/float64(2*len(x)) > 5000 {
			above += v
		}
	}
	if above > 0.01*all {
		t.Errorf("%.3f of the power above 5 kHz", above/all)
	}
}

func TestFrameAt(t *testing.T) {
	for _, test := range []struct {
		sec  float64
		want int64
	}{{0, 0}, {1, 48000}, {0.5 / 48000, 1}, {0.49 / 48000, 0}, {-0.5 / 48000, 0}, {-0.51 / 48000, -1},
		{36000, 1728000000}} {
		if got := FrameAt(test.sec, 48000); got != test.want {
			t.Errorf("%v s: frame %d, wanted %d", test.sec, got, test.want)
		}
	}
}

// randomEvents are n notes in some seconds, on one or two pianos.
func randomEvents(n int, seconds float64, pianos int) []event.Event {
	rng := rand.New(rand.NewPCG(7, 8))
	var events []event.Event
	for i := range n {
		start := float64(i) * seconds / float64(n)
		events = append(events, event.Event{
			StartSec: start, EndSec: start + 0.02 + 0.5*rng.Float64(), Voice: int32(i % 3), Note: int32(i + 1), Part: 1,
			Piano: int16(rng.IntN(pianos)), Key: int16(LowestKey + rng.IntN(88)), Level: int16(1 + rng.IntN(127)),
		})
	}
	return events
}

// fewNotes leaves a hundred notes to compute: 30 keys at three plain levels.
func fewNotes(events []event.Event) []event.Event {
	for i := range events {
		events[i].Key = 40 + events[i].Key%30
		events[i].Level = []int16{49, 80, 112}[events[i].Level%3]
	}
	return events
}

func hashOf(left, right []float32) [32]byte {
	b := appendFloats(appendFloats(nil, left), right)
	return sha256.Sum256(b)
}

// The same samples to the bit: on one core and on many, with a cache that is cold,
// warm, full of damage, or none.
func TestSameSamplesAlways(t *testing.T) {
	events := randomEvents(80, 3, 2)
	fewNotes(events[20:])
	o := DefaultOptions(Metal, Tacks)
	left, right, _ := played(t, events, o)
	want := hashOf(left, right)
	again := func(what string, o Options) {
		t.Helper()
		left, right, _ := played(t, events, o)
		if hashOf(left, right) != want {
			t.Errorf("%s: other samples", what)
		}
	}
	for _, cores := range []int{1, 5} {
		old := runtime.GOMAXPROCS(cores)
		again("other number of cores", o)
		runtime.GOMAXPROCS(old)
	}
	dir := t.TempDir()
	c, err := OpenCache(dir, DefaultCacheBytes)
	if err != nil {
		t.Fatal(err)
	}
	o.Cache = c
	again("cold cache", o)
	again("warm cache", o)
	damage(t, dir)
	again("damaged cache", o)
	again("mended cache", o)
	if err := c.Err(); err != nil {
		t.Error(err)
	}
}

// damage cuts, empties, overwrites or flips a bit of every note file in turn.
func damage(t *testing.T, dir string) {
	t.Helper()
	n := 0
	filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		switch n++; n % 5 {
		case 0:
			b = b[:len(b)*2/3]
		case 1:
			b = nil
		case 2:
			b[len(b)/2] ^= 0x40
		case 3:
			b[noteHead+5] ^= 1
		case 4:
			copy(b, "something else")
		}
		if err := os.WriteFile(name, b, 0o666); err != nil {
			t.Fatal(err)
		}
		return nil
	})
	if n < 40 {
		t.Fatalf("only %d notes in the cache", n)
	}
}

// A cache that is too full loses what was unused for longest, and notes of other
// versions before all.
func TestCacheBound(t *testing.T) {
	dir := t.TempDir()
	old := filepath.Join(dir, "model-of-before")
	if err := os.MkdirAll(old, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(old, "021-1.note"), make([]byte, 1<<20), 0o666); err != nil {
		t.Fatal(err)
	}
	const most = 600 << 10
	c, err := OpenCache(dir, most)
	if err != nil {
		t.Fatal(err)
	}
	o := DefaultOptions(Felt)
	o.Cache = c
	played(t, randomEvents(30, 2, 1), o)
	size, stale := int64(0), false
	filepath.WalkDir(dir, func(name string, d fs.DirEntry, err error) error {
		if info, err := d.Info(); err == nil && !d.IsDir() {
			size += info.Size()
			stale = stale || strings.Contains(name, "before")
		}
		return nil
	})
	if size > most || size == 0 || stale {
		t.Errorf("%d bytes kept of %d, stale notes kept: %v", size, most, stale)
	}
}

// Notes of nearly the same dryness are not taken for each other.
func TestCacheTellsDryness(t *testing.T) {
	c, err := OpenCache(t.TempDir(), DefaultCacheBytes)
	if err != nil {
		t.Fatal(err)
	}
	with := func(dry float64, c *Cache) [32]byte {
		o := plain(Felt)
		o.Pianos[0].Dry, o.Cache = dry, c
		left, right, _ := played(t, []event.Event{note1(0, 1, 48, 80)}, o)
		return hashOf(left, right)
	}
	with(0.496, c)
	if with(0.504, c) != with(0.504, nil) {
		t.Error("a note of another dryness was taken from the cache")
	}
}

// Several mixes may share a cache, and what is not its own stays in its folder.
func TestCacheIsShared(t *testing.T) {
	dir := t.TempDir()
	other := filepath.Join(dir, "thesis.txt")
	if err := os.WriteFile(other, make([]byte, 1<<20), 0o666); err != nil {
		t.Fatal(err)
	}
	old := time.Now().Add(-48 * time.Hour)
	if err := os.Chtimes(other, old, old); err != nil {
		t.Fatal(err)
	}
	c, err := OpenCache(dir, 300<<10)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for i := range 6 {
		wg.Go(func() {
			o := plain(Felt)
			o.Cache = c
			s, err := Mix(context.Background(), slices.Values([]event.Event{note1(0, 0.2, int16(50+i), 80)}), o)
			if err != nil {
				t.Error(err)
				return
			}
			s.Close()
		})
	}
	wg.Wait()
	if _, err := os.Stat(other); err != nil {
		t.Error(err)
	}
}

// A cache that cannot be written to costs time, not the sound.
func TestCacheThatFails(t *testing.T) {
	dir := t.TempDir()
	c, err := OpenCache(dir, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	os.RemoveAll(dir)
	if err := os.WriteFile(dir, nil, 0o666); err != nil { // a file where the folder was
		t.Fatal(err)
	}
	defer os.Remove(dir)
	o := plain(Felt)
	o.Cache = c
	played(t, []event.Event{note1(0, 0.1, 60, 80)}, o)
	if c.Err() == nil {
		t.Error("no error is known")
	}
	if _, err := OpenCache(filepath.Join(dir, "x"), 1); err == nil {
		t.Error("a folder under a file was opened")
	}
}

// What comes out is at -16 LUFS and peaks at -1 dBTP at most, measured on what was
// played, at either sample rate, in stereo and mono, with and without limiter.
func TestLoudnessAndPeak(t *testing.T) {
	cache, err := OpenCache(t.TempDir(), DefaultCacheBytes)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{12, 60, 600} {
		for _, rate := range []int{48000, 44100} {
			for _, mono := range []bool{false, true} {
				o := DefaultOptions(Tacks)
				target := -16.0
				o.TargetLUFS, o.LimitDB = &target, MostLimitDB
				o.SampleRate, o.Mono, o.Cache = rate, mono, cache
				left, right, r := played(t, fewNotes(randomEvents(n, 6, 1)), o)
				if mono {
					right = nil
				}
				m, err := loudness.NewMeter(rate)
				if err != nil {
					t.Fatal(err)
				}
				m.Write(left, right)
				rec := m.Record()
				if peak := loudness.DB(rec.TruePeak()); peak > -1 || peak > r.TruePeakDB+0.01 {
					t.Errorf("%d notes at %d Hz: true peak %.2f dBTP, reported %.2f", n, rate, peak, r.TruePeakDB)
				}
				got := rec.Integrated()
				if math.Abs(got-r.LUFS) > 0.05 {
					t.Errorf("%d notes at %d Hz: %.2f LUFS, reported %.2f", n, rate, got, r.LUFS)
				}
				held := r.LimitDB > MostLimitDB-0.1
				if math.Abs(got+16) > 0.1 && !held || got > -15.9 {
					t.Errorf("%d notes at %d Hz: %.2f LUFS, limited by %.1f dB", n, rate, got, r.LimitDB)
				}
			}
		}
	}
}

func TestKeepLoudness(t *testing.T) {
	o := DefaultOptions(Felt)
	o.TargetLUFS = nil
	_, _, r := played(t, []event.Event{note1(0, 1, 60, 16)}, o)
	if r.GainDB != 0 {
		t.Errorf("gain %.2f dB of a soft note", r.GainDB)
	}
	var loud []event.Event
	for key := int16(30); key < 100; key++ {
		loud = append(loud, note1(0, 1, key, 126))
	}
	_, _, r = played(t, loud, o)
	if r.TruePeakDB > -1 || r.GainDB >= 0 {
		t.Errorf("gain %.2f dB, peak %.2f dBTP", r.GainDB, r.TruePeakDB)
	}
}

// Nothing sounds before the first stroke nor between strokes far apart: the samples
// are zero. All are numbers.
func TestSilence(t *testing.T) {
	events := []event.Event{note1(1, 1.2, 60, 100), note1(4, 4.2, 80, 100)}
	left, right, _ := played(t, events, DefaultOptions(Metal))
	for i := range left {
		sec := float64(i) / 48000
		if quiet := sec < 1-1e-4 || sec > 1.8 && sec < 4-1e-4; quiet && (left[i] != 0 || right[i] != 0) {
			t.Fatalf("%v and %v at %.4f s", left[i], right[i], sec)
		}
		if left[i] != left[i] || right[i] != right[i] {
			t.Fatalf("no number at %.4f s", sec)
		}
	}
	if n := len(left); n > 5*48000 {
		t.Errorf("%d frames for 4.2 s and a tail", n)
	}
}

// The damper stops a note without a click: no step between frames in the release
// that is larger than those of the note.
func TestDamper(t *testing.T) {
	for _, key := range []int16{24, 48, 60, 72, 88} {
		left, _, _ := played(t, []event.Event{note1(0, 0.5, key, 100)}, plain(Felt))
		step := func(from, to float64) float64 {
			worst := 0.0
			for i := int(from * 48000); i < min(int(to*48000), len(left)-1); i++ {
				worst = math.Max(worst, math.Abs(float64(left[i+1]-left[i])))
			}
			return worst
		}
		if before, after := step(0.4, 0.5), step(0.5, 0.6); after > before*1.05 {
			t.Errorf("key %d: steps of %.2g, of %.2g after the damper", key, before, after)
		}
		if c := courseOf(t, int(key)); float64(len(left))/48000 > 0.5+1.3*c.DamperLowSec+0.02 {
			t.Errorf("key %d: still there at %.2f s", key, float64(len(left))/48000)
		}
	}
	// C8 has no damper and rings on.
	long, _, _ := played(t, []event.Event{note1(0, 0.05, 108, 100)}, Options{Pianos: []Piano{{}}, GainDB: new(float64)})
	if sec := float64(len(long)) / 48000; sec < 0.8 {
		t.Errorf("C8 ends after %.2f s", sec)
	}
}

// Two pianos stand left and right, and in each the bass is left of the treble.
func TestPlaces(t *testing.T) {
	balance := func(piano, key int16) float64 {
		e := note1(0, 0.3, key, 80)
		e.Piano = piano
		o := DefaultOptions(Felt, Felt)
		left, right, _ := played(t, []event.Event{e}, o)
		a, b := 0.0, 0.0
		for i := range left {
			a += float64(left[i]) * float64(left[i])
			b += float64(right[i]) * float64(right[i])
		}
		return 10 * math.Log10(b/a)
	}
	last := math.Inf(-1)
	for _, place := range [][2]int16{{0, 21}, {0, 60}, {0, 108}, {1, 21}, {1, 60}, {1, 108}} {
		if got := balance(place[0], place[1]); got <= last {
			t.Errorf("piano %d, key %d: %.1f dB to the right, wanted more than %.1f", place[0], place[1], got, last)
		} else {
			last = got
		}
	}
	if left := balance(0, 60); left > -3 {
		t.Errorf("the left piano is %.1f dB to the right", left)
	}
}

// Playing at twice the rate brings strokes to half their time and leaves the pitch.
func TestRate(t *testing.T) {
	events := []event.Event{note1(0, 0.4, 69, 100), note1(2, 2.4, 69, 100)}
	for _, rate := range []float64{0.25, 1, 4} {
		o := plain(Felt)
		o.Rate = rate
		left, _, _ := played(t, events, o)
		second := int(2 / rate * 48000)
		if got := onset(left[second-100:]); got < 99 || got > 101 {
			t.Errorf("rate %v: second stroke %d frames off", rate, got-100)
		}
		y := windowed(append([]float64(nil), widen(left[1000:1000+4096])...))
		if hz := lineNear(powerOf(y), 48000/float64(len(y)), 440); math.Abs(hz-440) > 1.5 {
			t.Errorf("rate %v: A4 at %.2f Hz", rate, hz)
		}
	}
}

func widen(x []float32) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = float64(v)
	}
	return y
}

// A stretch begins in the middle of what rings then, softly, and no note starts at
// or after its end.
func TestFromTo(t *testing.T) {
	events := []event.Event{note1(0, 3, 48, 100), note1(1, 1.5, 60, 100), note1(2, 2.5, 72, 100)}
	o := plain(Felt)
	o.FromSec, o.ToSec = 0.5, 2
	left, _, r := played(t, events, o)
	if r.Strokes != 2 {
		t.Errorf("%d strokes, wanted 2", r.Strokes)
	}
	if left[0] != 0 || onset(left) > 200 {
		t.Errorf("begins with %v, heard from frame %d", left[0], onset(left))
	}
	if sec := r.Seconds(); sec < 1 || sec > 2.2 {
		t.Errorf("%.2f s long", sec)
	}
	o.FromSec, o.ToSec = 10, 20
	if _, err := Mix(context.Background(), slices.Values(events), o); !errors.Is(err, ErrNothing) {
		t.Errorf("an empty stretch: %v", err)
	}
}

// Strokes of one key within half a millisecond are one, the loudest; one that comes
// later stops what rang.
func TestOneKey(t *testing.T) {
	one, _, _ := played(t, []event.Event{note1(0, 0.5, 60, 100)}, plain(Felt))
	both, _, r := played(t, []event.Event{note1(0, 0.3, 60, 50), note1(0.0004, 0.5, 60, 100)}, plain(Felt))
	if r.Strokes != 1 || hashOf(one, nil) != hashOf(both, nil) {
		t.Errorf("%d strokes, or other samples", r.Strokes)
	}
	_, _, r = played(t, []event.Event{note1(0, 0.3, 60, 50), note1(0.0006, 0.5, 60, 100)}, plain(Felt))
	if r.Strokes != 2 {
		t.Errorf("%d strokes 0.6 ms apart", r.Strokes)
	}
	// Restruck every 100 ms for two seconds, held all the time: no pile of sound.
	var fast []event.Event
	for i := range 20 {
		fast = append(fast, note1(float64(i)/10, 10, 60, 100))
	}
	x, _, _ := played(t, fast, Options{Pianos: []Piano{{}}, GainDB: new(float64)})
	fifth, last := rmsOf(x[4*4800:8*4800]), rmsOf(x[16*4800:20*4800])
	if last > fifth*1.1 {
		t.Errorf("grows from %v to %v", fifth, last)
	}
}

func peakOf(x []float32) float32 {
	p := float32(0)
	for _, v := range x {
		p = max(p, v, -v)
	}
	return p
}

// A single punch sounds as long as its hole holds the port open.
func TestSingle(t *testing.T) {
	e := note1(0, 0, 60, 80)
	e.Single = true
	o := plain(Felt)
	o.Pianos[0].SingleSec = 0.2
	single, _, _ := played(t, []event.Event{e}, o)
	long, _, _ := played(t, []event.Event{note1(0, 0.2, 60, 80)}, o)
	if hashOf(single, nil) != hashOf(long, nil) {
		t.Error("a single of 200 ms is no note of 200 ms")
	}
}

// A level between two layers is between them in loudness, and levels never fall.
func TestLevels(t *testing.T) {
	for h := Felt; h <= Tacks; h++ {
		last := 0.0
		for level := 1; level <= 127; level += 2 {
			x, _, _ := played(t, []event.Event{note1(0, 0.2, 60, int16(level))}, plain(h))
			sum := 0.0
			for _, v := range x {
				sum += float64(v) * float64(v)
			}
			if sum <= last {
				t.Errorf("%v: level %d is softer than level %d", h, level, level-2)
			}
			if last > 0 && sum > last*1.7 {
				t.Errorf("%v: level %d is %.1f dB above level %d", h, level, 10*math.Log10(sum/last), level-2)
			}
			last = sum
		}
	}
}

// On every key and with every hammer a layer is louder than the one below it, by what
// a note of 0.2 s holds.
func TestLayersOfEveryKey(t *testing.T) {
	c, err := OpenCache(t.TempDir(), DefaultCacheBytes)
	if err != nil {
		t.Fatal(err)
	}
	for h := Felt; h <= Tacks; h++ {
		for key := int16(LowestKey); key <= HighestKey; key++ {
			if h != Tacks && key%4 != 0 {
				continue // where one touch is all there is, keys differ little
			}
			o := DefaultOptions(h)
			zero := 0.0
			o.Mono, o.TargetLUFS, o.GainDB, o.Cache = true, nil, &zero, c
			var events []event.Event
			for i, level := range layerLevels {
				events = append(events, note1(float64(i), float64(i)+0.2, key, int16(level)))
			}
			x, _, _ := played(t, events, o)
			last := 0.0
			for i, level := range layerLevels {
				sum := 0.0
				for _, v := range x[i*testRate : min(len(x), i*testRate+testRate/5)] {
					sum += float64(v) * float64(v)
				}
				if sum <= last*1.1 {
					t.Errorf("%v, key %d: level %d is %.1f dB above the layer below", h, key, level, 10*math.Log10(sum/last))
				}
				last = sum
			}
		}
	}
}

// A note that begins where the sound does keeps its attack though an earlier one is
// still heard, which comes in softly.
func TestAttackAtTheBeginning(t *testing.T) {
	early, late := note1(0, 2, 30, 30), note1(1, 1.3, 96, 120)
	o := plain(Felt)
	o.Mono, o.FromSec = true, 1
	both, _, _ := played(t, []event.Event{early, late}, o)
	alone, _, _ := played(t, []event.Event{late}, o)
	rest, _, _ := played(t, []event.Event{early}, o)
	o.FromSec = 0
	whole, _, _ := played(t, []event.Event{early}, o)
	for i := range 480 { // in over 5 ms, 240 frames
		if want := whole[48000+i] * float32(min(1, float64(i)/240)); math.Abs(float64(rest[i]-want)) > 1e-7 {
			t.Fatalf("frame %d of what began earlier: %v, wanted %v", i, rest[i], want)
		}
	}
	for i := range 480 {
		if want := alone[i] + rest[i]; math.Abs(float64(both[i]-want)) > 1e-6 {
			t.Fatalf("frame %d: %v, wanted %v", i, both[i], want)
		}
	}
}

// A soft blow on a string that rings loudly takes a share of it and no more: after 60 ms
// about KeptShare of what the loud note alone would be is heard, where the damper stays up.
func TestSoftBlowDoesNotChoke(t *testing.T) {
	for _, key := range []int16{36, 60} {
		o := plain(Felt)
		o.Mono = true
		loud, soft := note1(0, 2, key, 112), note1(0.3, 2, key, 1)
		both, _, _ := played(t, []event.Event{loud, soft}, o)
		alone, _, _ := played(t, []event.Event{loud}, o)
		from, to := 17500, 24000
		got, want := rmsOf(both[from:to])/rmsOf(alone[from:to]), courseOf(t, int(key)).KeptShare
		if got < want-0.12 || got > want+0.3 { // the board rings on
			t.Errorf("key %d: %.2f of the loud note is left, wanted about %.2f", key, got, want)
		}
	}
}

func rmsOf(x []float32) float64 {
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return math.Sqrt(sum / float64(len(x)))
}

// Strokes of one key and level differ a little, and a stroke is the same whenever it comes.
func TestNuances(t *testing.T) {
	one := func(note int32) []float32 {
		e := note1(0, 0.5, 60, 80)
		e.Note = note
		x, _, _ := played(t, []event.Event{e}, plain(Felt))
		return x
	}
	first := one(1)
	for n := int32(2); n <= nuances; n++ {
		x := one(n)
		off, all := 0.0, 0.0
		for i := range segmentFrames {
			d := float64(x[i] - first[i])
			off, all = off+d*d, all+float64(first[i])*float64(first[i])
		}
		if db := 10 * math.Log10(off/all); db < -30 || db > -15 {
			t.Errorf("stroke %d differs from the first by %.1f dB", n, db)
		}
	}
	if hashOf(one(1+nuances), nil) != hashOf(first, nil) {
		t.Error("there are more variants than said")
	}
}

// What the damper leaves of low partials lasts longer: of C2, 0.15 s after it, what lies
// below 200 Hz has lost less than what lies above 400 Hz, by 6 dB at least.
func TestDamperLeavesLowPartials(t *testing.T) {
	o := plain(Felt)
	o.Mono = true
	x, _, _ := played(t, []event.Event{note1(0, 1, 36, 80)}, o)
	bands := func(from int) (low, high float64) {
		for i, p := range powerOf(windowed(widen(x[from : from+4096]))) {
			switch hz := float64(i) * testRate / 8192; {
			case hz < 200:
				low += p
			case hz > 400:
				high += p
			}
		}
		return 10 * math.Log10(low), 10 * math.Log10(high)
	}
	low0, high0 := bands(43000)
	low1, high1 := bands(48000 + 5200)
	if lostLow, lostHigh := low0-low1, high0-high1; lostHigh < lostLow+6 || lostLow < 3 {
		t.Errorf("the damper took %.1f dB of low, %.1f dB of high partials", lostLow, lostHigh)
	}
}

// Played slower, a single punch holds its port open for longer.
func TestSingleAtRates(t *testing.T) {
	single := note1(0, 0, 60, 80)
	single.Single = true
	for _, rate := range []float64{0.25, 1, 2} {
		o := plain(Felt)
		o.Rate = rate
		a, _, _ := played(t, []event.Event{single}, o)
		b, _, _ := played(t, []event.Event{note1(0, defaultSingleSec, 60, 80)}, o)
		if len(a) != len(b) {
			t.Errorf("rate %v: %d frames, a note as long has %d", rate, len(a), len(b))
		}
	}
}

func TestKnock(t *testing.T) {
	o := plain(Felt)
	o.Knock = true
	left, _, r := played(t, []event.Event{note1(0.1, 3, 60, 100)}, o)
	if r.Seconds() > 0.5 || peakOf(left) == 0 || onset(left) != 4800 {
		t.Errorf("a knock of %.2f s, peak %v, from frame %d", r.Seconds(), peakOf(left), onset(left))
	}
}

func TestErrors(t *testing.T) {
	good := []event.Event{note1(0, 1, 60, 80)}
	nan := math.NaN()
	tests := []struct {
		name   string
		events []event.Event
		change func(*Options)
		want   string
	}{
		{"key too low", []event.Event{note1(2.5, 3, 20, 80), note1(3, 4, 120, 80)}, nil, "key 20 at 2.500 s has no strings; the instrument has keys 21 to 108 (and 1 more events outside)"},
		{"level 0", []event.Event{note1(0, 1, 60, 0)}, nil, "level 0"},
		{"no gain", good, func(o *Options) { o.GainDB = &nan }, "gain of NaN dB"},
		{"no loudness", good, func(o *Options) { o.TargetLUFS = &nan }, "gain of NaN dB"},
		{"too long", []event.Event{note1(0, 1, 60, 80), note1(9e6, 9e6+1, 60, 80)}, nil, "2500 hours of sound, at most 24"},
		{"no time", []event.Event{note1(nan, 1, 60, 80)}, nil, "from NaN s"},
		{"backwards", []event.Event{note1(2, 1, 60, 80)}, nil, "from 2 s to 1 s"},
		{"piano 2", []event.Event{{EndSec: 1, Piano: 1, Key: 60, Level: 80}}, nil, "piano 2 of 1"},
		{"from after to", good, func(o *Options) { o.FromSec, o.ToSec = 3, 2 }, "not after the start"},
		{"rate", good, func(o *Options) { o.Rate = 5 }, "wanted 0.25 to 4"},
		{"sample rate", good, func(o *Options) { o.SampleRate = 22050 }, "44100 or 48000"},
		{"dry", good, func(o *Options) { o.Pianos[0].Dry = 2 }, "wanted 0 to 1"},
		{"nothing", nil, nil, "nothing sounds"},
	}
	for _, test := range tests {
		o := plain(Felt)
		if test.change != nil {
			test.change(&o)
		}
		_, err := Mix(context.Background(), slices.Values(test.events), o)
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, wanted %q", test.name, err, test.want)
		}
	}
	var key *KeyError
	_, err := Mix(context.Background(), slices.Values([]event.Event{note1(0, 1, 109, 80)}), plain(Felt))
	if !errors.As(err, &key) || key.Event.Key != 109 {
		t.Errorf("%v", err)
	}
}

func TestStopping(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Mix(ctx, slices.Values(randomEvents(50, 2, 1)), DefaultOptions(Felt)); !errors.Is(err, context.Canceled) {
		t.Errorf("mixing: %v", err)
	}
	s, err := Mix(context.Background(), slices.Values(randomEvents(50, 2, 1)), DefaultOptions(Felt))
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	full := errors.New("disk full")
	if err := s.Play(context.Background(), func(_, _ []float32) error { return full }); !errors.Is(err, full) {
		t.Errorf("playing: %v", err)
	}
	if err := s.Play(ctx, func(_, _ []float32) error { return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("playing, stopped: %v", err)
	}
}

// Long sounds go through a temporary file and come out the same; Close removes it.
func TestSpool(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	var s spool
	rng := rand.New(rand.NewPCG(1, 2))
	var want [][2][]float32
	for i := range 5 {
		x := [2][]float32{make([]float32, 1000+i), nil}
		if i%2 == 0 {
			x[1] = make([]float32, 1000+i)
		}
		for ch := range x {
			for j := range x[ch] {
				x[ch][j] = rng.Float32()
			}
		}
		if err := s.add(x); err != nil {
			t.Fatal(err)
		}
		want = append(want, x)
	}
	for i := range want {
		got, err := s.get(i)
		if err != nil {
			t.Fatal(err)
		}
		if hashOf(got[0], got[1]) != hashOf(want[i][0], want[i][1]) || (got[1] == nil) != (want[i][1] == nil) {
			t.Errorf("run %d came back changed", i)
		}
	}
	name := s.file.Name()
	if err := s.close(); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(name); err == nil {
		t.Error("the temporary file is still there")
	}
}

// No slice of the sound, nor the way to its neighbours, comes out above the
// ceiling.
func TestLimiterCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		peaks := rapid.SliceOfN(rapid.Float32Range(0, 2), 1, 300).Draw(t, "peaks")
		curve := limiter(nil, make([]float32, len(peaks)), peaks, 1)
		for i, p := range peaks {
			// The gain runs straight from slice to slice, so neighbours count.
			g := max(curve[i], curve[max(0, i-1)], curve[min(len(curve)-1, i+1)])
			if float64(p*g) > 1.00001 {
				t.Fatalf("slice %d: %v at a gain of %v", i, p, g)
			}
			if g <= 0 || g > 1.000001 {
				t.Fatalf("slice %d: gain %v", i, g)
			}
		}
	})
}

func TestFloats(t *testing.T) {
	x := []float32{1, -0.5, float32(math.Pi)}
	b := appendFloats([]byte{7}, x)
	var want bytes.Buffer
	binary.Write(&want, binary.LittleEndian, x)
	if !bytes.Equal(b[1:], want.Bytes()) {
		t.Error("not little-endian")
	}
	got := make([]float32, 3)
	if err := readFloats(bytes.NewReader(b), got, 1); err != nil || !slices.Equal(got, x) {
		t.Errorf("%v came back as %v, %v", x, got, err)
	}
}

// A note in the mix is its strings, damped from where it ends, low partials longer, and its
// body, which is not: whether it ends within the body or after it, or never. Low partials have
// a value every lowEvery frames of the piece: what dampers leave of them beside the rest lies up
// to half of that off in time, and begins with such a value.
//
// Strings and body have 16 bits each, so that both may lie half of 1/16384 of their peaks off,
// and the sum of floats 3e-7: measured are 1.013 of the half steps, 2e-7 more, where nothing is
// damped, and 0.92 after a damper. At their own frames low partials would be off by 3.7e-3 of the peak.
func TestStringsAndBody(t *testing.T) {
	const start = 0.0313
	for _, key := range []int{25, 60, 86, 105} {
		for _, sec := range []float64{0.02, 0.1, 0.2133, 0.4, 3} {
			tb := timbre{hammers: Metal, dry: 1, rate: testRate}
			c := courseOf(t, key)
			sp := tb.spectrumOf(c, tb.ringingOf(c), 80)
			segments := len(tb.sinks(c))
			runs := []wanted{{sp: sp, want: extent{segments: segments}, of: segments}}
			filled(runs)
			strings := slices.Concat(runs[0].out...)
			body := make([]float32, max(bodyFrames, len(strings)))
			newBodyMaker(tb).of(body[:bodyFrames], sp)
			hold := int(FrameAt(start+sec, testRate) - FrameAt(start, testRate))
			begin := int(FrameAt(start, testRate))
			late, damped := (begin+lowEvery/2)/lowEvery*lowEvery-begin, (hold+lowEvery-1)/lowEvery*lowEvery
			want := make([]float64, len(body))
			for i := range want {
				if i < len(strings) {
					want[i] = float64(strings[i])
				}
				if i >= hold && c.DamperT60Sec > 0 {
					want[i] *= heldBack(float64(i-hold)/testRate, c.DamperT60Sec)
				}
				if low := i - late; low >= damped && c.DamperLowSec != c.DamperT60Sec {
					sec := float64(low-damped) / testRate
					more := heldBack(sec, c.DamperLowSec) - heldBack(sec, c.DamperT60Sec)
					want[i] += more * lowPart(sp, float64(low)/testRate)
				}
				want[i] += float64(body[i])
			}
			o := plain(Metal)
			o.Mono = true
			got, _, _ := played(t, []event.Event{note1(start, start+sec, int16(key), 80)}, o)
			got = got[begin:]
			tolerance := float64(loudness.Highest(strings)+loudness.Highest(body))/16384/2 + 3e-7
			for i, w := range want {
				g := 0.0
				if i < len(got) {
					g = float64(got[i])
				}
				if math.Abs(g-w) > tolerance {
					t.Errorf("key %d, %v s: frame %d is %v, wanted %v within %.2g", key, sec, i, g, w, tolerance)
					break
				}
			}
		}
	}
}

// lowPart is what rings of low partials.
func lowPart(sp *spectrum, sec float64) float64 {
	sum := 0.0
	for _, d := range sp.strings {
		if share := lowShare(imag(d.s) / (2 * math.Pi)); share > 0 {
			sum += share * real(d.c*cmplx.Exp(d.s*complex(sec, 0)))
		}
	}
	return sum
}

// heldBack is what a damper leaves after sec seconds: 60 dB less in t60, its loss
// growing over the first 8 ms; and all of it is faded to nothing at 60 dB.
func heldBack(sec, t60 float64) float64 {
	const land = 0.008
	lost := 60 * (sec - land/2) / t60
	if sec < land {
		lost = 60 * sec * sec / (2 * land) / t60
	}
	frames := math.Floor((t60 + land) * testRate)
	if sec*testRate >= frames {
		return 0
	}
	end := min(1, (sec*testRate+1)/frames)
	return math.Pow(10, -lost/20) * (1 - math.Pow(end, 4))
}

// The soft pedal of a piano is heard as a step of dynamics, mf for mp, while it is down and on
// that piano alone: a blow of half the energy, 10 log10(1/2) = 3 dB less.
func TestSoftPedal(t *testing.T) {
	o := plain(Felt)
	o.Mono, o.Pianos = true, append(o.Pianos, o.Pianos[0])
	play := func(level int16, piano int16, soft ...event.Span) []float32 {
		e := note1(1, 1.5, 60, level)
		e.Piano, o.Soft = piano, soft
		x, _, _ := played(t, []event.Event{e}, o)
		return x
	}
	down := event.Span{Piano: 0, StartSec: 0.5, EndSec: 1.2}
	plain, soft := play(80, 0), play(80, 0, down)
	if !slices.Equal(soft, play(64, 0)) {
		t.Error("mf under the soft pedal is not mp")
	}
	if db := 20 * math.Log10(rmsOf(plain)/rmsOf(soft)); db < 1 || db > 4 {
		t.Errorf("the soft pedal takes %.1f dB, wanted 1 to 3 and a little", db)
	}
	if before := (event.Span{EndSec: 1}); !slices.Equal(plain, play(80, 0, before)) {
		t.Error("it is heard after it has come up")
	}
	if !slices.Equal(play(80, 1), play(80, 1, down)) {
		t.Error("it is heard on another piano")
	}
	for _, x := range [][2]int{{80, 64}, {127, 111}, {17, 1}, {1, 1}} {
		if got := SoftLevel(x[0]); got != x[1] {
			t.Errorf("level %d is %d under the soft pedal, wanted %d", x[0], got, x[1])
		}
	}
	if share := math.Pow(LevelSpeed(64)/LevelSpeed(80), 2); math.Abs(share-0.5) > 0.005 {
		t.Errorf("its blow has %.3f of the energy, wanted half", share)
	}
}
