package sound

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"slices"

	"rollwright/music/event"
)

// A stroke is an event as the mixer needs it, in frames.
type stroke struct {
	at          int64 // first frame
	hold        int32 // frames until the damper comes down, or a new blow; noDamper: neither
	end         int32 // frames until the strings are silent
	low, high   float32
	left, right float32
	id          noteID // the lower of its two layers
	stop        uint8  // which release, an index into the mixer's
}

const (
	noDamper   = math.MaxInt32
	shortestMs = 15 // no damper is down sooner after the blow
	togetherMs = 0.5
)

// A blow is an event on its way to a stroke.
type blow struct {
	at, end       int64
	order         int32
	voice         int32
	key, level    int16
	piano         int16
	endsByRestart bool
}

// KeyError is an event that no string can sound.
type KeyError struct {
	Event event.Event
	Count int // events that have this trouble
}

func (e *KeyError) Error() string {
	more := ""
	if e.Count > 1 {
		more = fmt.Sprintf(" (and %d more events outside)", e.Count-1)
	}
	return fmt.Sprintf("sound: key %d at %.3f s has no strings; the instrument has keys %d to %d%s",
		e.Event.Key, e.Event.StartSec, LowestKey, HighestKey, more)
}

// blows reads events into frames of the stretch that is asked for, sorted by
// time, strokes of one key within half a millisecond made one.
func (o *Options) blows(events iter.Seq[event.Event]) ([]blow, error) {
	var out []blow
	var outside KeyError
	for e := range events {
		switch {
		case e.Key < LowestKey || e.Key > HighestKey:
			if outside.Count++; outside.Count == 1 {
				outside.Event = e
			}
			continue
		case e.Piano < 0 || int(e.Piano) >= len(o.Pianos):
			return nil, fmt.Errorf("sound: event at %.3f s is for piano %d of %d", e.StartSec, e.Piano+1, len(o.Pianos))
		case e.Level < 1 || e.Level > 127:
			return nil, fmt.Errorf("sound: level %d at %.3f s, wanted 1 to 127", e.Level, e.StartSec)
		case !(math.Abs(e.StartSec) < 1e7) || !(e.EndSec >= e.StartSec && e.EndSec < 1e7):
			return nil, fmt.Errorf("sound: event from %v s to %v s", e.StartSec, e.EndSec)
		}
		if o.ToSec != 0 && e.StartSec >= o.ToSec {
			continue
		}
		b := blow{at: o.frame(e.StartSec), end: o.frame(e.EndSec), order: int32(len(out)), voice: e.Voice, key: e.Key,
			level: e.Level, piano: e.Piano}
		if e.Single {
			single := o.Pianos[e.Piano].SingleSec
			if single == 0 {
				single = defaultSingleSec
			}
			b.end = b.at + FrameAt(single/o.Rate, o.SampleRate)
		}
		if o.ToSec != 0 {
			b.end = min(b.end, max(o.frame(o.ToSec), b.at))
		}
		b.end = max(b.end, b.at+int64(o.SampleRate*shortestMs/1000))
		out = append(out, b)
	}
	if outside.Count > 0 {
		return nil, &outside
	}
	slices.SortFunc(out, func(a, b blow) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.order, b.order)) })
	return o.joined(out), nil
}

func (o *Options) frame(sec float64) int64 {
	return FrameAt((sec-o.FromSec)/o.Rate, o.SampleRate)
}

// joined makes one of strokes that meet on a key within half a millisecond, the
// loudest and the longest of them, and ends a stroke where the next on its key
// begins.
func (o *Options) joined(blows []blow) []blow {
	near := int64(togetherMs / 1000 * float64(o.SampleRate))
	last := map[[2]int16]int{}
	out := blows[:0]
	for _, b := range blows {
		at := [2]int16{b.piano, b.key}
		i, sounding := last[at]
		if sounding && b.at-out[i].at <= near {
			out[i].end = max(out[i].end, b.end)
			if b.level > out[i].level {
				out[i].level, out[i].voice = b.level, b.voice
			}
			continue
		}
		if undamped := scale()[b.key-LowestKey].DamperT60Sec == 0; sounding && (undamped || out[i].end > b.at) {
			out[i].end, out[i].endsByRestart = b.at, true
		}
		last[at] = len(out)
		out = append(out, b)
	}
	return out
}

// strokes are the blows that are heard in the stretch.
func (m *mixer) strokes(blows []blow) []stroke {
	var out []stroke
	for _, b := range blows {
		if m.o.voice != nil && b.voice != *m.o.voice {
			continue
		}
		c := &scale()[b.key-LowestKey]
		p := &m.o.Pianos[b.piano]
		s := stroke{at: b.at, hold: int32(min(b.end-b.at, noDamper))}
		s.id.timbre, s.id.key = m.timbreOf[b.piano], uint8(b.key)
		s.id.layer, s.low, s.high = layersAt(int(b.level))
		s.left, s.right = 1, 0
		if !m.o.Mono {
			s.left, s.right = pan(p.Seat + p.Width*(float64(b.key)-middleKey)/(HighestKey-middleKey))
		}
		switch {
		case b.endsByRestart:
			s.stop = restrike
		case c.DamperT60Sec == 0:
			s.hold = noDamper
		default:
			s.stop = uint8(b.key)
		}
		// A note is heard for as long as its strings ring, or until damper or hammer
		// have stopped them.
		life := int64(m.stock.frames(s.id.timbre, s.id.key))
		if s.hold != noDamper {
			life = min(life, int64(s.hold)+int64(len(m.release(s.stop))))
		}
		if m.o.Knock {
			life = 0
		}
		s.end = int32(life)
		if s.lasts()+s.at > 0 {
			out = append(out, s)
		}
	}
	return out
}

const middleKey = (LowestKey + HighestKey) / 2.0

// lasts is how many frames the stroke is heard, strings or body.
func (s *stroke) lasts() int64 { return int64(max(s.end, bodyFrames)) }

// segments is how many of its note's it needs.
func (s *stroke) segments() int { return (int(s.end) + segmentFrames - 1) / segmentFrames }

// restrike is the release of strings that are struck again.
const restrike = 0

func (m *mixer) release(stop uint8) release {
	r := m.releases[stop]
	if r == nil {
		t60 := restrikeT60Sec
		if stop != restrike {
			t60 = scale()[int(stop)-LowestKey].DamperT60Sec
		}
		r = newRelease(t60, m.o.SampleRate)
		m.releases[stop] = r
	}
	return r
}
