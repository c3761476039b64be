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
	end         int32 // frames until the strings are silent, but for low partials
	lowEnd      int32 // frames until these are; 0: they end with the rest
	low, high   float32
	left, right float32
	id          noteID // the lower of its two layers
	nuance      uint8  // which of the variants of a stroke
	acts        []act  // what becomes of its strings, in order; the first at 0
}

// An act is what becomes of the strings of a stroke from one of its frames on: they ring,
// or a curve takes them down. What the damper leaves of low partials is another share.
type act struct {
	from      int32
	high, low float32 // of what the note would be when the act begins
	curve     *curve  // nil: they ring on
}

// A curve is what a damper, or a hammer on strings that ring, leaves of them: a factor for
// every frame, from 1.
type curve struct {
	high, low release // of high and of low partials
	every     release // high, every lowEvery frames, as long as low
	more      release // low less high likewise; nil if the two are the same
	damps     bool    // to nothing; otherwise, to its last value
}

// goneBy is the frame at which the act has taken the strings to nothing; never where they ring
// on.
func (a *act) goneBy() int32 {
	if a.curve == nil || !a.curve.damps {
		return never
	}
	return a.from + int32(max(len(a.curve.high), len(a.curve.low)))
}

// parts reports whether low partials are left another share than the others.
func (a *act) parts() bool { return a.high != a.low || a.curve != nil && a.curve.more != nil }

// then is what is left of high and of low partials at a frame after from.
func (a *act) then(frame int32) (high, low float32) {
	if a.curve == nil {
		return a.high, a.low
	}
	since := frame - a.from
	return a.high * a.curve.high.after(since, a.curve.damps), a.low * a.curve.low.after(since, a.curve.damps)
}

// after is what a curve has left after so many frames.
func (r release) after(frames int32, damps bool) float32 {
	switch {
	case int(frames) < len(r):
		return r[frames]
	case damps || len(r) == 0:
		return 0
	}
	return r[len(r)-1]
}

const (
	never      = math.MaxInt32
	shortestMs = 15 // no damper is down sooner after the blow
	togetherMs = 0.5
	// Under a new blow on its key a stroke is let go 40 dB below that blow's beginning, masked by
	// the same partials (assumed).
	faint = 0.01
)

// A blow is an event on its way to a stroke.
type blow struct {
	at, end       int64
	order         int32
	voice, note   int32
	key, level    int16
	piano         int16
	endsByRestart bool
	next          int32 // the next blow on its key, an index; 0: none
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
	soft := event.Held(o.Soft)
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
		b := blow{at: o.frame(e.StartSec), end: o.frame(e.EndSec), order: int32(len(out)), voice: e.Voice, note: e.Note,
			key: e.Key, level: e.Level, piano: e.Piano}
		if _, down := soft.At(e.Piano, e.StartSec); down {
			b.level = int16(SoftLevel(int(e.Level)))
		}
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
				out[i].level, out[i].voice, out[i].note = b.level, b.voice, b.note
			}
			continue
		}
		if undamped := scale()[b.key-LowestKey].DamperT60Sec == 0; sounding && (undamped || out[i].end > b.at) {
			out[i].end, out[i].endsByRestart = b.at, true
		}
		if sounding {
			out[i].next = int32(len(out))
		}
		last[at] = len(out)
		out = append(out, b)
	}
	return out
}

// Acts lie in pieces of so many, of which so many are free before a stroke's: one array
// that grew would leave each of its former selves to the strokes that point into it.
const (
	actsTogether = 1 << 14
	actsFree     = 64
)

// strokes are the blows that are heard in the stretch.
func (m *mixer) strokes(blows []blow) []stroke {
	out := make([]stroke, 0, len(blows))
	for i := range blows {
		b := &blows[i]
		if m.o.voice != nil && b.voice != *m.o.voice {
			continue
		}
		p := &m.o.Pianos[b.piano]
		s := stroke{at: b.at, nuance: nuanceOf(b.voice, b.note)}
		s.id.timbre, s.id.key = m.timbreOf[b.piano], uint8(b.key)
		s.id.layer, s.low, s.high = layersAt(int(b.level))
		s.left, s.right = 1, 0
		if !m.o.Mono {
			place := p.Seat + p.Width*(float64(b.key)-middleKey)/(HighestKey-middleKey)
			if b.voice >= 0 && int(b.voice) < len(m.o.Places) {
				place = m.o.Places[b.voice]
			}
			s.left, s.right = pan(place)
		}
		s.end = int32(m.stock.frames(s.id.timbre, s.id.key))
		if m.o.Knock {
			s.end = 0
		}
		if cap(m.acts)-len(m.acts) < actsFree {
			m.acts = make([]act, 0, actsTogether)
		}
		m.follow(&s, blows, i)
		if s.lasts()+s.at > 0 {
			out = append(out, s)
		}
	}
	return out
}

