package web

import (
	"bytes"
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"sync"

	"rollwright/music/event"
	"rollwright/sound"
)

// notes computes single notes for the page to mix.
type notes struct {
	open  func() *sound.Cache // on disk, shared with the command
	seats chan struct{}
}

// noteRate is the sample rate of notes.
const noteRate = 48000

// longestNote bounds a note in seconds; what is left then is far below what is
// heard.
const longestNote = 30

// quietest is where a note may be cut off at its end: 96 dB below full scale,
// the step of a 16-bit recording.
const quietest = 1.6e-5

func newNotes() *notes {
	return &notes{
		open: sync.OnceValue(func() *sound.Cache {
			dir, err := sound.DefaultCacheDir()
			if err != nil {
				return nil
			}
			cache, err := sound.OpenCache(dir, sound.DefaultCacheBytes)
			if err != nil {
				return nil // computed each time, which takes longer
			}
			return cache
		}),
		seats: make(chan struct{}, mostSeats),
	}
}

// noteAsked is what a note depends on.
type noteAsked struct {
	key, level  int
	hammers     sound.Hammers
	dry         float64
	tuning      sound.Tuning
	copy        int // of several pianos, which
	seat, width float64
	sec         float64 // how much of it
}

// note sends the samples of one key that nobody damps: pairs of 32-bit floats,
// left and right, little-endian, at 48 kHz. The header X-Release-Sec says in what
// time its damper would take 60 dB; 0: it has none.
func (s *Server) note(w http.ResponseWriter, r *http.Request) {
	asked, err := noteOf(r.URL.Query())
	if err != nil {
		fail(w, err)
		return
	}
	samples, err := s.notes.render(r.Context(), asked)
	if err != nil {
		fail(w, err)
		return
	}
	if c, err := sound.CourseOf(asked.key); err == nil {
		w.Header().Set("X-Release-Sec", strconv.FormatFloat(c.DamperT60Sec, 'g', -1, 64))
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	w.Write(samples)
}

func noteOf(q url.Values) (noteAsked, error) {
	var bad error
	number := func(name string, otherwise, least, most float64) float64 {
		text := q.Get(name)
		if text == "" {
			return otherwise
		}
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || !(x >= least && x <= most) {
			bad = &refusal{http.StatusBadRequest, name + " has to be a number from " + strconv.FormatFloat(least, 'g', -1, 64) +
				" to " + strconv.FormatFloat(most, 'g', -1, 64)}
		}
		return x
	}
	seat, width := sound.Seats(0, 1)
	a := noteAsked{
		key: int(number("key", 60, sound.LowestKey, sound.HighestKey)), level: int(number("level", 80, 1, 127)),
		dry: number("dry", sound.DefaultDry, 0, 1), seat: number("seat", seat, -1, 1), width: number("width", width, 0, 1),
		copy: int(number("piano", 0, 0, 99)), sec: number("sec", longestNote, 0.01, longestNote),
	}
	hammers, err := sound.ParseHammers(cmp.Or(q.Get("hammers"), "metal"))
	if err != nil {
		bad = &refusal{http.StatusBadRequest, err.Error()}
	}
	a.hammers = hammers
	if a.tuning, err = sound.TuningOfCode(q.Get("tuning")); err != nil {
		bad = &refusal{http.StatusBadRequest, err.Error()}
	}
	return a, bad
}

// render computes a note.
func (n *notes) render(ctx context.Context, a noteAsked) ([]byte, error) {
	select {
	case n.seats <- struct{}{}:
		defer func() { <-n.seats }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	unity := 0.0
	note := event.Event{EndSec: a.sec + 0.1, Note: 1, Part: 1, Key: int16(a.key), Level: int16(a.level)}
	mixed, err := sound.Mix(ctx, slices.Values([]event.Event{note}), sound.Options{
		SampleRate: noteRate, GainDB: &unity, Cache: n.open(),
		Pianos: []sound.Piano{{Hammers: a.hammers, Dry: a.dry, Tuning: a.tuning, Copy: a.copy,
			Seat: a.seat, Width: a.width}},
	})
	if errors.Is(err, sound.ErrNothing) {
		return nil, &refusal{http.StatusNotFound, "this key has no string"}
	}
	if err != nil {
		return nil, err
	}
	defer mixed.Close()
	var b bytes.Buffer
	last := 0 // bytes up to the last sample that can be heard
	err = mixed.Play(ctx, func(left, right []float32) error {
		frame := make([]byte, 8)
		for i := range left {
			binary.LittleEndian.PutUint32(frame, math.Float32bits(left[i]))
			binary.LittleEndian.PutUint32(frame[4:], math.Float32bits(right[i]))
			b.Write(frame)
			if max(left[i], -left[i], right[i], -right[i]) > quietest {
				last = b.Len()
			}
		}
		return nil
	})
	return b.Bytes()[:min(last, 8*int(a.sec*noteRate))], err
}
