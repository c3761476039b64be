package show

import (
	"bytes"
	"cmp"
	"context"
	"math"
	"slices"

	"rollwright/music/event"
	"rollwright/sound"
	"rollwright/sound/flac"
)

// The page makes its sound from a bank: every note that the lecture needs, once,
// one after the other in one sound without loss (FLAC). A note of the bank rings
// until nothing is heard of it or nobody needs it any longer; the page cuts it
// short and places it. So a piece takes the room of its different notes, not
// that of its length.

// bankRate is the frames a second of the bank.
const bankRate = 48000

// bankBudget is how large the bank may become, in bytes of FLAC: with the rest
// of the page, and written in base64, it stays below 15 MB.
const bankBudget = 9 << 20

// levelSteps is how many levels of a key the bank holds at most; others are the
// nearest of them, made louder or softer.
const levelSteps = 3

// A note's end in the bank.
const (
	longestSec  = 6
	audibleDB   = -66 // below the loudest note of the bank
	fadeSec     = 0.03
	slowMotion  = 2 // notes are kept for playing at half speed
	releaseRoom = 0.2
)

// toneKey names a note of the bank.
type toneKey struct {
	hammers sound.Hammers
	dry     float64
	tuning  sound.Tuning
	copy    int  // which of several pianos
	knock   bool // no strings
	key     int16
	level   int16
}

// tone is a note of the bank.
type tone struct {
	toneKey
	needSec float64   // for how long it is heard, at most
	raw     []float32 // as package sound made it, from its start to where nothing more is heard
	start   int64     // frames of the bank
	frames  int64
	peak    float64
	energy  []float64 // of the samples up to each energyStep, each squared
}

// energyStep is how many frames lie between two sums of energy.
const energyStep = bankRate / 100

// Bank is the notes of a lecture.
type Bank struct {
	FLAC   []byte
	Frames int64

	tones  []*tone
	gain   float64                // of the samples in FLAC to those that package sound made
	levels map[toneKey][]int16    // of a key, with level 0: those that the bank holds
	index  map[toneKey]int        // of tones
	asked  map[toneKey]*toneAsked // with level 0
}

// toneAsked collects what is asked of one key.
type toneAsked struct {
	needSec float64
	levels  map[int16]int // how often
}

// newBank plans a bank for pianos.
func newBank() *Bank {
	return &Bank{levels: map[toneKey][]int16{}, index: map[toneKey]int{}, asked: map[toneKey]*toneAsked{}}
}

func bankKey(p sound.Piano, e *event.Event, knock bool) toneKey {
	return toneKey{hammers: p.Hammers, dry: p.Dry, tuning: p.Tuning, copy: p.Copy, key: e.Key, knock: knock}
}

// ask notes down that an event will be heard.
func (b *Bank) ask(p sound.Piano, e *event.Event, knock bool) {
	k := bankKey(p, e, knock)
	a := b.asked[k]
	if a == nil {
		a = &toneAsked{levels: map[int16]int{}}
		b.asked[k] = a
	}
	a.needSec = max(a.needSec, lengthOf(p, e))
	a.levels[e.Level]++
}

// lengthOf is how long an event is held, in seconds: a single punch as long as
// it holds the port open.
func lengthOf(p sound.Piano, e *event.Event) float64 {
	if e.Single {
		return p.SingleSec
	}
	return e.EndSec - e.StartSec
}

// settle decides which notes the bank holds.
func (b *Bank) settle() {
	keys := make([]toneKey, 0, len(b.asked))
	for k := range b.asked {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(x, y toneKey) int {
		return cmp.Or(cmp.Compare(x.hammers, y.hammers), cmp.Compare(x.dry, y.dry), cmp.Compare(x.copy, y.copy),
			cmp.Compare(x.tuning.Code(), y.tuning.Code()), order(x.knock, y.knock),
			cmp.Compare(x.key, y.key))
	})
	for _, k := range keys {
		a := b.asked[k]
		b.levels[k] = chooseLevels(a.levels)
		for _, level := range b.levels[k] {
			at := k
			at.level = level
			b.index[at] = len(b.tones)
			b.tones = append(b.tones, &tone{toneKey: at, needSec: min(longestSec, slowMotion*a.needSec+releaseRoom)})
		}
	}
}

// chooseLevels are at most levelSteps of the levels, spread from the softest to
// the loudest by how often they are wanted.
func chooseLevels(wanted map[int16]int) []int16 {
	var all []int16
	for level := range wanted {
		all = append(all, level)
	}
	slices.Sort(all)
	if len(all) <= levelSteps {
		return all
	}
	var chosen []int16
	for i := range levelSteps {
		chosen = append(chosen, all[i*(len(all)-1)/(levelSteps-1)])
	}
	return slices.Compact(chosen)
}

// find is the tone for an event, and the gain that makes it the event's level.
func (b *Bank) find(p sound.Piano, e *event.Event, knock bool) (index int, gain float64) {
	k := bankKey(p, e, knock)
	levels := b.levels[k]
	if len(levels) == 0 {
		return -1, 0
	}
	best := levels[0]
	for _, level := range levels {
		if abs(level-e.Level) < abs(best-e.Level) {
			best = level
		}
	}
	k.level = best
	return b.index[k], sound.LevelSpeed(int(e.Level)) / sound.LevelSpeed(int(best))
}

