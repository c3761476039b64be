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
	end         int32 // frames until the strings are silent
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
	high, low release // of high and of low partials; the same slice where nothing tells them apart
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
	faint      = 0.003 // what is left of strings that were struck again is let go below this
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

// strokes are the blows that are heard in the stretch.
func (m *mixer) strokes(blows []blow) []stroke {
	var out []stroke
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
			s.left, s.right = pan(p.Seat + p.Width*(float64(b.key)-middleKey)/(HighestKey-middleKey))
		}
		s.end = int32(m.stock.frames(s.id.timbre, s.id.key))
		if m.o.Knock {
			s.end = 0
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
	begin := func(from int32, c *curve) {
		last := s.acts[len(s.acts)-1]
		high, low := last.high, last.low
		if c0 := last.curve; c0 != nil {
			high, low = high*c0.high.after(from-last.from, c0.damps), low*c0.low.after(from-last.from, c0.damps)
		}
		s.acts = append(s.acts, act{from, high, low, c})
	}
	damped := scale()[key-LowestKey].DamperT60Sec > 0
	for j := i; ; {
		b := &blows[j]
		if damped && !b.endsByRestart && at(b.end) < s.end {
			c := m.damper(key)
			m.dampsLow = m.dampsLow || &c.high[0] != &c.low[0]
			begin(at(b.end), c)
		}
		if b.next == 0 {
			break
		}
		j = int(b.next)
		from := at(blows[j].at)
		if last := &s.acts[len(s.acts)-1]; from >= s.end || from >= last.goneBy() {
			break
		}
		begin(from, m.struckAgain(key))
		if last := s.acts[len(s.acts)-1]; max(last.high, last.low) < faint {
			break
		}
	}
	last := &s.acts[len(s.acts)-1]
	switch {
	case last.curve == nil:
	case last.curve.damps:
		s.end = min(s.end, last.goneBy())
	case max(last.high, last.low) < faint: // gone, not left at its last value
		last.curve = m.stopped(key)
		s.end = min(s.end, last.from+int32(len(last.curve.high)))
	}
	m.acts = append(m.acts, s.acts...)
	s.acts = m.acts[len(m.acts)-len(s.acts):]
}

const middleKey = (LowestKey + HighestKey) / 2.0

// lasts is how many frames the stroke is heard, strings or body.
func (s *stroke) lasts() int64 { return int64(max(s.end, bodyFrames)) }

// segments is how many of its note's it needs.
func (s *stroke) segments() int { return (int(s.end) + segmentFrames - 1) / segmentFrames }

// curves are what may take down the strings of a key.
type curves struct{ damper, struck, stopped *curve }

func (m *mixer) curvesOf(key int) *curves {
	c := &m.curves[key-LowestKey]
	if c.struck == nil {
		course := &scale()[key-LowestKey]
		if course.DamperT60Sec > 0 {
			high := newRelease(course.DamperT60Sec, m.o.SampleRate)
			low := high
			if course.DamperLowSec != course.DamperT60Sec {
				low = newRelease(course.DamperLowSec, m.o.SampleRate)
				high = append(high, make(release, max(0, len(low)-len(high)))...)
			}
			c.damper = &curve{high, low, true}
		}
		kept := newTakeOver(course.KeptShare, course.HammerSec, m.o.SampleRate)
		c.struck = &curve{high: kept, low: kept}
		gone := newTakeOver(0, course.HammerSec, m.o.SampleRate)
		c.stopped = &curve{gone, gone, true}
	}
	return c
}

func (m *mixer) damper(key int) *curve      { return m.curvesOf(key).damper }
func (m *mixer) struckAgain(key int) *curve { return m.curvesOf(key).struck }
func (m *mixer) stopped(key int) *curve     { return m.curvesOf(key).stopped }

// nuances is how many variants a stroke has.
const nuances = 4

// nuanceOf chooses the variant of a stroke by voice and note, so that it is the same
// whatever else is heard; notes that follow each other have others.
func nuanceOf(voice, note int32) uint8 { return uint8(uint32(note-1+2*voice) % nuances) }