// follow lists what becomes of the strings of a stroke: dampers that come down, blows on
// what still rings, until nothing is left.
//
// A hammer that meets a ringing string leaves a share of what it does, and adds its own blow
// as if the string had rested: an approximation that TestRestrike holds against the
// simulation of both.
func (m *mixer) follow(s *stroke, blows []blow, i int) {
	key := int(blows[i].key)
	s.acts = append(m.acts[len(m.acts):], act{high: 1, low: 1})
	at := func(frame int64) int32 { return int32(min(frame-blows[i].at, never)) }
	damped := scale()[key-LowestKey].DamperT60Sec > 0
	for b, heard := &blows[i], s.end; ; {
		if down := at(b.end); damped && !b.endsByRestart && down < heard {
			s.begin(down, m.curvesOf(key).damper)
		}
		from := int32(never)
		if b.next != 0 {
			b = &blows[b.next]
			from = at(b.at)
		}
		gone := s.acts[len(s.acts)-1].goneBy()
		if heard < s.end && heard <= from && gone == never {
			s.begin(heard, m.curvesOf(key).fading)
			break
		}
		if from >= min(heard, gone) {
			break
		}
		struck := m.curvesOf(key).struck
		s.begin(from, struck)
		// Under the new blow the old one is followed no further than to where it is faint.
		high, low := s.acts[len(s.acts)-1].then(never)
		beside := float32(LevelSpeed(int(b.level)) / LevelSpeed(int(blows[i].level))) // loudness goes with speed
		faintAt := m.stock.sinksTo(s.id.timbre, s.id.key, faint*beside/max(high, low))
		heard = min(heard, max(faintAt, from+int32(len(struck.high))))
	}
	if last := &s.acts[len(s.acts)-1]; last.curve != nil && last.curve.damps {
		if last.parts() {
			s.lowEnd = last.goneBy()
			m.dampsLow = true
		}
		s.end = min(s.end, last.from+int32(len(last.curve.high)))
	}
	m.acts = append(m.acts, s.acts...)
	s.acts = m.acts[len(m.acts)-len(s.acts):]
}

// begin lists an act. Where it finds nothing left but low partials the rest ended before it.
func (s *stroke) begin(from int32, c *curve) {
	last := &s.acts[len(s.acts)-1]
	high, low := last.then(from)
	if high == 0 && last.high > 0 {
		s.end = min(s.end, last.from+int32(len(last.curve.high)))
	}
	s.acts = append(s.acts, act{from, high, low, c})
}

const middleKey = (LowestKey + HighestKey) / 2.0

// lasts is how many frames the stroke is heard, strings or body.
func (s *stroke) lasts() int64 { return int64(max(s.end, s.lowEnd, bodyFrames)) }

// needs is how much of its note the stroke is made of.
func (s *stroke) needs() extent {
	segments := func(frames int32) int { return (int(frames) + segmentFrames - 1) / segmentFrames }
	return extent{segments(s.end), segments(s.lowEnd)}
}

// curves are what may take down the strings of a key: its damper, a hammer that leaves a
// share, and time, that lets go of what is faint.
type curves struct{ damper, struck, fading *curve }

func newCurve(high, low release, damps bool) *curve {
	c := &curve{high: high, low: low, damps: damps}
	for at := 0; at < len(low); at += lowEvery {
		left := high.after(int32(at), damps)
		c.every = append(c.every, left)
		if len(high) != len(low) {
			c.more = append(c.more, low[at]-left)
		}
	}
	return c
}

// fadeSec is the time in which a stroke that is faint under a later one is let go.
const fadeSec = 0.05

func (m *mixer) curvesOf(key int) *curves {
	c := &m.curves[key-LowestKey]
	if c.struck == nil {
		course, rate := &scale()[key-LowestKey], m.o.SampleRate
		if course.DamperT60Sec > 0 {
			high := newRelease(course.DamperT60Sec, rate)
			low := high
			if course.DamperLowSec != course.DamperT60Sec {
				low = newRelease(course.DamperLowSec, rate)
			}
			c.damper = newCurve(high, low, true)
		}
		kept, fading := newTakeOver(course.KeptShare, course.HammerSec, rate), newTakeOver(0, fadeSec, rate)
		c.struck, c.fading = newCurve(kept, kept, false), newCurve(fading, fading, true)
	}
	return c
}

// nuances is how many variants a stroke has.
const nuances = 4

// nuanceOf chooses the variant of a stroke by voice and note, so that it is the same
// whatever else is heard; notes that follow each other have others.
func nuanceOf(voice, note int32) uint8 { return uint8(uint32(note-1+2*voice) % nuances) }