func abs(x int16) int16 { return max(x, -x) }

// order puts false before true.
func order(x, y bool) int {
	switch {
	case x == y:
		return 0
	case y:
		return -1
	}
	return 1
}

// render computes the notes and packs them, shorter if they would not fit.
func (b *Bank) render(ctx context.Context, cache *sound.Cache) error {
	b.settle()
	if len(b.tones) == 0 {
		return nil
	}
	for _, knock := range []bool{false, true} {
		if err := b.compute(ctx, cache, knock); err != nil {
			return err
		}
	}
	b.trim()
	for longest := float64(longestSec); ; longest *= 0.75 {
		packed := b.pack(int64(longest * bankRate))
		var err error
		if b.FLAC, err = encode(packed); err != nil {
			return err
		}
		b.Frames = int64(len(packed))
		if len(b.FLAC) <= bankBudget || longest < 0.2 {
			return nil
		}
	}
}

func encode(samples []float32) ([]byte, error) {
	var out bytes.Buffer
	w, err := flac.NewWriter(&out, flac.Format{Rate: bankRate, Channels: 1, Bits: 16, Frames: int64(len(samples))})
	if err != nil {
		return nil, err
	}
	if err := w.Write(samples, nil); err != nil {
		return nil, err
	}
	err = w.Close()
	return out.Bytes(), err
}

// apartSec lies between two notes while they are computed: longer than any
// damper or body rings.
const apartSec = 1.5

// compute plays every note of the bank alone, one after the other.
func (b *Bank) compute(ctx context.Context, cache *sound.Cache, knock bool) error {
	type room struct {
		hammers sound.Hammers
		dry     float64
		tuning  sound.Tuning
		copy    int
	}
	pianos := map[room]int16{}
	unity := 0.0
	o := sound.Options{SampleRate: bankRate, Mono: true, GainDB: &unity, Cache: cache, Knock: knock}
	var events []event.Event
	var tones []*tone
	at := 0.0
	for _, t := range b.tones {
		if t.knock != knock {
			continue
		}
		r := room{t.hammers, t.dry, t.tuning, t.copy}
		if _, ok := pianos[r]; !ok {
			pianos[r] = int16(len(o.Pianos))
			o.Pianos = append(o.Pianos, sound.Piano{Hammers: t.hammers, Dry: t.dry, Tuning: t.tuning,
				Copy: t.copy})
		}
		t.start = sound.FrameAt(at, bankRate)
		events = append(events, event.Event{StartSec: at, EndSec: at + t.needSec, Note: 1, Part: 1, Piano: pianos[r],
			Key: t.key, Level: t.level})
		tones = append(tones, t)
		at += t.needSec + apartSec
	}
	if len(events) == 0 {
		return nil
	}
	mixed, err := sound.Mix(ctx, slices.Values(events), o)
	if err != nil {
		return err
	}
	defer mixed.Close()
	raw := make([]float32, 0, mixed.Report().Frames)
	err = mixed.Play(ctx, func(left, _ []float32) error {
		raw = append(raw, left...)
		return nil
	})
	for _, t := range tones {
		end := min(int64(len(raw)), t.start+sound.FrameAt(t.needSec, bankRate))
		t.raw = raw[min(t.start, end):end]
	}
	return err
}

// trim ends every note where nothing more is heard of it, and settles the gain
// that uses the range of the integers.
func (b *Bank) trim() {
	peak := 1e-9
	for _, t := range b.tones {
		for _, x := range t.raw {
			t.peak = max(t.peak, math.Abs(float64(x)))
		}
		peak = max(peak, t.peak)
	}
	b.gain = 0.9 / peak
	quiet := float32(peak * math.Pow(10, audibleDB/20.0))
	for _, t := range b.tones {
		n := len(t.raw)
		for n > 0 && t.raw[n-1] < quiet && t.raw[n-1] > -quiet {
			n--
		}
		t.raw = t.raw[:min(n+energyStep, len(t.raw))]
	}
}

// gapFrames lie between two notes, so that resampling does not mix them.
const gapFrames = 480

// pack puts the notes one after the other, each at most so many frames long and
// fading out.
func (b *Bank) pack(most int64) []float32 {
	var packed []float32
	const fade = int64(fadeSec * bankRate)
	for _, t := range b.tones {
		packed = append(packed, make([]float32, gapFrames)...)
		t.start, t.frames = int64(len(packed)), min(int64(len(t.raw)), most)
		t.energy = append(t.energy[:0], 0)
		sum := 0.0
		for i, x := range t.raw[:t.frames] {
			left := t.frames - int64(i)
			x *= float32(b.gain) * min(1, float32(left)/float32(fade))
			packed = append(packed, x)
			if sum += float64(x) * float64(x); i%energyStep == energyStep-1 {
				t.energy = append(t.energy, sum)
			}
		}
	}
	return append(packed, make([]float32, gapFrames)...)
}

// energyOf is the energy of the first so many seconds of a tone.
func (t *tone) energyOf(sec float64) float64 {
	i := int(sec * bankRate / energyStep)
	return t.energy[max(0, min(i, len(t.energy)-1))]
}
